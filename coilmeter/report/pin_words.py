"""The words of a pin map: its headline, what was recognised, what is open, what it may be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from coilmeter.compute.cautions import DEMAGNETISE
from coilmeter.compute.grade import NOT_PROVEN
from coilmeter.compute.pinnet_kinds import KindFit
from coilmeter.compute.pinnet_roles import Proposal
from coilmeter.compute.pinnet_trees import named
from coilmeter.compute.pinplan_kind import SilentCoil
from coilmeter.report.pin_drawing import group_name, path_name, points_read
from coilmeter.units import format_ohm
from coilmeter.values import Isolation, Role
from coilmeter.values.pinmaps import MapStatus, PinMap, PinPair, PinPath, Shape

NO_BEGINNING: Final = "Which end of a coil is its beginning, ohms cannot tell."
_TWO: Final = 2
_MOST_GAPS: Final = 12


@dataclass(frozen=True, slots=True)
class MappedHead:
    """A head whose pins were mapped, and what is said of it.

    Parameters
    ----------
    head
        Its name.
    found
        The map.
    proposals
        What each coil may be.
    fitting
        Kinds that it fits.
    kind, against
        The kind it was said to be of, empty for none, and what speaks against that.
    changed
        Pairs that read otherwise when they were read again.
    broken
        Pairs of pins without partner that a person says are coils.
    tested
        Whether only what tests the kind was asked for.
    silent
        Coils of the kind that do not conduct, and whose pins conduct to no other either.

    """

    head: str
    found: PinMap
    proposals: tuple[Proposal, ...]
    fitting: tuple[KindFit, ...] = ()
    kind: str = ""
    against: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()
    broken: tuple[PinPair, ...] = ()
    tested: bool = False
    silent: tuple[SilentCoil, ...] = ()

    @property
    def sound(self) -> bool:
        """Whether the map is certain, or tests its kind in full, and shows no fault."""
        found = self.found
        if found.faulty or found.contradictions or self.against or self.changed:
            return False
        return self.tested or found.status is MapStatus.CERTAIN


def headline(mapped: MappedHead) -> str:
    """Say in a line how far the map can be relied on."""
    found = mapped.found
    pins = f"{len(found.field.pins)} pins{' and the case' if found.field.case else ''}"
    word = str(found.status).upper()
    if mapped.kind and mapped.against:
        word = f"NOT {mapped.kind}"
    elif mapped.tested and found.status is MapStatus.OPEN:
        word = f"AS {mapped.kind}"
    return f"{word}: head {mapped.head}, {pins}, {_some(found.readings, 'reading')}"


def summary(mapped: MappedHead) -> str:
    """Say in a sentence what was found."""
    found = mapped.found
    parts = [_some(len(found.coils) + len(mapped.broken), "coil")]
    if mapped.broken:
        parts.append(f"{len(mapped.broken)} of them open")
    for shape in Shape:
        count = sum(group.shape is shape for group in found.groups)
        if count and shape not in _ORDINARY:
            parts.append(f"{count} x {shape}" if count > 1 else str(shape))
    leaks = [path for path in found.paths if _conducts(path)]
    parts += [f"{path_name(found, path)} {path.verdict}" for path in leaks]
    return f"{', '.join(parts)}. {NO_BEGINNING} {NOT_PROVEN}"


_ORDINARY: Final = {Shape.COIL, Shape.CASE, Shape.ALONE}


def notes(mapped: MappedHead) -> Iterator[str]:
    """Sentences below the table: recognised, alone, leaking, contradicting, open, fitting."""
    found = mapped.found
    for group in found.groups:
        if group.shape not in _ORDINARY and group.told:
            yield f"{group_name(group)}: {group.shape}. {_sentence(group.told)}"
        elif any(len(node) > 1 for node in group.nodes):
            yield f"{group_name(group)}: {_sentence(group.told)}"
        if group.unseen_above_ohm is not None:
            yield (
                f"{group_name(group)}: a further link above "
                f"{format_ohm(group.unseen_above_ohm)} between its pins would not have shown."
            )
    yield from _alone(mapped)
    for path in found.paths:
        if _conducts(path) or path.through:
            yield _path_told(found, path)
    for told in mapped.changed:
        yield f"{told}: a joint may be loose. Flex it: coilmeter flex."
    yield from _of_kind(mapped)
    for each in found.contradictions:
        yield f"Contradiction: {each.told}. Read these again."
    yield from _next(mapped)
    yield from _may_be(mapped)
    yield f"Mind: {DEMAGNETISE}"


def _of_kind(mapped: MappedHead) -> Iterator[str]:
    """Say what there is against the kind that the head is said to be of."""
    for told in mapped.against:
        yield f"Against {mapped.kind}: {told}."
    for coil in mapped.silent:
        if coil.certain:
            yield (
                f"Coil {coil.name} of {mapped.kind} is open: {coil.told}, and its pins go with "
                "no others."
            )
        else:
            yield (
                f"Coil {coil.name} of {mapped.kind} is open, or the head is wired otherwise: "
                f"{coil.told}."
            )


def _alone(mapped: MappedHead) -> Iterator[str]:
    """Say what pins without partner may be."""
    left = [
        pin for pin in mapped.found.floating if not any(pin in pair for pair in mapped.broken)
    ]
    asked = {point for gap in mapped.found.gaps for pins in gap.pairs for point in pins}
    alone = [pin for pin in left if pin not in asked]
    if len(alone) == _TWO:
        first, second = alone
        yield (
            f"No partner: an open coil between pins {first} and {second}, or two unused pins. "
            f"Where you know it is a coil, say --open {first}-{second}."
        )
    elif len(alone) == 1:
        yield f"No partner: pin {alone[0]} is unused, or one end of a coil that is broken off."
    elif alone:
        yield (
            f"No partner: pins {', '.join(alone)}: open coils among them, or unused pins. "
            "Which belong together, ohms cannot tell; where you know, say --open with the two "
            "pins."
        )


def _next(mapped: MappedHead) -> Iterator[str]:
    gaps = mapped.found.gaps
    if mapped.tested and not mapped.against:
        if gaps:
            yield (
                f"Only what tests {mapped.kind} was read; {_some(len(gaps), 'path')} beside "
                "that not."
            )
        return
    read = points_read(mapped.found)
    unread = [point for point in mapped.found.field.points if point not in read]
    if unread:
        yield f"Not read at all: {named(unread)}."
    gaps = tuple(
        gap
        for gap in gaps
        if not all(any(point in unread for point in pins) for pins in gap.pairs)
    )
    for gap in gaps[:_MOST_GAPS]:
        pairs = " or ".join("-".join(pins) for pins in gap.pairs[:_TWO])
        yield f"Open: {gap.told}. It takes {pairs}."
    if len(gaps) > _MOST_GAPS:
        yield f"Open: {len(gaps) - _MOST_GAPS} more like these."


def _may_be(mapped: MappedHead) -> Iterator[str]:
    """Say which kinds a map fits, and which roles its coils may have."""
    for fit in mapped.fitting:
        same = "the same pin numbers" if fit.same_pins else "other pin numbers"
        open_ = (
            f", if {', '.join(f'its coil {spec.name}' for spec in fit.broken)} is open"
            if fit.broken
            else ""
        )
        yield f"Fits {fit.kind.name}: {fit.kind.description}; {same}{open_}."
    if not mapped.fitting and mapped.proposals and mapped.found.status is MapStatus.CERTAIN:
        yield "Fits no head kind known here."
    lost = [each for each in mapped.proposals if each.link.ohm is not None and not each.bands]
    if lost:
        yield (
            f"{_coils(lost)} in no band: faulty, or of a sort not known here (coilmeter bands "
            "list)."
        )
    yield from _choices(mapped)


def _choices(mapped: MappedHead) -> Iterator[str]:
    """Say of which coils the band is open, and how to choose."""
    groups: dict[tuple[tuple[str, ...], tuple[Role, ...]], list[Proposal]] = {}
    for each in mapped.proposals:
        if each.band == "any" and len(each.bands) > 1:
            groups.setdefault((each.bands, each.roles), []).append(each)
    for (bands, roles), coils in groups.items():
        all_ = len(coils) == len(mapped.proposals)
        how = "--band NAME" if all_ else f"--band {coils[0].name}=NAME"
        yield (
            f"{_coils(coils)} in several bands{', as ' if roles else ''}{' or '.join(roles)}: "
            f"choose with {how}, of {', '.join(bands)}."
        )


def _coils(proposals: Sequence[Proposal]) -> str:
    names = ", ".join(each.name for each in proposals)
    return f"Coil {names} lies" if len(proposals) == 1 else f"Coils {names} lie"


def _path_told(found: PinMap, path: PinPath) -> str:
    name = path_name(found, path)
    if path.through:
        return (
            f"{name}: reads {path.reading}, by way of {', '.join(path.through)}; nothing of "
            "their own between the two."
        )
    where = " and ".join(spot for spot in path.places if spot)
    size = format_ohm(path.ohm or 0.0, path.u_ohm)
    return f"{name}: {path.verdict}, {size}{', ' if where else ''}{where}."


def _conducts(path: PinPath) -> bool:
    conducting = {Isolation.BRIDGED, Isolation.LEAKING}
    return path.verdict in conducting and not path.through


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."


def _some(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def roles_text(proposal: Proposal) -> str:
    """Say the role of a coil, or those it may have."""
    if proposal.role is not Role.UNKNOWN:
        return str(proposal.role)
    return " or ".join(map(str, proposal.roles)) or str(Role.UNKNOWN)


def bands_text(proposal: Proposal) -> str:
    """Say the band of a coil, or those it lies in."""
    if proposal.band != "any":
        return proposal.band
    return ", ".join(proposal.bands) or "none"
