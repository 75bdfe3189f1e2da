"""Which head kinds a map fits, whatever the numbers of their pins, and which it contradicts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from coilmeter.compute.paths import joined_coils
from coilmeter.compute.pinnet_pairs import Pairs
from coilmeter.compute.pinnet_roles import Proposal
from coilmeter.compute.pinplan_kind import Expected, against, silent_coils
from coilmeter.values import CoilSpec, HeadKind
from coilmeter.values.pinmaps import PinMap, PinPair, Shape

_UNKNOWN_BAND: Final = "any"


@dataclass(frozen=True, slots=True)
class KindFit:
    """A kind that a map fits.

    Parameters
    ----------
    kind
        The kind.
    coils
        Its coil for each coil of the map, by the pins of the map.
    broken
        Its coils that would be broken: pins without partner stand for them.
    same_pins
        Whether the pins have the same names in both.

    """

    kind: HeadKind
    coils: Mapping[PinPair, CoilSpec]
    broken: tuple[CoilSpec, ...] = ()
    same_pins: bool = False


def fits(
    found: PinMap, proposals: Sequence[Proposal], kinds: Mapping[str, HeadKind]
) -> list[KindFit]:
    """Kinds of which a map is, kinds without known bands left out.

    A kind fits when its coils can be laid on those of the map, pin to pin, each in a band in
    which it is intact; pins without partner may stand for coils that are broken.
    """
    if not proposals or any(not each.bands for each in proposals if each.link.ohm is not None):
        return []
    return [
        fit
        for kind in kinds.values()
        if all(coil.band != _UNKNOWN_BAND for coil in kind.coils)
        and (kind.case or not found.field.case)
        and (fit := _fit(found, proposals, kind)) is not None
    ]


def agreed(fitting: Sequence[KindFit]) -> dict[PinPair, CoilSpec]:
    """Coils of which all kinds that fit say the same: a role and a band."""
    if not fitting:
        return {}
    first, *others = (fit.coils for fit in fitting)
    return {
        pins: spec
        for pins, spec in first.items()
        if all(
            (spec.role, spec.band) == (coils[pins].role, coils[pins].band) for coils in others
        )
    }


def _fit(found: PinMap, proposals: Sequence[Proposal], kind: HeadKind) -> KindFit | None:
    mine = _parts([each for each in proposals if each.link.ohm is not None])
    specs = {coil.name: coil for coil in kind.coils}
    theirs = [[specs[name] for name in names] for names in joined_coils(kind)]
    exact = _same(proposals, kind)
    laid = exact if exact is not None else _lay(mine, theirs)
    if laid is None:
        return None
    used = {spec.name for spec in laid.values()}
    broken = tuple(coil for coil in kind.coils if coil.name not in used)
    alone = len(found.floating)
    whole = all(len(part) == 1 for part in theirs if part[0].name not in used)
    if not whole or len({pin for coil in broken for pin in coil.pins}) != alone:
        return None
    return KindFit(kind, laid, broken, same_pins=exact is not None)


def _same(proposals: Sequence[Proposal], kind: HeadKind) -> dict[PinPair, CoilSpec] | None:
    """Lay a map on a kind that has the very same pins; None where it has not."""
    by_pins = {frozenset(coil.pins): coil for coil in kind.coils}
    laid: dict[PinPair, CoilSpec] = {}
    for each in proposals:
        if each.link.ohm is None:
            continue
        spec = by_pins.get(frozenset(each.link.pins))
        if spec is None or spec.band not in each.bands:
            return None
        laid[each.link.pins] = spec
    return laid


def _parts(proposals: Sequence[Proposal]) -> list[list[Proposal]]:
    """Coils grouped by the pins they share."""
    parts: list[list[Proposal]] = []
    for each in proposals:
        touching = [
            part
            for part in parts
            if any(set(each.link.pins) & set(other.link.pins) for other in part)
        ]
        parts = [part for part in parts if part not in touching]
        parts.append([other for part in touching for other in part] + [each])
    return parts


def _lay(
    mine: Sequence[Sequence[Proposal]], theirs: Sequence[Sequence[CoilSpec]]
) -> dict[PinPair, CoilSpec] | None:
    """Lay each group of coils of a map on one of a kind; None where that cannot be.

    An augmenting search over groups: each of the map must find one of the kind.
    """
    ways = [[_lay_group(part, other) for other in theirs] for part in mine]
    owner: dict[int, int] = {}

    def place(index: int, tried: set[int]) -> bool:
        for number, way in enumerate(ways[index]):
            if way is None or number in tried:
                continue
            tried.add(number)
            if number not in owner or place(owner[number], tried):
                owner[number] = index
                return True
        return False

    if not all(place(index, set()) for index in range(len(mine))):
        return None
    laid: dict[PinPair, CoilSpec] = {}
    for number, index in owner.items():
        laid |= ways[index][number] or {}
    return laid


def _lay_group(
    part: Sequence[Proposal], other: Sequence[CoilSpec]
) -> dict[PinPair, CoilSpec] | None:
    """Lay one group on another, pin on pin."""
    if len(part) != len(other):
        return None
    return next(_layings(list(part), list(other), {}), None)


def _layings(
    part: list[Proposal], other: list[CoilSpec], pins: dict[str, str]
) -> Iterator[dict[PinPair, CoilSpec]]:
    """Every way to lay what is left of a group on what is left of another.

    The next coil is one that touches pins that are laid already, so that a wrong way ends
    soon.
    """
    if not part:
        yield {}
        return
    each = next((one for one in part if set(one.link.pins) & set(pins)), part[0])
    rest = [one for one in part if one is not each]
    for spec in other:
        if spec.band not in each.bands:
            continue
        for ends in (spec.pins, spec.pins[::-1]):
            laid = _extended(pins, dict(zip(each.link.pins, ends, strict=True)))
            if laid is None:
                continue
            left = [one for one in other if one is not spec]
            for further in _layings(rest, left, laid):
                yield {each.link.pins: spec, **further}


def _extended(pins: Mapping[str, str], more: Mapping[str, str]) -> dict[str, str] | None:
    """Lay further pins; None where one would lie on two, or two on one."""
    laid = dict(pins)
    for mine, theirs in more.items():
        if laid.setdefault(mine, theirs) != theirs:
            return None
    return laid if len(set(laid.values())) == len(laid) else None


def refutes(expected: Expected, pairs: Pairs, found: PinMap) -> list[str]:
    """Say what a map has against the kind that its head is said to be of.

    A coil that does not conduct is no word against it as long as its pins conduct to no other
    pin: it may be open.
    """
    silent = {coil.pins for coil in silent_coils(expected, pairs, found)}
    told = {
        frozenset(pins): text for pins, text in against(expected, pairs) if pins not in silent
    }
    coils = {frozenset(pins): name for name, pins in expected.coils}
    for group in found.groups:
        if group.shape in {Shape.OPEN, Shape.ALONE, Shape.CASE}:
            continue
        links = {frozenset(link.pins) for link in group.links}
        for pins, name in coils.items():
            if pins <= set(group.pins) and pins not in links and not _joined(group.nodes, pins):
                text = f"coil {name} should be on {'-'.join(sorted(pins))}: {group.told}"
                told.setdefault(pins, text)
    return list(told.values())


def _joined(nodes: Sequence[tuple[str, ...]], pins: frozenset[str]) -> bool:
    """Whether pins are of nodes that a dead short makes several: their names may differ."""
    return any(len(node) > 1 and pins & set(node) for node in nodes)
