"""What lies between the blocks of a head: isolated, leaking, bridged, or not known."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np

from coilmeter.compute.pinnet_blocks import Block
from coilmeter.compute.pinnet_links import choose
from coilmeter.compute.pinnet_matrix import conductances
from coilmeter.compute.pinnet_pairs import Pair
from coilmeter.compute.pinnet_places import Joint, joint
from coilmeter.compute.pinnet_readings import PinLimits
from coilmeter.compute.pinnet_solve import Nodes, connected, shared_parts
from coilmeter.compute.verdict import interval_probability
from coilmeter.values import Isolation
from coilmeter.values.pinmaps import PinPath

_AROUND = 3
"""So many blocks at least make a way around."""


def paths_between(nodes: Nodes, blocks: Sequence[Block]) -> list[PinPath]:
    """Judge what lies between each two blocks, in their order."""
    joints: dict[tuple[int, int], Joint] = {}
    paths: dict[tuple[int, int], PinPath] = {}
    for between in combinations(range(len(blocks)), 2):
        one, other = (blocks[place] for place in between)
        across = [nodes.between(a, b) for a in one.nodes for b in other.nodes]
        if any(pair.conducts for pair in across):
            found = joint(nodes, one, other)
            if found is not None:
                joints[between] = found
                paths[between] = _conducting(between, found, nodes.pairs.limits)
                continue
        paths[between] = _not_conducting(between, across)
    for between, through in _ways_around(nodes, blocks, joints).items():
        paths[between] = replace(paths[between], through=through)
    return list(paths.values())


def _conducting(between: tuple[int, int], found: Joint, limits: PinLimits) -> PinPath:
    edges = [0.0, limits.bridged_ohm, limits.leaking_ohm, math.inf]
    u = found.u_ohm or found.reading.u_ohm
    below = [
        float(interval_probability(-math.inf, (edge - found.ohm) / u)) for edge in edges[1:3]
    ]
    if below[0] >= limits.confidence:
        verdict = Isolation.BRIDGED
    elif below[1] >= limits.confidence:
        verdict = Isolation.LEAKING
    else:
        verdict = Isolation.UNDECIDED
    first, second = found.spots
    return PinPath(
        between,
        verdict,
        found.reading.pins,
        found.reading.text,
        found.ohm,
        u,
        places=(
            "" if first is None else first.told,
            "" if second is None else second.told,
        ),
    )


def _not_conducting(between: tuple[int, int], across: Sequence[Pair]) -> PinPath:
    read = [pair for pair in across if pair.readings]
    if not read:
        return PinPath(between, Isolation.MISSING)
    best = min(read, key=lambda pair: (not pair.settled, len(pair.possible), -pair.above_ohm))
    reading = max(best.readings, key=lambda each: each.ohm)
    value = best.value
    return PinPath(
        between,
        Isolation.ISOLATED if best.settled else Isolation.UNDECIDED,
        reading.pins,
        reading.text,
        None if value is None else value.ohm,
        None if value is None else value.u_ohm,
        best.above_ohm if value is None else None,
    )


def _ways_around(
    nodes: Nodes, blocks: Sequence[Block], joints: dict[tuple[int, int], Joint]
) -> dict[tuple[int, int], tuple[str, ...]]:
    """Joints that are no more than the way over other blocks, such as over the case."""
    everything = [(str(place),) for place in range(len(blocks))]
    links = [((str(i),), (str(j),)) for i, j in joints]
    around: dict[tuple[int, int], tuple[str, ...]] = {}
    for part in connected(everything, links):
        places = [int(name) for (name,) in part]
        count = len(places)
        known = {
            (a, b): joints.get((places[a], places[b])) for a, b in combinations(range(count), 2)
        }
        if count < _AROUND or not all(known.values()):
            continue
        found = {at: each for at, each in known.items() if each is not None}
        kept = _kept(nodes, count, found)
        for (a, b), is_kept in kept.items():
            if is_kept:
                continue
            middles = [
                c
                for c in range(count)
                if c not in {a, b} and kept[_sorted(a, c)] and kept[_sorted(b, c)]
            ]
            names = tuple(blocks[places[c]].nodes[0][0] for c in middles)
            around[places[a], places[b]] = names or ("others",)
    return around


def _kept(
    nodes: Nodes, count: int, found: dict[tuple[int, int], Joint]
) -> dict[tuple[int, int], bool]:
    """Tell for each joint whether it differs from none beside the others."""
    ohm, own = np.zeros((count, count)), np.zeros((count, count))
    for (a, b), each in found.items():
        ohm[a, b] = ohm[b, a] = max(each.ohm, 1e-6)
        shared = math.hypot(each.reading.gain_ohm, each.reading.leads_ohm)
        rest = math.sqrt(max(each.u_ohm**2 - shared**2, each.reading.own_ohm**2))
        own[a, b] = own[b, a] = rest
    try:
        recovered = conductances(
            ohm, own, shared_parts(count, {at: each.reading for at, each in found.items()})
        )
    except ValueError:
        return dict.fromkeys(found, True)
    kept = choose(recovered, nodes.pairs.limits.error).kept
    return dict(zip(combinations(range(count), 2), map(bool, kept), strict=True))


def _sorted(a: int, b: int) -> tuple[int, int]:
    return (a, b) if a < b else (b, a)
