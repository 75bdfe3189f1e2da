"""One run of ``coilmeter chain``: the case it is about, and what is known of it beforehand."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from coilmeter.cli.chain_begin import Beginning, begin
from coilmeter.cli.chain_lines import tell
from coilmeter.cli.chain_setup import find_map
from coilmeter.cli.chain_texts import check_others, checked_track, parse_saw, parse_tracks
from coilmeter.errors import InputError
from coilmeter.sources.chain_cases import Journal
from coilmeter.values.chain_cases import Case
from coilmeter.values.chains import COMPLAINT, ChainMap, Seen

if TYPE_CHECKING:
    from coilmeter.cli.chain_desk import Desk
    from coilmeter.compute.settings import Settings


@dataclass(frozen=True, slots=True)
class Request:
    """Which case is asked for; texts are empty where an option was not given."""

    fault: str = ""
    track: str = ""
    working: str = ""
    failing: str = ""
    case: str = ""
    close: tuple[str, ...] = ()
    loose: bool = False
    shipped_weights: bool = False
    asking: bool = False


@dataclass(frozen=True, slots=True)
class Evidence:
    """What the options say was seen, and what cannot be had."""

    saw: tuple[str, ...] = ()
    cannot: tuple[str, ...] = ()
    readings: tuple[str, ...] = ()
    volts: tuple[Path, ...] = ()
    references: tuple[Path, ...] = ()
    at: str = "head"
    coil: str = ""


def run_chain(
    request: Request,
    evidence: Evidence,
    settings: Callable[[], Settings],
    maps: Mapping[str, ChainMap],
    journal: Journal,
) -> Desk | None:
    """Open a case or go on with one, take down what is known, and ask on where asked to.

    A case is kept where it was asked for by name, and where questions are asked.

    Returns
    -------
    Desk
        The case; None where the person ended the first questions.

    Raises
    ------
    InputError
        When options mean nothing here, or do not fit together; then nothing is taken down.
    StoreError
        When something could not be kept.

    """
    request = replace(request, case=_checked_name(request.case) if request.case else "")
    begun = _beginning(request, journal)
    if begun.fault:
        find_map(maps, begun.fault)
    closed = _is_closed(begun, request, evidence)
    request = replace(request, asking=request.asking and not closed)
    if request.asking and not begin(begun, maps, journal):
        return None
    check_others(begun.track or "1", begun.others)
    # Only now: the first question must not wait for what reckons.
    from coilmeter.cli.chain_desk import Desk, find_name, start, weighted
    from coilmeter.compute.chain_model import Model

    chain = weighted(find_map(maps, begun.fault), journal, shipped=request.shipped_weights)
    track, case = begun.track or "1", begun.resumed
    model = Model(chain)
    found = _found(chain, track, evidence, settings)
    left_out = [find_name(chain, what) for what in evidence.cannot]
    if case is None and (request.asking or request.case):
        name = request.case or journal.new_name(begun.fault, track)
        case = journal.open(name, begun.fault, track)
    desk = Desk(model, track, journal if case else None, case, loose=request.loose)
    if case is not None and len(desk.seen) < len(case.seen):
        tell(
            "! some of what this case holds is of tests or links that are no more: passed over."
        )
    answered = any((each.name, each.track) == (COMPLAINT, track) for each in found)
    if not closed:
        start(desk, begun.others or {}, complains=not answered and not desk.seen)
    for what in left_out:
        desk.leave_out(what)
    for each in found:
        desk.saw(each)
    if request.close and case is not None:
        from coilmeter.cli.chain_put import close_case

        close_case(journal, case, chain, request.close)
    elif request.asking:
        _ask_on(desk)
    return desk


def _is_closed(begun: Beginning, request: Request, evidence: Evidence) -> bool:
    """Whether the case is closed, and is only looked at."""
    if begun.resumed is None or not begun.resumed.closed:
        return False
    if evidence != Evidence(at=evidence.at) or request.close or begun.others:
        raise InputError(
            f"case {request.case!r}: closed on {begun.resumed.closed[:10]}, and nothing can be "
            "added to it",
            hint="choose another name for a new fault; alone, --case shows how this one ended.",
        )
    return True


def _beginning(request: Request, journal: Journal) -> Beginning:
    begun = Beginning(
        fault=request.fault,
        track=checked_track(request.track) if request.track else "",
        others=_others(request),
        resumed=journal.cases.get(request.case) if request.case else None,
    )
    if begun.resumed is not None:
        _go_on_with(begun.resumed, begun)
    elif request.close:
        raise InputError(
            f"--close: no case {request.case!r} is kept in {journal.path}",
            hint="name the case with --case; coilmeter chain --cases lists them.",
        )
    elif request.case:
        tell(f"! {_begins_anew(request.case, journal)}")
    return begun


def _begins_anew(name: str, journal: Journal) -> str:
    """Say that there is no case of a name, and which are open: it may have been mistyped."""
    still_open = [
        f"{case.name} ({case.fault}, track {case.track})"
        for case in journal.cases.values()
        if not case.closed
    ]
    known = f"open cases: {', '.join(still_open)}" if still_open else "no case is open"
    return f"no case is called {name!r}: a new one of that name is begun; {known}."


def _found(
    chain: ChainMap, track: str, evidence: Evidence, settings: Callable[[], Settings]
) -> list[Seen]:
    """Understand what the options say was seen; what was measured comes first."""
    typed = [parse_saw(text, chain, track) for text in evidence.saw]
    if not evidence.readings and not evidence.volts:
        return typed
    from coilmeter.report.chain_words import seen_text

    judged = _measured(chain, track, evidence, settings())
    if not judged:
        names = [*evidence.readings, *map(str, evidence.volts)]
        raise InputError(
            f"{', '.join(names)}: nothing in it decides anything of the {chain.name} chain",
            hint="a coil that is called like the track, or --coil with its name, and a "
            "verdict other than undecided.",
        )
    for each in judged:
        tell(f"from the readings ({each.source}): {seen_text(chain, each, track)}")
    return [*judged, *typed]


def _measured(
    chain: ChainMap, track: str, evidence: Evidence, settings: Settings
) -> list[Seen]:
    """Judge ohms, AC volts, or both, and give what they say of the chain."""
    from coilmeter.cli.impedance_files import judged, with_volts
    from coilmeter.cli.results import judged_files
    from coilmeter.compute.chain_evidence import Place, of_heads, of_impedance
    from coilmeter.compute.turns_group import Limits

    if not evidence.readings:
        limits = Limits(confidence=settings.confidence)
        volts = [str(path) for path in evidence.volts]
        tones = judged(volts, evidence.references, settings, limits)
        return of_impedance(chain, tones, track, coil=evidence.coil)
    _, heads = judged_files(evidence.readings, settings)
    heads = with_volts(heads, evidence.volts, evidence.references, settings)
    return of_heads(chain, heads, track, place=Place(evidence.at), coil=evidence.coil)


def _ask_on(desk: Desk) -> None:
    """Ask until the person ends it, and say where the case is kept."""
    from coilmeter.cli.chain_talk import Talk

    case, journal = desk.case, desk.journal
    if case is not None and journal is not None:
        tell(f"Case {case.name}; every answer is kept in {journal.path}.")
    try:
        Talk(desk).run()
    finally:
        if case is not None and not case.closed:
            name = case.name
            tell(f"Case {name} stays open: coilmeter chain --case {name} goes on with it.")


def _go_on_with(case: Case, begun: Beginning) -> None:
    """Take fault and track from a case, and refuse others."""
    for what, said, kept in (
        ("--fault", begun.fault, case.fault),
        ("--track", begun.track, case.track),
    ):
        if said and said != kept:
            raise InputError(
                f"{what} {said}: case {case.name!r} is about {kept}",
                hint=f"leave {what} out, or name another case.",
            )
    begun.fault, begun.track = case.fault, case.track
    begun.others = begun.others or {}


def _others(request: Request) -> dict[str, bool] | None:
    """Give what the options say of other tracks; None where they say nothing."""
    if not request.working and not request.failing:
        return None
    good = [checked_track(name) for name in parse_tracks(request.working)]
    bad = [checked_track(name) for name in parse_tracks(request.failing)]
    both = set(good) & set(bad)
    if both:
        raise InputError(
            f"track {', '.join(sorted(both))}: both in --working and in --failing",
            hint="name each track in one of them.",
        )
    return dict.fromkeys(good, True) | dict.fromkeys(bad, False)


def _checked_name(name: str) -> str:
    clean = name.strip()
    if not clean or not clean.isprintable() or len(clean) > 60:  # noqa: PLR2004 - a line of a list
        raise InputError(
            f"saw {name[:60]!r} as the name of a case", hint="a short name in one line."
        )
    return clean
