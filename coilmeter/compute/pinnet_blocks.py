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
from coilmeter.compute.pinnet_solve import Node, Nodes, Solved, connected, has_case

ADD_SIGMAS: Final = 3.0
"""Sums of readings that should be equal and lie further apart than so many u are not."""

COARSE_ACROSS: Final = 0.25
"""What lies within is not told by readings whose own u is a larger fraction of it (own)."""

_PAIR: Final = 2
_TWO_COILS: Final = 4
_STAR: Final = 3


class Form(Enum):
    """How a block hangs together."""

    POINT = auto()
    TREE = auto()
    HIDDEN = auto()
    NETWORK = auto()
    OPEN = auto()
    UNCLEAR = auto()


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

    A block is `Form.UNCLEAR` where its readings are too uncertain to tell its links.

    """

    nodes: tuple[Node, ...]
    form: Form
    solved: Solved | None = None
    arms_ohm: tuple[float, ...] = ()
    unread: tuple[Pair, ...] = ()

    @property
    def links(self) -> list[tuple[Node, Node]]:
        """The two nodes of each link."""
        if len(self.nodes) == _PAIR and self.form is Form.TREE:
            return [(self.nodes[0], self.nodes[1])]
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
    halves = _by_scale(nodes, part)
    if halves is not None:
        if any(len(half) == 1 and not has_case(half) for half in halves):
            return [Block(tuple(part), Form.UNCLEAR)]
        return [block for half in halves for block in blocks_of(nodes, half)]
    solved = nodes.solve(part)
    if len(part) == _PAIR or (solved.is_tree and solved.clear):
        return [Block(tuple(part), Form.TREE, solved)]
    if not solved.clear or not solved.links:
        return [Block(tuple(part), Form.UNCLEAR)]
    parts = solved.parts if len(solved.parts) > 1 else _apart(nodes, solved)
    if len(parts) > 1:
        return [block for each in parts for block in blocks_of(nodes, each)]
    return [_tangle(nodes, solved)]


def _by_scale(
    nodes: Nodes, part: Sequence[Node]
) -> tuple[tuple[Node, ...], tuple[Node, ...]] | None:
    """Part nodes where the way across is read more coarsely than what is on one side of it.

    Such readings say nothing of the links within: 6 kohm to 20 ohm hides a coil of 2 ohm.
    None where all was read finely enough.
    """
    rest, ways = list(part[1:]), []
    reached = [part[0]]
    while rest:
        # The shortest way to a node that is not reached yet (Prim).
        known = [
            (value, a, b)
            for a in reached
            for b in rest
            if (value := nodes.value(a, b)) is not None
        ]
        way = min(known, key=lambda each: each[0].ohm)
        ways.append(way)
        reached.append(way[2])
        rest.remove(way[2])
    for cut in sorted(ways, key=lambda each: -each[0].ohm):
        others = [(a, b) for _, a, b in ways if (a, b) != cut[1:]]
        one, other = connected(part, others)
        inner = [
            value.ohm
            for side in (one, other)
            for a, b in combinations(side, 2)
            if (value := nodes.value(a, b)) is not None
        ]
        if inner and cut[0].own_ohm > COARSE_ACROSS * min(inner):
            return one, other
    return None


def _tangle(nodes: Nodes, solved: Solved) -> Block:
    """Give a block that holds together, yet in no tree, and cannot be taken apart."""
    arms = _arms(nodes, solved.nodes)
    if arms is None:
        return Block(solved.nodes, Form.NETWORK, solved)
    if any(arm <= ADD_SIGMAS * u for arm, u in arms):
        # A pin at the common point itself would be a tree: the readings do not tell which.
        return Block(solved.nodes, Form.UNCLEAR)
    return Block(solved.nodes, Form.HIDDEN, solved, tuple(arm for arm, _ in arms))


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
    ranked = sorted(_splits(part), key=lambda split: _sum(nodes, split))
    (one, other), *larger = ranked
    near, far = larger
    same = _differ(nodes, near, far) <= ADD_SIGMAS
    less = all(
        _sum(nodes, ranked[0]) < _sum(nodes, each)
        and _differ(nodes, ranked[0], each) > ADD_SIGMAS
        for each in larger
    )
    return (one, other) if same and less else None


def _arms(nodes: Nodes, part: Sequence[Node]) -> list[tuple[float, float]] | None:
    """Resistance from each node to a common point that is not brought out, with its u.

    None where there is no such point.  With r_ij = x_i + x_j throughout,
    x_i = (sum_j r_ij - S / (n - 1)) / (n - 2), where S is the sum over all pairs.
    """
    count = len(part)
    if count < _STAR:
        return None
    for four in combinations(part, _TWO_COILS):
        if any(_differ(nodes, x, y) > ADD_SIGMAS for x, y in combinations(_splits(four), 2)):
            return None
    reads = {
        (i, j): value
        for i, j in combinations(range(count), 2)
        if (value := nodes.value(part[i], part[j])) is not None
    }
    return [
        combination(
            [
                (((i in pair) - 1 / (count - 1)) / (count - 2), value)
                for pair, value in reads.items()
            ]
        )
        for i in range(count)
    ]


def _splits(four: Sequence[Node]) -> list[tuple[tuple[Node, Node], tuple[Node, Node]]]:
    """Give the three ways to part four nodes into two pairs."""
    a, b, c, d = four
    return [((a, b), (c, d)), ((a, c), (b, d)), ((a, d), (b, c))]


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
