"""Points held together by links with none to spare: coil, common return, tap, chain, bridge.

Facts behind it: usually two pins a coil (common practice, no source); a common return makes
hot to hot the sum of both coils, and so does a centre tap (published example, P1 of
PROVENANCE.md); two unequal coils at one pin are no centre tap (derived).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from coilmeter.compute.pinnet_apart import combination
from coilmeter.compute.pinnet_blocks import Block, neighbours
from coilmeter.compute.pinnet_readings import PairReading
from coilmeter.compute.pinnet_solve import Node, Nodes, has_case
from coilmeter.compute.verdict import interval_probability
from coilmeter.units import format_ohm
from coilmeter.values import CASE
from coilmeter.values.pinmaps import PinGroup, PinLink, Shape

ALIKE: Final = 0.05
"""Two windings that differ by no more are taken for halves of one (own default)."""

UNLIKE: Final = 0.15
"""A link that differs from every coil of its block by more is no further winding (own)."""

_TWO: Final = 2


def tree(nodes: Nodes, block: Block) -> PinGroup:
    """Recognise a block whose links hold it together with none to spare."""
    near = neighbours(block)
    links = tuple(direct(nodes, *link) for link in block.links)
    joined = [joined_text(node) for node in block.nodes if len(node) > 1]
    matching = _matching(block, near)
    if len(links) == 1:
        shape, told = Shape.COIL, listed(links)
        if (CASE,) in block.nodes:
            told += ": a coil that returns through the case, or a broken one that leaks to it"
    elif matching is not None:
        shape, links, told = _two_pins_a_coil(nodes, block, links, matching)
    elif len(links) == _TWO:
        shape, told = _two_at_one_pin(nodes, near, links)
    else:
        shape, told = _many(near, links)
    if joined:
        told += f"; {'; '.join(joined)}"
    unseen = None if block.solved is None else block.solved.unseen_above_ohm
    return PinGroup(block.nodes, shape, links, told, unseen)


def _many(near: Mapping[Node, Sequence[Node]], links: Sequence[PinLink]) -> tuple[Shape, str]:
    most = max(map(len, near.values()))
    if most == len(links):
        (middle,) = (node for node, others in near.items() if len(others) == most)
        told = f"{len(links)} coils on the common return {plain(middle)}: {listed(links)}"
        return Shape.COMMON_RETURN, told
    how = "in series" if most == _TWO else "that share pins"
    return Shape.CHAIN, f"{len(links)} windings {how}: {listed(links)}"


def _two_at_one_pin(
    nodes: Nodes, near: Mapping[Node, Sequence[Node]], links: Sequence[PinLink]
) -> tuple[Shape, str]:
    (middle,) = (node for node, others in near.items() if len(others) > 1)
    one, other = near[middle]
    first, second = nodes.value(middle, one), nodes.value(middle, other)
    if first is None or second is None:
        message = f"no reading from {middle} to {one} and {other}"
        raise ValueError(message)
    if middle == (CASE,):
        share = 100 * first.ohm / (first.ohm + second.ohm)
        told = (
            f"{listed(links)}: a coil {one[0]}-{other[0]} that is shorted to the case at "
            f"{share:.0f} % of the way from pin {one[0]}, or two coils that return through it"
        )
        return Shape.BRIDGED, told
    if len(middle) > 1:
        told = f"{listed(links)}: a bridge between two coils, or a return of both"
        return Shape.BRIDGED, told
    if _alike(first, second, ALIKE, nodes.pairs.limits.confidence) is False:
        told = f"two unequal coils on the common pin {middle[0]}: {listed(links)}"
        return Shape.UNEQUAL, told
    told = (
        f"{listed(links)}: a coil with its centre tap at {middle[0]}, or two coils on a "
        "common return there; ohms cannot tell which"
    )
    return Shape.TAP_OR_RETURN, told


def _two_pins_a_coil(
    nodes: Nodes,
    block: Block,
    links: tuple[PinLink, ...],
    matching: set[frozenset[Node]],
) -> tuple[Shape, tuple[PinLink, ...], str]:
    """Tell coils of two pins each with bridges between them from windings in series."""
    values = {frozenset(pair): nodes.value(*pair) for pair in block.links}
    coils = [value for pair in matching if (value := values[pair]) is not None]
    others = [
        value for pair, value in values.items() if pair not in matching and value is not None
    ]
    confidence = nodes.pairs.limits.confidence
    in_series = all(
        any(_alike(other, coil, UNLIKE, confidence) is not False for coil in coils)
        for other in others
    )
    if in_series:
        told = (
            f"{len(links)} windings in series: {listed(links)}; or coils of two pins each, "
            "with something between them that reads like a coil"
        )
        return Shape.CHAIN, links, told
    marked = tuple(
        link
        if frozenset(pair) in matching
        else PinLink(link.pins, link.ohm, link.u_ohm, reading=link.reading, is_coil=False)
        for link, pair in zip(links, block.links, strict=True)
    )
    bridges = [link for link in marked if not link.is_coil]
    told = (
        f"{listed([link for link in marked if link.is_coil])}, bridged by "
        f"{listed(bridges)}; windings in series would read the same"
    )
    return Shape.BRIDGED, marked, told


def _matching(block: Block, near: Mapping[Node, Sequence[Node]]) -> set[frozenset[Node]] | None:
    """Give the links that take every pin of a tree once, two pins a coil; None if none do.

    A tree has one such set at most, found from its ends inwards.  With joined pins or with
    the case in it the question does not arise.
    """
    if any(len(node) > 1 for node in block.nodes) or has_case(block.nodes):
        return None
    left = {node: set(others) for node, others in near.items()}
    taken: set[frozenset[Node]] = set()
    while left:
        end = next(node for node in left if len(left[node]) <= 1)
        if not left[end]:
            return None
        (partner,) = left[end]
        taken.add(frozenset((end, partner)))
        for gone in (end, partner):
            for other in left.pop(gone):
                if other in left:
                    left[other].discard(gone)
    return taken


def _alike(
    one: PairReading, other: PairReading, limit: float, confidence: float
) -> bool | None:
    """Whether two values differ by no more than a fraction of their mean; None if open."""
    apart, u = combination([(1.0, one), (-1.0, other)])
    reach = limit * (one.ohm + other.ohm) / 2
    if not u:
        return abs(apart) <= reach
    within = float(interval_probability((-reach - apart) / u, (reach - apart) / u))
    if within >= confidence:
        return True
    return False if 1 - within >= confidence else None


def direct(nodes: Nodes, one: Node, other: Node) -> PinLink:
    """Give a link as the value that was read between its ends."""
    pins = nodes.pairs.field.pair(one[0], other[0])
    value = nodes.value(one, other)
    if value is None:
        return PinLink(pins)
    return PinLink(pins, value.ohm, value.u_ohm, value.ohm_20c, value.u_20c_ohm, value.text)


def listed(links: Sequence[PinLink]) -> str:
    """Name links with their resistances."""
    return ", ".join(
        f"{link.pins[0]}-{link.pins[1]} {format_ohm(link.ohm or 0.0, link.u_ohm)}"
        for link in links
    )


def plain(node: Node) -> str:
    """Name a node shortly."""
    return "=".join(node)


def named(points: Sequence[str]) -> str:
    """Name several points in a sentence."""
    pins = [point for point in points if point != CASE]
    told = "" if not pins else f"pin {pins[0]}"
    if len(pins) > 1:
        told = f"pins {', '.join(pins[:-1])} and {pins[-1]}"
    return " and ".join(part for part in (told, "the case" * (CASE in points)) if part)


def joined_text(node: Node) -> str:
    """Say of a node which of its points a dead short joins."""
    pins = [point for point in node if point != CASE]
    if CASE in node:
        return f"{named(pins)} {'is' if len(pins) == 1 else 'are'} tied to the case"
    return f"{named(pins)} are joined by a dead short"
