"""The pin field in letters: which coil each pin belongs to, as far as it is known."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import zip_longest
from typing import Final

from coilmeter.compute.pinnet_roles import letters, sorted_links
from coilmeter.report.safe import printable
from coilmeter.units import format_ohm
from coilmeter.values import CASE, Isolation
from coilmeter.values.pinmaps import PinGroup, PinLink, PinMap, PinPair, PinPath, Shape

UNREAD: Final = "."
SEARCHED: Final = "?"
ALONE: Final = "-"
CONDUCTS: Final = "~"
TIED: Final = "="
LEGEND: Final = {
    UNREAD: "not read",
    SEARCHED: "no partner yet",
    ALONE: "no partner",
    CONDUCTS: "conducts, how is open",
    TIED: "joined by a dead short",
}
_BETWEEN: Final = 4


def map_lines(
    found: PinMap, current: PinPair | None = None, broken: Sequence[PinPair] = ()
) -> list[str]:
    """Draw the field with what each pin belongs to, and beside it what was found.

    Parameters
    ----------
    found
        The map, at whatever stage.
    current
        The two points that are asked for now, drawn in brackets.
    broken
        Pairs of pins without partner that a person says are coils.

    """
    left, right = field_lines(found, current, broken), list(_found(found, broken))
    width = max(map(len, left)) + _BETWEEN
    return [
        f"{here:<{width}}{there}".rstrip()
        for here, there in zip_longest(left, right, fillvalue="")
    ]


def field_lines(
    found: PinMap, current: PinPair | None = None, broken: Sequence[PinPair] = ()
) -> list[str]:
    """Draw the field alone: each pin with the letters of its coils, or a sign."""
    marks = marks_of(found, broken)
    columns = max(map(len, found.field.rows))
    names = max(len(printable(pin)) for pin in found.field.pins)
    signs = max(map(len, marks.values()))
    lines = []
    for row in found.field.rows:
        cells = [_cell(pin, marks, current, names, signs) for pin in row]
        cells += [" " * len(cells[0])] * (columns - len(row))
        lines.append(" ".join(cells).rstrip())
    if found.field.case:
        lines.append(_cell(CASE, marks, current, len(CASE), signs).rstrip())
    return lines


def legend(found: PinMap, broken: Sequence[PinPair] = ()) -> str:
    """Explain the signs that are in the drawing; empty where there are letters only."""
    used = {sign for mark in marks_of(found, broken).values() for sign in mark}
    return ", ".join(f"{sign} {words}" for sign, words in LEGEND.items() if sign in used)


def marks_of(found: PinMap, broken: Sequence[PinPair] = ()) -> dict[str, str]:
    """Letters of the coils of each point, or the sign that stands for none."""
    marks: dict[str, str] = {}
    read = points_read(found)
    for group in found.groups:
        for node in group.nodes:
            for point in node:
                marks[point] = _sign(group, point, point in read, _is_open(found, point))
                marks[point] += TIED if len(node) > 1 else ""
    for name, link in lettered(found, broken):
        for group in found.groups:
            for node in group.nodes:
                if set(node) & set(link.pins):
                    for point in node:
                        marks[point] = marks[point].strip("".join(LEGEND)) + name
                        marks[point] += TIED if len(node) > 1 else ""
    return marks


def lettered(found: PinMap, broken: Sequence[PinPair] = ()) -> list[tuple[str, PinLink]]:
    """Coils with their letters, in the order of the field."""
    links = sorted_links(found, broken)
    return list(zip(letters(len(links)), links, strict=True))


def _sign(group: PinGroup, point: str, is_read: bool, is_open: bool) -> str:  # noqa: FBT001 - two facts of one point
    if group.shape is Shape.ALONE:
        return (SEARCHED if is_open else ALONE) if is_read else UNREAD
    if group.shape is Shape.OPEN:
        return CONDUCTS
    return "" if point == CASE and is_read else UNREAD if not is_read else ""


def points_read(found: PinMap) -> set[str]:
    """Points of which there is a reading."""
    missing = {Isolation.MISSING}
    read: set[str] = set()
    for path in found.paths:
        if path.verdict not in missing and path.pins is not None:
            read |= {*path.pins}
    grouped = {pin for group in found.groups if len(group.pins) > 1 for pin in group.pins}
    return read | grouped


def _is_open(found: PinMap, point: str) -> bool:
    """Whether a pin may still find a partner."""
    return any(point in pins and CASE not in pins for gap in found.gaps for pins in gap.pairs)


def _cell(
    pin: str,
    marks: Mapping[str, str],
    current: PinPair | None,
    names: int,
    signs: int,
) -> str:
    shown = f"{printable(pin):>{names}} {marks.get(pin, ''):<{signs}}" if pin else ""
    if current is not None and pin in current:
        return f"[{shown}]"
    return f" {shown:<{names + 1 + signs}} "


def _found(found: PinMap, broken: Sequence[PinPair]) -> Iterator[str]:
    """Say in short lines what was found, coils first."""
    for name, link in lettered(found, broken):
        ohm = "" if link.ohm is None else format_ohm(link.ohm, link.u_ohm)
        value = "open" if link.pins in broken else ohm
        yield f"{name}  {_pins(link)}  {value}".rstrip()
    for group in found.groups:
        for link in group.links:
            if not link.is_coil and link.ohm is not None:
                yield f"   {_pins(link)}  {format_ohm(link.ohm, link.u_ohm)}, {group.shape}"
        if group.shape in {Shape.JOINED, Shape.OPEN}:
            yield f"   {printable('-'.join(group.pins))}  {group.shape}"
    for path in found.paths:
        if path.verdict in {Isolation.LEAKING, Isolation.BRIDGED} and not path.through:
            yield f"   {path_name(found, path)}  {format_ohm(path.ohm or 0.0)}, {path.verdict}"


def path_name(found: PinMap, path: PinPath) -> str:
    """Name the two sides of a path by their pins."""
    return " to ".join(group_name(found.groups[place]) for place in path.between)


def group_name(group: PinGroup) -> str:
    """Name a group by its pins, shortly."""
    return printable("-".join("=".join(node) for node in group.nodes))


def _pins(link: PinLink) -> str:
    return printable("-".join(link.pins))
