"""Which coil, or which path between two sides, a row of a readings file is about."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from coilmeter.values import CASE, CoilSpec, HeadKind, Purpose, ReadingRow, Role

SIDES: Final = re.compile(r"\s*(?:[-/,:]|\bto\b|\s)\s*")
"""What stands between two coils or two pins."""

_UNCLEAR: Final = "a purpose, coil, coil-to-coil or coil-to-case: {} elsewhere too"


@dataclass(frozen=True, slots=True)
class Place:
    """Where a reading was taken.

    Parameters
    ----------
    name
        The coil, or the first side of a path.
    other
        The far side of a path, a coil's name or ``case``; empty for a coil.
    pins
        The two pins, where known.
    role, band
        Of the coil, as its head kind says; `Role.UNKNOWN` and empty without one.

    """

    name: str
    other: str
    pins: tuple[str, str] | None
    role: Role = Role.UNKNOWN
    band: str = ""


@dataclass(frozen=True, slots=True)
class Misplaced:
    """Why a row is about no place: column, what was seen, what was expected."""

    column: str
    seen: str
    expected: str


def kind_of_rows(rows: Sequence[ReadingRow]) -> HeadKind | None:
    """Lay a head of no named kind out by the pins of its coil rows; None without any.

    Its name is empty, and its coils have no band of their own.
    """
    coils: dict[frozenset[str], CoilSpec] = {}
    for row in rows:
        if row.pins is None or row.other or CASE in row.pins or _is_path(row):
            continue
        name = row.coil or "-".join(row.pins)
        spec = CoilSpec(name, row.role or Role.UNKNOWN, row.pins, "")
        coils.setdefault(frozenset(row.pins), spec)
    names = {spec.name for spec in coils.values()}
    if not coils or len(names) < len(coils):
        return None
    alone = [
        CoilSpec(row.coil, row.role or Role.UNKNOWN, ("", ""), "")
        for row in rows
        if row.coil and row.pins is None and not row.other and not _is_path(row)
    ]
    if alone:
        return None
    return HeadKind(name="", description="", coils=tuple(coils.values()))


def unclear_rows(rows: Sequence[ReadingRow]) -> list[tuple[ReadingRow, Misplaced]]:
    """Rows without purpose of a head of no named kind that may be of a coil or of a path.

    Both their pins belong to other rows as well (a common return or a tap, or two coils that
    somebody measured between), or their coil is named like two others, or like the case.
    """
    pairs = {
        frozenset(row.pins): row.pins
        for row in rows
        if row.pins is not None and CASE not in row.pins and not _is_path(row)
    }
    uses = Counter(pin for pair in pairs.values() for pin in pair)
    names = {row.coil for row in rows if not row.other}
    found = []
    for row in rows:
        if row.purpose is not None or row.other:
            continue
        sides = [side for side in SIDES.split(row.coil) if side]
        if row.coil.lower() == CASE or (len(sides) > 1 and names.issuperset(sides)):
            found.append((row, Misplaced("coil", row.coil, _UNCLEAR.format("they are coils"))))
        elif row.pins is None or row.coil or CASE in row.pins:
            continue
        elif all(uses[pin] > 1 for pin in row.pins):
            seen = "-".join(row.pins)
            found.append((row, Misplaced("pins", seen, _UNCLEAR.format("both pins are used"))))
    return found


def locate(row: ReadingRow, kind: HeadKind | None) -> Place | Misplaced:
    """Find the place of a row, from its coil or pins, its purpose and the head kind."""
    place = _without_kind(row) if kind is None else _of_kind(row, kind)
    if isinstance(place, Misplaced) or row.purpose is None:
        return place
    if row.purpose.is_isolation and not place.other:
        return Misplaced("purpose", row.purpose, "two sides: two coils, or a coil and 'case'")
    if row.purpose is Purpose.COIL and place.other:
        return Misplaced("purpose", row.purpose, "the name of one coil, or its two pins")
    if row.purpose is Purpose.COIL_TO_CASE and place.other != CASE:
        return Misplaced("purpose", row.purpose, "a coil and 'case'")
    if row.purpose is Purpose.COIL_TO_COIL and place.other == CASE:
        return Misplaced("purpose", row.purpose, "two coils")
    return place


def _is_path(row: ReadingRow) -> bool:
    return row.purpose is not None and row.purpose.is_isolation


def _without_kind(row: ReadingRow) -> Place:
    if row.coil or row.pins is None:
        return Place(row.coil, row.other, row.pins)
    first, second = sorted(row.pins, key=lambda pin: pin == CASE)
    if second == CASE or row.purpose is Purpose.COIL_TO_COIL:
        return Place(first, second, row.pins)
    return Place("-".join(row.pins), "", row.pins)


def _of_kind(row: ReadingRow, kind: HeadKind) -> Place | Misplaced:
    specs = {spec.name: spec for spec in kind.coils}
    of_kind = f"of {kind.name}" if kind.name else "of this head"
    coil, other = row.coil, row.other
    if row.pins is not None:
        found = _by_pins(row.pins, kind, of_kind)
        if isinstance(found, Misplaced):
            return found
        if not coil:
            coil, other = found
        elif coil in specs and not _fits(coil, other, row.pins, specs):
            shown = " to ".join(filter(None, found))
            return Misplaced(
                "pins", "-".join(row.pins), f"the pins of {coil}; these are {shown}"
            )
    if kind.name:
        for name in (coil, other or CASE):
            if name not in specs and not (name == CASE and name != coil):
                return Misplaced("coil", name, f"a coil {of_kind}: {', '.join(specs)}")
    spec = specs.get(coil)
    if spec is None or other:
        role = Role.UNKNOWN if spec is None else spec.role
        return Place(coil, other, row.pins, role, "" if spec is None else spec.band)
    return Place(coil, other, spec.pins, spec.role, spec.band)


def _fits(coil: str, other: str, pins: tuple[str, str], specs: Mapping[str, CoilSpec]) -> bool:
    """Whether the pins are those of a coil, or one of each side of a path."""
    near = set(specs[coil].pins)
    if not other:
        return near == set(pins)
    far = {CASE} if other == CASE else set(specs[other].pins) if other in specs else set()
    first, second = pins
    return (first in near and second in far) or (second in near and first in far)


def _by_pins(
    pins: tuple[str, str], kind: HeadKind, of_kind: str
) -> tuple[str, str] | Misplaced:
    """Name the two sides that the pins belong to; the far side is empty for one coil."""
    for spec in kind.coils:
        if set(spec.pins) == set(pins):
            return spec.name, ""
    owners: dict[str, str] = {}
    for spec in kind.coils:
        for pin in spec.pins:
            owners.setdefault(pin, spec.name)
    owners[CASE] = CASE
    unknown = [pin for pin in pins if pin not in owners]
    if unknown and not kind.name:
        owners |= {pin: pin for pin in unknown}
    elif unknown:
        return Misplaced("pins", unknown[0], f"pins {of_kind}: {', '.join(owners)}")
    first, second = sorted((owners[pin] for pin in pins), key=lambda side: side == CASE)
    if first == second:
        return Misplaced("pins", "-".join(pins), f"the two pins of a coil {of_kind}")
    if CASE not in {first, second} and kind.share_a_pin(first, second):
        return Misplaced(
            "pins",
            "-".join(pins),
            f"two pins of one coil, or of coils {of_kind} that no pin joins; a reading "
            "through the common return has the purpose 'free'",
        )
    return first, second
