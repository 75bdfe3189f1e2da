"""The coils of each head compared with their siblings, all heads in a few array passes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from coilmeter.compute.budget import Budget
from coilmeter.compute.matching import Shared, deviations, match_zones
from coilmeter.compute.resolve import HeadItems, Item
from coilmeter.units import ohms
from coilmeter.values import MATCH_ZONES, CoilResult, Condition, EvidenceKind, Match

COMPARED = {Condition.INTACT, Condition.UNDECIDED}
"""A coil that is known to be faulty is no measure for its siblings."""

_OWN = ("floor", "rounding", "scatter")
_DEFAULT_LIMITS = (0.05, 0.15)


def compare(
    heads: Sequence[HeadItems],
    results: Sequence[list[CoilResult]],
    found: Budget,
    confidence: float,
) -> list[list[CoilResult]]:
    """Give every coil its match among the coils of the same head and role.

    Parameters
    ----------
    heads, results
        Heads and the verdicts on their coils, in the same order.
    found
        Budget of all coils of all heads, flat, in that order.
    confidence
        Probability that decides.

    """
    compared = [list(of_head) for of_head in results]
    groups: dict[int, list[tuple[int, list[int], int]]] = {}
    offset = 0
    for number, (head, of_head) in enumerate(zip(heads, results, strict=True)):
        by_role: dict[str, list[int]] = {}
        for index, result in enumerate(of_head):
            if result.evidence is EvidenceKind.VALUE and result.verdict in COMPARED:
                by_role.setdefault(result.role, []).append(index)
        for members in by_role.values():
            if len(members) > 1:
                groups.setdefault(len(members), []).append((number, members, offset))
        offset += len(head.coils)
    for same_size in groups.values():
        _compare_group(heads, compared, same_size, found, confidence)
    return compared


def _compare_group(
    heads: Sequence[HeadItems],
    compared: list[list[CoilResult]],
    groups: Sequence[tuple[int, list[int], int]],
    found: Budget,
    confidence: float,
) -> None:
    """Compare groups of one size at once: arrays of shape (groups, n)."""
    flat = np.array([[start + index for index in members] for _, members, start in groups])
    items = [[heads[number].coils[index] for index in members] for number, members, _ in groups]
    parts = {name: part.m_as("ohm")[flat] for name, part in found.parts.items()}
    own = np.sqrt(sum(parts[name] ** 2 for name in _OWN))
    shared = [
        Shared(ohms(parts["gain"]), _numbered(items, _gain_key)),
        Shared(ohms(parts["leads"]), _numbered(items, _lead_key)),
        Shared(ohms(parts["temperature"]), _numbered(items, _sitting_key)),
    ]
    deviation = deviations(found.resistance_20c[flat], ohms(own), shared)
    limits = np.array([_limits(heads[number]) for number, _, _ in groups])
    zones = match_zones(deviation, limits[:, :1], limits[:, 1:], confidence)
    for row, (number, members, _) in enumerate(groups):
        for column, index in enumerate(members):
            zone = int(zones[row, column])
            compared[number][index] = replace(
                compared[number][index],
                match=MATCH_ZONES[zone] if zone >= 0 else Match.UNDECIDED,
                deviation=float(deviation.deviation[row, column]),
                u_deviation=float(deviation.u[row, column]),
                siblings=len(members),
            )


def _limits(head: HeadItems) -> tuple[float, float]:
    if head.kind is None:
        return _DEFAULT_LIMITS
    return head.kind.noticeable_above, head.kind.mismatched_above


def _gain_key(item: Item) -> tuple[object, ...]:
    return (item.meter.meter.name, item.range_number)


def _lead_key(item: Item) -> tuple[object, ...]:
    return (item.leads.text,)


def _sitting_key(item: Item) -> tuple[object, ...]:
    day = item.row.time[:10]
    return (item.warmth.degc, item.warmth.u_k, day)


def _numbered(
    items: Sequence[Sequence[Item]], key: Callable[[Item], tuple[object, ...]]
) -> npt.NDArray[np.int_]:
    """Give the coils of each group numbers that are equal where their keys are."""
    numbers = []
    for group in items:
        seen: dict[tuple[object, ...], int] = {}
        numbers.append([seen.setdefault(key(item), len(seen)) for item in group])
    return np.array(numbers)
