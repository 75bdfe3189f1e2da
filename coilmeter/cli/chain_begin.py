"""The first questions of a case: what does not work, on which track, and what of the others."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from coilmeter.cli.chain_lines import tell, tell_in
from coilmeter.cli.chain_texts import WORDS, check_others, checked_track, parse_tracks
from coilmeter.cli.saying import ENDS, ask
from coilmeter.errors import InputError
from coilmeter.sources.chain_cases import Journal
from coilmeter.values.chain_cases import Case
from coilmeter.values.chains import OTHERS, ChainMap, Outcome


@dataclass(slots=True)
class Beginning:
    """What a case begins with; empty where nobody said it yet.

    Parameters
    ----------
    fault, track
        Which map, which track.
    others
        Whether each other track works, by its name; None where it was not asked yet.
    resumed
        The case to go on with.

    """

    fault: str = ""
    track: str = ""
    others: dict[str, bool] | None = None
    resumed: Case | None = field(default=None)


def begin(begun: Beginning, maps: Mapping[str, ChainMap], journal: Journal) -> bool:
    """Ask for what is not known yet, one question at a time; False where the person ends it.

    ``back`` returns to the question before.
    """
    questions = []
    if not begun.fault:
        questions.append(lambda: _fault(begun, maps))
    if not begun.track:
        questions.append(lambda: _track(begun))
    questions.append(lambda: _resume(begun, journal))
    if begun.others is None:
        questions.append(lambda: _others(begun, maps[begun.fault]))
    place, step = 0, 1
    while place < len(questions):
        answer = questions[place]()
        if answer is None:
            return False
        # One that needs no asking is passed over, on the way back as well.
        step = answer or step
        place += step
        if place < 0:
            place, step = 0, 1
    return True


def _answer(prompt: str) -> str | None:
    """Ask; None where the person ends it."""
    text = ask(f"  {prompt}> ")
    return None if text is None or text.lower() in ENDS else text


def _fault(begun: Beginning, maps: Mapping[str, ChainMap]) -> int | None:
    tell("What does not work?")
    names = list(maps)
    for number, name in enumerate(names, start=1):
        tell(f"  {number} {maps[name].title}")
    while True:
        text = _answer("which")
        if text is None:
            return None
        choice = text.lower()
        if choice.isdecimal() and 1 <= int(choice) <= len(names):
            choice = names[int(choice) - 1]
        fitting = [name for name in names if choice in {name, maps[name].verb}]
        if fitting:
            begun.fault = fitting[0]
            return 1
        tell(f"  saw {text!r}, expected a number from 1 to {len(names)}")


def _track(begun: Beginning) -> int | None:
    tell("Which track is it? Its number or name; Enter where there is only one.")
    while True:
        text = _answer("track")
        if text is None:
            return None
        if text.lower() == "back":
            return -1
        try:
            track = checked_track(text or "1")
            check_others(track, begun.others)
        except InputError as error:
            tell_in(str(error).split("\n"))
            continue
        begun.track = track
        return 1


def _resume(begun: Beginning, journal: Journal) -> int | None:
    """Offer a case that was left open; 0 where there is none."""
    same = [
        case
        for case in journal.cases.values()
        if (case.fault, case.track) == (begun.fault, begun.track) and not case.closed
    ]
    if begun.resumed is not None or not same:
        return 0
    case = same[-1]
    tell(f"Case {case.name} is still open, with {len(case.seen)} things seen. Go on with it?")
    while True:
        text = _answer("resume")
        if text is None:
            return None
        if text.lower() == "back":
            return -1
        outcome = WORDS.get(text.lower())
        if outcome is Outcome.PASS:
            begun.resumed, begun.others = case, {}
            return 2
        if outcome is Outcome.FAIL:
            return 1
        tell("  yes, or no for a new case")


def _others(begun: Beginning, chain: ChainMap) -> int | None:
    tell(
        f"Which other tracks {chain.verb}? all, none, or those that do (such as 1 2 4); "
        "unknown where you have not tried, or where there are none."
    )
    while True:
        text = _answer("others")
        if text is None:
            return None
        word = text.lower()
        if word == "back":
            return -1
        if word in {"", "unknown"}:
            begun.others = {}
        elif word in {"none", "no"}:
            begun.others = {OTHERS: False}
        else:
            try:
                tracks = [checked_track(name) for name in parse_tracks(text)]
                others = dict.fromkeys(tracks, True)
                check_others(begun.track, others)
            except InputError as error:
                tell_in(str(error).split("\n"))
                continue
            begun.others = others
        return 1
