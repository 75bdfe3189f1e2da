"""The coils of each head compared with their siblings, all heads in a few array passes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from coilmeter.compute.budget import Budget
from coilmeter.compute.heads import HeadItems
from coilmeter.compute.matching import Shared, deviations, match_zones
from coilmeter.compute.resolve import Item
from coilmeter.units import ohms
from coilmeter.values import MATCH_ZONES, Condition, EvidenceKind, Match, Role

COMPARED = {Condition.INTACT, Condition.UNDECIDED}
"""A coil that is known to be faulty is no measure for its siblings."""

UNLIKE = 3.0
"""Coils of unknown role whose resistances differ by more are taken for different coils."""

_OWN = ("floor", "rounding", "scatter")
_DEFAULT_LIMITS = (0.05, 0.15)


@dataclass(frozen=True, slots=True)
class Standing:
    """How one coil stands among its siblings; fields as in `CoilResult`."""

    match: Match = Match.NO_SIBLING
    deviation: float | None = None
    u_deviation: float | None = None
    siblings: int = 0


ALONE = Standing()


def compare(
    heads: Sequence[HeadItems],
    conditions: Sequence[Condition],
    may_be_intact: Sequence[bool],
    found: Budget,
    confidence: float,
) -> list[Standing]:
    """Compare every coil with those of the same head and role.

    Parameters
    ----------
    heads
        The heads.
    conditions, may_be_intact, found
        Condition of all coils of all heads, whether their evidence leaves that they are
        intact, and their budget, flat, in their order.
    confidence
        Probability that decides.

    """
    standings = [ALONE] * len(conditions)
    groups: dict[int, list[tuple[HeadItems, list[int], int]]] = {}
    values = found.resistance_20c.m_as("ohm").tolist()
    start = 0
    for head in heads:
        of_head = head.coils
        by_role: dict[Role, list[int]] = {}
        for index, item in enumerate(of_head):
            place = start + index
            is_value = item.evidence is EvidenceKind.VALUE and values[place] > 0
            if is_value and conditions[place] in COMPARED and may_be_intact[place]:
                by_role.setdefault(item.role, []).append(index)
        for members in by_role.values():
            # Sums in the order of the names, so that the order of the rows changes no digit.
            members.sort(key=[item.name for item in of_head].__getitem__)
            spread = [values[start + index] for index in members]
            of_unknown = of_head[members[0]].role is Role.UNKNOWN
            if of_unknown and max(spread) > UNLIKE * min(spread):
                continue
            if len(members) > 1:
                groups.setdefault(len(members), []).append((head, members, start))
        start += len(head.coils)
    for same_size in groups.values():
        _compare_group(standings, same_size, found, confidence)
    return standings


def _compare_group(
    standings: list[Standing],
    groups: Sequence[tuple[HeadItems, list[int], int]],
    found: Budget,
    confidence: float,
) -> None:
    """Compare groups of one size at once: arrays of shape (groups, n)."""
    flat = np.array([[start + index for index in members] for _, members, start in groups])
    items = [[head.coils[index] for index in members] for head, members, _ in groups]
    parts = {name: part.m_as("ohm")[flat] for name, part in found.parts.items()}
    own = np.sqrt(sum(parts[name] ** 2 for name in _OWN))
    shared = [
        Shared(ohms(parts["gain"]), _numbered(items, _gain_key)),
        Shared(ohms(parts["leads"]), _numbered(items, _lead_key)),
        Shared(ohms(parts["temperature"]), _numbered(items, _sitting_key)),
    ]
    against = deviations(found.resistance_20c[flat], ohms(own), shared)
    limits = np.array([_limits(head) for head, _, _ in groups])
    zones = match_zones(against, limits[:, :1], limits[:, 1:], confidence)
    columns = (flat, zones, against.deviation, against.u)
    for index, zone, deviation, u in zip(*(c.ravel().tolist() for c in columns), strict=True):
        match = MATCH_ZONES[zone] if zone >= 0 else Match.UNDECIDED
        standings[index] = Standing(match, deviation, u, flat.shape[1])


def _limits(head: HeadItems) -> tuple[float, float]:
    if head.kind is None:
        return _DEFAULT_LIMITS
    return head.kind.noticeable_above, head.kind.mismatched_above


def _gain_key(item: Item) -> tuple[object, ...]:
    return (item.meter.meter.name, item.range_number)


def _lead_key(item: Item) -> tuple[object, ...]:
    return (item.meter.meter.name, item.leads.text)


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
