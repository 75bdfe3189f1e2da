"""Which coil, or which path between two sides, a row of a readings file is about."""

from __future__ import annotations

from dataclasses import dataclass

from coilmeter.values import CASE, HeadKind, Purpose, ReadingRow, Role


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


def _without_kind(row: ReadingRow) -> Place:
    if row.coil or row.pins is None:
        return Place(row.coil, row.other, row.pins)
    first, second = sorted(row.pins, key=lambda pin: pin == CASE)
    if second == CASE or row.purpose is Purpose.COIL_TO_COIL:
        return Place(first, second, row.pins)
    return Place("-".join(row.pins), "", row.pins)


def _of_kind(row: ReadingRow, kind: HeadKind) -> Place | Misplaced:
    specs = {spec.name: spec for spec in kind.coils}
    coil, other = row.coil, row.other
    if not coil and row.pins is not None:
        found = _by_pins(row.pins, kind)
        if isinstance(found, Misplaced):
            return found
        coil, other = found
    for name in (coil, other):
        if name not in {"", CASE} and name not in specs:
            return Misplaced("coil", name, f"a coil of {kind.name}: {', '.join(specs)}")
    if coil not in specs:
        return Misplaced("coil", coil, f"a coil of {kind.name}: {', '.join(specs)}")
    spec = specs[coil]
    return Place(coil, other, row.pins if other else spec.pins, spec.role, spec.band)


def _by_pins(pins: tuple[str, str], kind: HeadKind) -> tuple[str, str] | Misplaced:
    """Name the two sides that the pins belong to; the far side is empty for one coil."""
    for spec in kind.coils:
        if set(spec.pins) == set(pins):
            return spec.name, ""
    owners = {pin: spec.name for spec in kind.coils for pin in spec.pins} | {CASE: CASE}
    unknown = [pin for pin in pins if pin not in owners]
    if unknown:
        return Misplaced("pins", unknown[0], f"pins of {kind.name}: {', '.join(owners)}")
    first, second = sorted((owners[pin] for pin in pins), key=lambda side: side == CASE)
    if first == second:
        return Misplaced("pins", "-".join(pins), f"the two pins of a coil of {kind.name}")
    if CASE not in {first, second} and kind.share_a_pin(first, second):
        return Misplaced(
            "pins",
            "-".join(pins),
            f"two pins of one coil, or of coils that {kind.name} keeps apart; a reading "
            "through the common return has the purpose 'free'",
        )
    return first, second
