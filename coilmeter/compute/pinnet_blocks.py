"""A set of points that conduct, taken apart into blocks that readings can tell from each other.

A block is one point, a tree of links between points, a star whose common point is not
brought out, or a network that is nothing simpler.  What joins two blocks at a place that no
pin marks, such as a leak from the middle of a coil to the case, is not a link of either: it
is found afterwards (`coilmeter.compute.pinnet_places`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum, auto
from itertools import combinations
from typing import Final

from coilmeter.compute.pinnet_apart import (
    ADD_SIGMAS,
    TWO_COILS,
    better_apart,
    by_scale,
    combination,
    differ,
    splits,
)
from coilmeter.compute.pinnet_pairs import Pair
from coilmeter.compute.pinnet_solve import Node, Nodes, Solved, has_case
from coilmeter.values import CASE

_PAIR: Final = 2
_STAR: Final = 3


class Form(Enum):
    """How a block hangs together."""

    POINT = auto()
    TREE = auto()
    HIDDEN = auto()
    NETWORK = auto()
    OPEN = auto()
    UNCLEAR = auto()
    CONTRADICTED = auto()


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

    A block is `Form.UNCLEAR` where its readings are too uncertain to tell its links, and
    `Form.CONTRADICTED` where they cannot all be right, so that no links are told from them.

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
    halves = by_scale(nodes, part)
    if halves is None:
        return _solved(nodes, part)
    if any(len(half) == 1 and not has_case(half) for half in halves):
        return [Block(tuple(part), Form.UNCLEAR)]
    return [block for half in halves for block in blocks_of(nodes, half)]


def _solved(nodes: Nodes, part: Sequence[Node]) -> list[Block]:
    """Take a set of nodes apart by the links that are among them."""
    solved = nodes.solve(part)
    if len(part) == _PAIR or (solved.is_tree and solved.clear and not _leaks(solved)):
        return [Block(tuple(part), Form.TREE, solved)]
    if not (solved.clear and solved.links and solved.explains):
        return [Block(tuple(part), Form.UNCLEAR, None if solved.explains else solved)]
    parts = solved.parts if len(solved.parts) > 1 else better_apart(nodes, solved)
    if len(parts) > 1:
        return [block for each in parts for block in blocks_of(nodes, each)]
    return [_tangle(nodes, solved)]


def _leaks(solved: Solved) -> bool:
    """Whether the case hangs on one pin of a tree: that is a leak, and no winding."""
    ends = [point for pair in solved.links for point in pair]
    return any(
        node == (CASE,) and ends.count(place) == 1 for place, node in enumerate(solved.nodes)
    )


def _tangle(nodes: Nodes, solved: Solved) -> Block:
    """Give a block that holds together, yet in no tree, and cannot be taken apart."""
    arms = _arms(nodes, solved.nodes)
    if arms is None:
        return Block(solved.nodes, Form.NETWORK, solved)
    if any(arm <= ADD_SIGMAS * u for arm, u in arms):
        # A pin at the common point itself would be a tree: the readings do not tell which.
        return Block(solved.nodes, Form.UNCLEAR)
    return Block(solved.nodes, Form.HIDDEN, solved, tuple(arm for arm, _ in arms))


def _arms(nodes: Nodes, part: Sequence[Node]) -> list[tuple[float, float]] | None:
    """Resistance from each node to a common point that is not brought out, with its u.

    None where there is no such point.  With r_ij = x_i + x_j throughout,
    x_i = (sum_j r_ij - S / (n - 1)) / (n - 2), where S is the sum over all pairs.
    """
    count = len(part)
    if count < _STAR:
        return None
    for four in combinations(part, TWO_COILS):
        if any(differ(nodes, x, y) > ADD_SIGMAS for x, y in combinations(splits(four), 2)):
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


def neighbours(block: Block) -> dict[Node, list[Node]]:
    """Nodes that each node of a block has a link to."""
    near: dict[Node, list[Node]] = {node: [] for node in block.nodes}
    for one, other in block.links:
        near[one].append(other)
        near[other].append(one)
    return near
