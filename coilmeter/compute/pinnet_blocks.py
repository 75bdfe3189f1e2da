"""A set of points that conduct, taken apart into blocks that readings can tell from each other.

A block is one point, a tree of links between points, a star whose common point is not
brought out, or a network that is nothing simpler.  What joins two blocks at a place that no
pin marks, such as a leak from the middle of a coil to the case, is not a link of either: it
is found afterwards (`coilmeter.compute.pinnet_places`).

A tree metric has four points whose three sums of opposite pairs are equal in the two larger
ones (the four-point condition); the smallest tells which points belong together.

Source: P. Buneman, A note on the metric properties of trees, J. Combinatorial Theory B 17
(1974) 48-50 (from memory, not verified), for the four-point condition.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum, auto
from itertools import combinations
from typing import Final

from coilmeter.compute.pinnet_pairs import Pair
from coilmeter.compute.pinnet_readings import PairReading
from coilmeter.compute.pinnet_solve import Node, Nodes, Solved, has_case

ADD_SIGMAS: Final = 3.0
"""Sums of readings that should be equal and lie further apart than so many u are not."""

_TWO_COILS: Final = 4
_STAR: Final = 3


class Form(Enum):
    """How a block hangs together."""

    POINT = auto()
    TREE = auto()
    HIDDEN = auto()
    NETWORK = auto()
    OPEN = auto()


@dataclass(frozen=True, slots=True)
class Block:
    """Points that links hold together.

    Parameters
    ----------
    nodes
        Its points.
    form
        How it hangs together.
    solved
        Its links; None for one point, and where pairs are missing.
    arms_ohm
        Of a star whose common point is not brought out: from each node to that point.
    unread
        Pairs that are missing.

    """

    nodes: tuple[Node, ...]
    form: Form
    solved: Solved | None = None
    arms_ohm: tuple[float, ...] = ()
    unread: tuple[Pair, ...] = ()

    @property
    def links(self) -> list[tuple[Node, Node]]:
        """The two nodes of each link."""
        if self.solved is None:
            return []
        return [(self.nodes[i], self.nodes[j]) for i, j in self.solved.links]


def blocks_of(nodes: Nodes, part: Sequence[Node]) -> list[Block]:
    """Take a set of nodes that conduct apart.

    Parameters
    ----------
    nodes
        All that was read.
    part
        The nodes.

    Raises
    ------
    ValueError
        When no network of resistors has these resistances.

    """
    if len(part) == 1:
        return [Block(tuple(part), Form.POINT)]
    unread = nodes.unread(part)
    if unread:
        return [Block(tuple(part), Form.OPEN, unread=tuple(unread))]
    solved = nodes.solve(part)
    if solved.is_tree:
        return [Block(tuple(part), Form.TREE, solved)]
    parts = solved.parts
    if len(parts) == 1:
        parts = _apart(nodes, solved)
    if len(parts) > 1:
        return [block for each in parts for block in blocks_of(nodes, each)]
    arms = _arms(nodes, part)
    if arms is not None:
        return [Block(tuple(part), Form.HIDDEN, solved, arms)]
    return [Block(tuple(part), Form.NETWORK, solved)]


def _apart(nodes: Nodes, solved: Solved) -> list[tuple[Node, ...]]:
    """Split nodes that hold together, yet in no tree, where a better explanation is known.

    What leaks to the case is read without the case first; two coils that something joins
    along their way are told by the four-point condition.
    """
    part = solved.nodes
    if has_case(part):
        case = [node for node in part if has_case([node])]
        rest = [node for node in part if not has_case([node])]
        return [tuple(rest), tuple(case)]
    if len(part) != _TWO_COILS:
        return [part]
    halves = _halves(nodes, part)
    return [part] if halves is None else list(halves)


def _halves(
    nodes: Nodes, part: Sequence[Node]
) -> tuple[tuple[Node, ...], tuple[Node, ...]] | None:
    """Two pairs of nodes that belong together, by the four-point condition; None if none."""
    a, b, c, d = part
    splits = (((a, b), (c, d)), ((a, c), (b, d)), ((a, d), (b, c)))
    ranked = sorted(splits, key=lambda split: _sum(nodes, split))
    (one, other), *larger = ranked
    near, far = larger
    same = _differ(nodes, near, far) <= ADD_SIGMAS
    less = all(
        _sum(nodes, ranked[0]) < _sum(nodes, each)
        and _differ(nodes, ranked[0], each) > ADD_SIGMAS
        for each in larger
    )
    return (one, other) if same and less else None


def _arms(nodes: Nodes, part: Sequence[Node]) -> tuple[float, ...] | None:
    """Resistance from each node to a common point that is not brought out; None if none.

    With r_ij = x_i + x_j throughout, x_i = (sum_j r_ij - S / (n - 1)) / (n - 2), where S is
    the sum over all pairs.
    """
    count = len(part)
    if count < _STAR:
        return None
    reads = {
        (i, j): value.ohm
        for i, j in combinations(range(count), 2)
        if (value := nodes.value(part[i], part[j])) is not None
    }
    whole = math.fsum(reads.values()) / (count - 1)
    arms = tuple(
        (math.fsum(ohm for pair, ohm in reads.items() if i in pair) - whole) / (count - 2)
        for i in range(count)
    )
    if min(arms) <= 0:
        return None
    for four in combinations(part, _TWO_COILS):
        a, b, c, d = four
        splits = (((a, b), (c, d)), ((a, c), (b, d)), ((a, d), (b, c)))
        if any(_differ(nodes, x, y) > ADD_SIGMAS for x, y in combinations(splits, 2)):
            return None
    return arms


def _sum(nodes: Nodes, split: Sequence[Sequence[Node]]) -> float:
    return math.fsum(
        value.ohm for one, other in split if (value := nodes.value(one, other)) is not None
    )


def _differ(
    nodes: Nodes, split: Sequence[Sequence[Node]], others: Sequence[Sequence[Node]]
) -> float:
    """By how many standard uncertainties the sums of two splits differ."""
    terms = [(1.0, nodes.value(one, other)) for one, other in split]
    terms += [(-1.0, nodes.value(one, other)) for one, other in others]
    value, u = combination([(sign, each) for sign, each in terms if each is not None])
    return abs(value) / u if u else math.inf


def combination(terms: Sequence[tuple[float, PairReading]]) -> tuple[float, float]:
    """Weighted sum of readings and its standard uncertainty, in ohm.

    What is each reading's own adds in quadrature; what readings share adds with its sign
    (GUM 5.2.2).
    """
    value = math.fsum(weight * each.ohm for weight, each in terms)
    variance = math.fsum((weight * each.own_ohm) ** 2 for weight, each in terms)
    gains: dict[object, float] = {}
    nulls: dict[object, float] = {}
    for weight, each in terms:
        gains[each.gain_key] = gains.get(each.gain_key, 0.0) + weight * each.gain_ohm
        nulls[each.leads_key] = nulls.get(each.leads_key, 0.0) + weight * each.leads_ohm
    return value, math.sqrt(variance + _squares(gains) + _squares(nulls))


def _squares(shares: Mapping[object, float]) -> float:
    return math.fsum(share**2 for share in shares.values())


def neighbours(block: Block) -> dict[Node, list[Node]]:
    """Nodes that each node of a block has a link to."""
    near: dict[Node, list[Node]] = {node: [] for node in block.nodes}
    for one, other in block.links:
        near[one].append(other)
        near[other].append(one)
    return near
