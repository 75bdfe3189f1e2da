"""A condition report as one page of HTML that needs nothing else: for a screen and for paper.

Two things are told apart and never averaged: what was measured, and what was looked at.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from coilmeter.compute.settings import Settings
from coilmeter.report.drawings import (
    any_broken,
    coils_against_band,
    pin_map,
    with_own_ids,
)
from coilmeter.report.listing import Listing
from coilmeter.report.page_measured import measured_lines
from coilmeter.report.photos import Photo
from coilmeter.report.reasons import coil_reason, path_reason
from coilmeter.report.rendering import own_markup, rendered
from coilmeter.report.tables import COVERAGE_FACTOR
from coilmeter.units import format_with_uncertainty
from coilmeter.values import (
    CoilResult,
    Condition,
    HeadKind,
    HeadResult,
    Isolation,
    IsolationResult,
    Match,
    ReadingRow,
)
from coilmeter.values.about import About

COIL_HEADINGS: Final = ("coil", "role", "pins", "as read", "at 20 degC", "verdict", "siblings")
NEVER_BY_OHMS: Final = (
    "Shorted turns: a few of them do not show in ohms.",
    "Wear of the gap: copper is untouched by it.",
    "Whether the core is magnetised.",
)
FOOTER: Final = (
    "Measured values with their uncertainties, and what they do not prove. Nothing here speaks "
    "for the recorder the head comes from or goes into."
)
INDUCTANCE_FIGURE: Final = "Inductance and Q"
"""Title of the figure that takes shorted turns off the list of what was not looked for."""

_UNKNOWN: Final = "not stated"


@dataclass(frozen=True, slots=True)
class Figure:
    """A further drawing of a page: its title, the SVG, and what it shows."""

    title: str
    svg: str
    caption: str


@dataclass(frozen=True, slots=True)
class ChainPicture:
    """The chain of a case as the page of a head carries it.

    Parameters
    ----------
    uri
        The drawing itself as an address: its styles are its own, and reach nothing else.
    spoken
        What it shows, for those who hear the page.
    caption
        Which case it is, and how it ended.
    seen
        What was seen, a sentence each.

    """

    uri: str
    spoken: str
    caption: str
    seen: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HeadPage:
    """Everything a page says of one head.

    Parameters
    ----------
    result
        Its verdicts.
    rows
        The readings they rest on.
    kind
        Its kind; None where it is not known.
    about
        What a person said of it.
    photos, figures
        What is shown besides.
    proof
        What is known of the proof of the meter, a sentence; empty where nothing is.
    history
        What became of it since it came into a bin, a sentence each; empty outside of one.
    changes
        Where it was measured again, what has changed; None elsewhere.
    chain
        The chain of the case it was suspected in; None where none was named.

    """

    result: HeadResult
    rows: Sequence[ReadingRow] = ()
    kind: HeadKind | None = None
    about: About = field(default_factory=About)
    photos: Sequence[Photo] = ()
    figures: Sequence[Figure] = ()
    proof: str = ""
    history: Sequence[str] = ()
    changes: Listing | None = None
    chain: ChainPicture | None = None


def page(
    heads: Sequence[HeadPage],
    settings: Settings,
) -> str:
    """Write the page of one head or of several, a sheet each.

    Parameters
    ----------
    heads
        The heads.
    settings
        What they were judged by.

    """
    names = ", ".join(head.result.head for head in heads[:3])
    return rendered(
        "page.html.j2",
        title=f"Condition of head {names}{' ...' if len(heads) > 3 else ''}",  # noqa: PLR2004 - a title
        heads=[_head(head, settings, f"head{number}_") for number, head in enumerate(heads, 1)],
        footer=FOOTER,
    )


def _head(head: HeadPage, settings: Settings, prefix: str) -> dict[str, Any]:
    result, kind = head.result, head.kind
    pins = [] if kind is None else pin_map(kind, result.coils)
    return {
        "name": result.head,
        "grade": str(result.grade),
        "reason": result.grade_reason,
        "facts": _facts(head),
        "coil_headings": COIL_HEADINGS,
        "coils": [_coil(coil) for coil in result.coils],
        "spread": _spread(result.coils),
        "band_plot": own_markup(
            with_own_ids(coils_against_band(result.coils, settings.bands), f"{prefix}0_")
        ),
        "pins": pins,
        "pins_spoken": "; ".join(each["spoken"] for each in pins),
        "pins_note": "" if kind is None else _pins_note(kind, broken=any_broken(pins)),
        "has_case": kind is not None and kind.case,
        "paths": [_path(path) for path in result.isolation],
        "figures": [
            {
                "title": each.title,
                "svg": own_markup(with_own_ids(each.svg, f"{prefix}{number}_")),
                "caption": each.caption,
            }
            for number, each in enumerate(head.figures, 1)
        ],
        "photos": head.photos,
        "measured": measured_lines(result, head.rows, head.proof, settings),
        "history": head.history,
        "chain": head.chain,
        "changes": head.changes,
        "not_tested": not_tested(head),
        "cautions": result.cautions,
    }


def _facts(head: HeadPage) -> list[tuple[str, str]]:
    result, about, kind = head.result, head.about, head.kind
    pins = len({pin for coil in kind.coils for pin in coil.pins}) if kind is not None else None
    facts = [
        ("kind", f"{result.kind or _UNKNOWN}{f': {kind.description}' if kind else ''}"),
        ("marking", about.marking or _UNKNOWN),
        (
            "pins",
            _UNKNOWN
            if pins is None
            else f"{pins}{' and the case' if kind and kind.case else ''}",
        ),
        ("loose or fitted", about.fitted or _UNKNOWN),
        (
            "face, looked at",
            "; ".join(filter(None, (about.face, about.face_note))) or "not looked at",
        ),
        ("demagnetised", _yes_no(about.demagnetised)),
        ("tape-tested", _yes_no(about.tape_tested)),
    ]
    if about.record:
        facts.insert(0, ("record", about.record))
    return facts + [("note", note) for note in about.notes]


def _coil(coil: CoilResult) -> tuple[str, ...]:
    value = ""
    if coil.resistance_20c_ohm is not None and coil.u_ohm is not None:
        value = format_with_uncertainty(coil.resistance_20c_ohm, COVERAGE_FACTOR * coil.u_ohm)
    siblings = str(coil.match)
    if coil.deviation is not None:
        siblings = f"{coil.match} {100 * coil.deviation:+.1f} %"
    return (
        coil.coil,
        str(coil.role),
        "" if coil.pins is None else "-".join(coil.pins),
        coil.reading,
        value,
        f"{coil.verdict} ({coil_reason(coil)})",
        siblings if coil.match is not Match.NO_SIBLING else "",
    )


def _path(path: IsolationResult) -> tuple[str, ...]:
    read = path.reading
    if path.resistance_ohm is not None and path.u_ohm is not None:
        read = format_with_uncertainty(path.resistance_ohm, COVERAGE_FACTOR * path.u_ohm)
    pins = "" if path.pins is None else "-".join(path.pins)
    return (f"{path.start} to {path.end}", pins, read, str(path.verdict), path_reason(path))


def _spread(coils: Sequence[CoilResult]) -> str:
    """Say how far apart the coils of each role are, and what that refers to."""
    parts = []
    for role in dict.fromkeys(coil.role for coil in coils):
        away = [c.deviation for c in coils if c.role == role and c.deviation is not None]
        if len(away) > 1:
            parts.append(
                f"{role}: {100 * min(away):+.1f} % to {100 * max(away):+.1f} % off the median "
                f"of the {len(away)} coils measured"
            )
    return f"Spread of {'; '.join(parts)}." if parts else ""


def _pins_note(kind: HeadKind, *, broken: bool) -> str:
    every = [pin for coil in kind.coils for pin in coil.pins]
    shared = sorted({pin for pin in every if every.count(pin) > 1})
    note = "Each line is a coil between its two pins"
    if broken:
        note += ", an open one broken"
    if not shared:
        return f"{note}."
    return f"{note}; pin {', '.join(shared)} is drawn more than once and is one and the same."


def not_tested(head: HeadPage) -> list[str]:
    """List what the evidence on a head says nothing about."""
    result, about = head.result, head.about
    missing = [coil.coil for coil in result.coils if coil.verdict is Condition.MISSING]
    unread = [
        f"{path.start} to {path.end}"
        for path in result.isolation
        if path.verdict is Isolation.MISSING
    ]
    lines = [f"Coil {', '.join(missing)}: not measured."] if missing else []
    lines += [f"Isolation not read: {', '.join(unread)}."] if unread else []
    unmoved = [coil.coil for coil in result.coils if coil.flex is None]
    if unmoved:
        which = "" if len(unmoved) == len(result.coils) else f" of coil {', '.join(unmoved)}"
        lines.append(f"Joints and leads{which} while they are moved.")
    if all(coil.impedance is None for coil in result.coils):
        lines.append(NEVER_BY_OHMS[0])
    lines.append(NEVER_BY_OHMS[1])
    if not about.face:
        lines.append("The face of the head: nobody looked at it for this report.")
    if about.demagnetised is not True:
        lines.append(NEVER_BY_OHMS[2])
    if about.tape_tested is not True:
        lines.append("Playing, recording and erasing a tape.")
    return lines


def _yes_no(value: bool | None) -> str:  # noqa: FBT001 - what a person said, or did not
    return {True: "yes", False: "no", None: _UNKNOWN}[value]
