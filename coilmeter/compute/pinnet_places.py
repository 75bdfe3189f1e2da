"""Where two blocks are joined, and by how much: a leak to the case, a bridge between coils.

For a link with ends i and j and any point c of the other block::

    x = (r_ij + r_ic - r_jc) / 2        along the link, from i, to where it joins
    h = (r_ic + r_jc - r_ij) / 2        from there to c

Of several links of a block the joint lies on the one with the least h.  With links i-j and
k-l on the two sides, what joins them is ((r_ik + r_jl + r_il + r_jk) / 2 - r_ij - r_kl) / 2.
A place says something only while the way to c is not much longer than the link itself.

Derived here; for the case alone it is the usual formula for the place of a leak.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from coilmeter.compute.pinnet_apart import combination
from coilmeter.compute.pinnet_blocks import Block
from coilmeter.compute.pinnet_readings import PairReading
from coilmeter.compute.pinnet_solve import Node, Nodes

LONGEST_WAY: Final = 50.0
"""A place is told only while the way from both ends is below so many times the link (own)."""

COARSEST: Final = 0.125
"""A place whose standard uncertainty is a larger fraction of the link is not told."""

AT_END_SIGMAS: Final = 2.0
_SQRT3: Final = math.sqrt(3.0)


@dataclass(frozen=True, slots=True)
class Spot:
    """A place along a link.

    Parameters
    ----------
    link
        The two nodes.
    fraction, u
        How far from the first, 0 to 1, and its standard uncertainty.

    """

    link: tuple[Node, Node]
    fraction: float
    u: float

    @property
    def told(self) -> str:
        """The place in words."""
        (a, *_), (b, *_) = self.link
        if self.fraction <= AT_END_SIGMAS * self.u:
            return f"at pin {a}"
        if 1 - self.fraction <= AT_END_SIGMAS * self.u:
            return f"at pin {b}"
        reach = max(math.ceil(200 * self.u), 1)
        return f"at {100 * self.fraction:.0f} +/- {reach} % of the way from pin {a} to pin {b}"


@dataclass(frozen=True, slots=True)
class Joint:
    """What joins two blocks: its resistance, standard uncertainty, and the two spots."""

    ohm: float
    u_ohm: float
    spots: tuple[Spot | None, Spot | None]
    reading: PairReading


def joint(nodes: Nodes, one: Block, other: Block) -> Joint | None:
    """Find what joins two blocks; None where no value was read between them."""
    values = {
        (a, b): value
        for a in one.nodes
        for b in other.nodes
        if (value := nodes.value(a, b)) is not None
    }
    if not values:
        return None
    (near, far), reading = min(values.items(), key=lambda item: item[1].ohm)
    spots = (_spot(nodes, one, far), _spot(nodes, other, near))
    sides = (_side(nodes, one, far), _side(nodes, other, near))
    known = _exactly(nodes, one, other, sides)
    if known is None:
        known = _roughly(nodes, (one, other), reading)
    ohm, u_ohm = known
    return Joint(max(ohm, 0.0), u_ohm, spots, reading)


def _side(nodes: Nodes, block: Block, point: Node) -> tuple[Node, Node] | None:
    """Give the link of a block on which what comes from a point joins; None if not known."""
    heights = {
        link: ir.ohm + jr.ohm - whole.ohm
        for link in block.links
        if (ir := nodes.value(link[0], point)) is not None
        and (jr := nodes.value(link[1], point)) is not None
        and (whole := nodes.value(*link)) is not None
    }
    return min(heights, key=lambda link: heights[link]) if heights else None


def _spot(nodes: Nodes, block: Block, point: Node) -> Spot | None:
    link = _side(nodes, block, point)
    if link is None:
        return None
    first, second = link
    whole = nodes.value(first, second)
    here, there = nodes.value(first, point), nodes.value(second, point)
    if whole is None or here is None or there is None:
        return None
    if max(here.ohm, there.ohm) > LONGEST_WAY * whole.ohm:
        return None
    along, u = combination([(0.5, whole), (0.5, here), (-0.5, there)])
    fraction, u = along / whole.ohm, u / whole.ohm
    if u > COARSEST:
        return None
    return Spot(link, min(max(fraction, 0.0), 1.0), u)


def _exactly(
    nodes: Nodes,
    one: Block,
    other: Block,
    sides: tuple[tuple[Node, Node] | None, tuple[Node, Node] | None],
) -> tuple[float, float] | None:
    """Resistance of the joint itself and its u, where every reading for it is there."""
    left, right = sides
    terms: list[tuple[float, PairReading | None]]
    if left is not None and right is not None:
        (i, j), (k, m) = left, right
        cross = [(i, k), (j, m), (i, m), (j, k)]
        terms = [(0.25, nodes.value(*pair)) for pair in cross]
        terms += [(-0.5, nodes.value(i, j)), (-0.5, nodes.value(k, m))]
    elif left is not None or right is not None:
        link, block = (left, other) if left is not None else (right, one)
        if link is None or len(block.nodes) > 1:
            return None
        (i, j), (c,) = link, block.nodes
        terms = [(0.5, nodes.value(i, c)), (0.5, nodes.value(j, c)), (-0.5, nodes.value(i, j))]
    elif len(one.nodes) == len(other.nodes) == 1:
        terms = [(1.0, nodes.value(one.nodes[0], other.nodes[0]))]
    else:
        return None
    known = [(weight, value) for weight, value in terms if value is not None]
    return combination(known) if len(known) == len(terms) else None


def _roughly(
    nodes: Nodes, blocks: Sequence[Block], reading: PairReading
) -> tuple[float, float]:
    """Resistance of the joint and its u from one reading: the coils on the way are unknown."""
    span = math.fsum(_span(nodes, block) for block in blocks)
    least = max(reading.ohm - span, 0.0)
    return (reading.ohm + least) / 2, math.hypot(
        reading.u_ohm, (reading.ohm - least) / 2 / _SQRT3
    )


def _span(nodes: Nodes, block: Block) -> float:
    """Longest way within a block, in ohm, as far as it was read."""
    return max(
        (
            value.ohm
            for number, a in enumerate(block.nodes)
            for b in block.nodes[number + 1 :]
            if (value := nodes.value(a, b)) is not None
        ),
        default=0.0,
    )
