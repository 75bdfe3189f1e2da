"""Nodes that conduct, parted where a better explanation is known than one tangle.

A tree metric has four points whose three sums of opposite pairs are equal in the two larger
ones (the four-point condition); the smallest tells which points belong together.

Source: P. Buneman, A note on the metric properties of trees, J. Combinatorial Theory B 17
(1974) 48-50 (from memory, not verified), for the four-point condition.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import combinations
from typing import Final, TypeAlias

from coilmeter.compute.pinnet_readings import PairReading
from coilmeter.compute.pinnet_solve import Node, Nodes, Solved, connected, has_case

ADD_SIGMAS: Final = 3.0
"""Sums of readings that should be equal and lie further apart than so many u are not."""

COARSE_ACROSS: Final = 0.25
"""What lies within is not told by readings whose own u is a larger fraction of it (own)."""

TWO_COILS: Final = 4

Split: TypeAlias = tuple[tuple[Node, Node], tuple[Node, Node]]
"""Four nodes as two pairs."""


def by_scale(
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


def better_apart(nodes: Nodes, solved: Solved) -> list[tuple[Node, ...]]:
    """Split nodes that hold together, yet in no tree, where a better explanation is known.

    What leaks to the case is read without the case first; two coils that something joins
    along their way are told by the four-point condition.
    """
    part = solved.nodes
    if has_case(part):
        case = [node for node in part if has_case([node])]
        rest = [node for node in part if not has_case([node])]
        return [tuple(rest), tuple(case)]
    if len(part) != TWO_COILS:
        return [part]
    halves = _halves(nodes, part)
    return [part] if halves is None else list(halves)


def _halves(
    nodes: Nodes, part: Sequence[Node]
) -> tuple[tuple[Node, ...], tuple[Node, ...]] | None:
    """Two pairs of nodes that belong together, by the four-point condition; None if none."""
    ranked = sorted(splits(part), key=lambda split: _sum(nodes, split))
    (one, other), *larger = ranked
    near, far = larger
    same = differ(nodes, near, far) <= ADD_SIGMAS
    less = all(
        _sum(nodes, ranked[0]) < _sum(nodes, each)
        and differ(nodes, ranked[0], each) > ADD_SIGMAS
        for each in larger
    )
    return (one, other) if same and less else None


def splits(four: Sequence[Node]) -> list[Split]:
    """Give the three ways to part four nodes into two pairs."""
    a, b, c, d = four
    return [((a, b), (c, d)), ((a, c), (b, d)), ((a, d), (b, c))]


def _sum(nodes: Nodes, split: Split) -> float:
    return math.fsum(
        value.ohm for one, other in split if (value := nodes.value(one, other)) is not None
    )


def differ(nodes: Nodes, split: Split, others: Split) -> float:
    """Tell by how many standard uncertainties the sums of two splits differ."""
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
