"""Points that conduct to each other as coils do, solved into the links that are there.

Points joined by a dead short are one node.  A set of nodes whose pairs have all been read is
turned into conductances (`coilmeter.compute.pinnet_matrix`), of which those are kept that
differ from none (`coilmeter.compute.pinnet_links`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any, Final, TypeAlias

import numpy as np
import numpy.typing as npt

from coilmeter.compute.pinnet_links import choose, sigmas
from coilmeter.compute.pinnet_matrix import conductances
from coilmeter.compute.pinnet_pairs import Pair, Pairs
from coilmeter.compute.pinnet_readings import PairReading
from coilmeter.compute.verdict import Floats
from coilmeter.values import CASE

Node: TypeAlias = tuple[str, ...]
"""Points that are one, in the order of the field."""


@dataclass(frozen=True, slots=True)
class Solved:
    """Links among nodes of which every pair has a value.

    Parameters
    ----------
    nodes
        The nodes.
    siemens, u_siemens
        Conductance of each link and its standard uncertainty, symmetric, siemens.
    kept
        Which links are there; symmetric.
    explains
        False where no links explain the readings.
    clear
        False where the readings are too uncertain to tell which links there are.
    unseen_above_ohm
        A link of more than this, beside those kept, may have been missed.

    """

    nodes: tuple[Node, ...]
    siemens: Floats
    u_siemens: Floats
    kept: npt.NDArray[np.bool_]
    explains: bool
    clear: bool
    unseen_above_ohm: float | None

    @property
    def links(self) -> list[tuple[int, int]]:
        """Places of the ends of each link kept."""
        return [pair for pair in combinations(range(len(self.nodes)), 2) if self.kept[pair]]

    @property
    def parts(self) -> list[tuple[Node, ...]]:
        """Nodes that links hold together."""
        return connected(self.nodes, [(self.nodes[i], self.nodes[j]) for i, j in self.links])

    @property
    def is_tree(self) -> bool:
        """Whether links hold all nodes together with none to spare."""
        return len(self.links) == len(self.nodes) - 1 and len(self.parts) == 1


class Nodes:
    """The points of a field, those that a dead short joins as one.

    Parameters
    ----------
    pairs
        All that was read.

    """

    def __init__(self, pairs: Pairs) -> None:
        self.pairs = pairs
        self._between: dict[tuple[Node, Node], Pair] = {}
        points = pairs.field.points
        joined = [pair.pins for pair in pairs.by_pins.values() if pair.shorted]
        self.all: tuple[Node, ...] = tuple(
            tuple(point for (point,) in part)
            for part in connected([(p,) for p in points], [((a,), (b,)) for a, b in joined])
        )

    def between(self, one: Node, other: Node) -> Pair:
        """Give what is known best between two nodes: a value, else the narrowest bound."""
        found = self._between.get((one, other))
        if found is None:
            found = self._between[one, other] = best(self.pairs.between(one, other))
        return found

    def value(self, one: Node, other: Node) -> PairReading | None:
        """Give the value read between two nodes; None where there is none."""
        return self.between(one, other).value

    def components(self) -> list[tuple[Node, ...]]:
        """Nodes that conduct to each other as coils do."""
        links = [
            (one, other)
            for one, other in combinations(self.all, 2)
            if any(pair.as_coil for pair in self.pairs.between(one, other))
        ]
        return connected(self.all, links)

    def unread(self, nodes: Sequence[Node]) -> list[Pair]:
        """Pairs of nodes that have no value."""
        return [
            pair
            for one, other in combinations(nodes, 2)
            if (pair := self.between(one, other)).value is None
        ]

    def solve(self, nodes: Sequence[Node]) -> Solved:
        """Solve nodes of which every pair has a value.

        Raises
        ------
        ValueError
            When no network of resistors has these resistances.

        """
        count = len(nodes)
        values = {
            place: value
            for place in combinations(range(count), 2)
            if (value := self.value(nodes[place[0]], nodes[place[1]])) is not None
        }
        found = conductances(
            _matrix(count, {place: max(value.ohm, _TINY) for place, value in values.items()}),
            _matrix(count, {place: value.own_ohm for place, value in values.items()}),
            shared_parts(count, values),
        )
        error = self.pairs.limits.error
        chosen = choose(found, error)
        sharp = all(value.u_ohm <= _COARSEST * value.ohm for value in values.values())
        least = sigmas(error, len(values))
        absent = ~chosen.kept
        most = np.maximum(chosen.siemens, 0.0) + least * chosen.u_siemens
        unseen = float(1 / most[absent].max()) if absent.any() else None
        return Solved(
            tuple(nodes),
            _symmetric(count, chosen.siemens),
            _symmetric(count, chosen.u_siemens),
            _symmetric(count, chosen.kept) > 0,
            chosen.explains,
            sharp and chosen.clear,
            unseen,
        )


_COARSEST: Final = 0.25
"""A value with a larger relative uncertainty is too coarse for what is true to first order."""

_TINY: Final = 1e-6
"""A value between two nodes that are not one is above zero, whatever the null made of it."""


def shared_parts(count: int, values: dict[tuple[int, int], PairReading]) -> list[Floats]:
    """Matrices of what readings share: the gain of each range, and each lead null."""
    gains = {value.gain_key for value in values.values()}
    nulls = {value.leads_key for value in values.values()}
    return [
        _matrix(
            count, {at: value.gain_ohm for at, value in values.items() if value.gain_key == key}
        )
        for key in sorted(gains)
    ] + [
        _matrix(
            count,
            {at: value.leads_ohm for at, value in values.items() if value.leads_key == key},
        )
        for key in sorted(nulls)
    ]


def best(pairs: Sequence[Pair]) -> Pair:
    """Of pairs between the same two sides, the one that says most: a value, then a bound."""
    return min(
        pairs,
        key=lambda pair: (
            pair.value is None,
            pair.value.u_ohm if pair.value is not None else 0.0,
            len(pair.possible),
        ),
    )


def connected(
    nodes: Sequence[Node], links: Iterable[tuple[Node, Node]]
) -> list[tuple[Node, ...]]:
    """Parts that links hold together, each and all in the order of the nodes."""
    parts = {node: {node} for node in nodes}
    for one, other in links:
        if parts[one] is not parts[other]:
            both = parts[one] | parts[other]
            for node in both:
                parts[node] = both
    found: list[tuple[Node, ...]] = []
    for node in nodes:
        part = tuple(other for other in nodes if other in parts[node])
        if part not in found:
            found.append(part)
    return found


def has_case(nodes: Iterable[Node]) -> bool:
    """Whether the case is among the points of nodes."""
    return any(CASE in node for node in nodes)


def _matrix(count: int, entries: dict[tuple[int, int], float]) -> Floats:
    matrix = np.zeros((count, count))
    for (i, j), entry in entries.items():
        matrix[i, j] = matrix[j, i] = entry
    return matrix


def _symmetric(count: int, upper: npt.NDArray[Any]) -> Floats:
    matrix = np.zeros((count, count))
    matrix[np.triu_indices(count, 1)] = upper
    return matrix + matrix.T
