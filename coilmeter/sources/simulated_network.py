"""Resistance between two points of a network of resistors."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TypeAlias

import numpy as np

Node: TypeAlias = str | tuple[str, float]
"""A pin's name, ``case``, or a point along a coil as (coil, fraction from its first pin)."""


def network_resistance(
    edges: Sequence[tuple[Node, Node, float]], start: Node, end: Node
) -> float:
    """Resistance between two nodes of any network of resistors, in ohm.

    Nodes joined by zero ohm are made one; of the rest, the part that can be reached from
    `start` gives one Laplacian of conductances, whose reduced form (with `end` grounded) is
    solved for one ampere fed into `start`.

    Parameters
    ----------
    edges
        Pairs of nodes with their resistance in ohm, zero or more; infinite ones connect
        nothing.
    start, end
        The two nodes; each may be absent from `edges`.

    Returns
    -------
    float
        In ohm; infinite where nothing connects the two.

    Source: D. J. Klein and M. Randic, Resistance distance, J. Math. Chem. 12 (1993) 81-95.

    """
    joined = _groups([(a, b) for a, b, ohm in edges if ohm == 0], [start, end])
    live = [
        (joined.get(a, a), joined.get(b, b), ohm)
        for a, b, ohm in edges
        if 0 < ohm < math.inf and joined.get(a, a) != joined.get(b, b)
    ]
    source, sink = joined[start], joined[end]
    if source == sink:
        return 0.0
    reach = _groups([(a, b) for a, b, _ in live], [source, sink])
    if reach[source] != reach[sink]:
        return math.inf
    nodes = [node for node, group in reach.items() if group == reach[source] and node != sink]
    index = {node: place for place, node in enumerate(nodes)}
    laplacian = np.zeros((len(nodes), len(nodes)))
    for a, b, ohm in live:
        rows = [index[node] for node in (a, b) if node in index]
        for row in rows:
            laplacian[row, row] += 1 / ohm
        if len(rows) == 2:  # noqa: PLR2004 - neither end is the grounded one
            laplacian[rows[0], rows[1]] -= 1 / ohm
            laplacian[rows[1], rows[0]] -= 1 / ohm
    current = np.zeros(len(nodes))
    current[index[source]] = 1.0
    return float(np.linalg.solve(laplacian, current)[index[source]])


def _groups(pairs: Iterable[tuple[Node, Node]], alone: Iterable[Node]) -> dict[Node, Node]:
    """Return each node's representative, where `pairs` are connected and `alone` also exist."""
    parent: dict[Node, Node] = {node: node for node in alone}

    def root(node: Node) -> Node:
        parent.setdefault(node, node)
        while parent[node] != node:
            node = parent[node]
        return node

    for a, b in pairs:
        parent[root(a)] = root(b)
    return {node: root(node) for node in parent}
