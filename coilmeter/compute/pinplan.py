"""Which two pins to clip next, so that few readings and few clip moves make the map certain.

In this order: what contradicts is read again; pins without partner are paired, the likeliest
pair first; then whatever is still open within groups and between them, where the order is
that of the fewest clip moves; pins that found no partner are read a second time; and last the
other end of a coil that leaks, where that tells the place of the leak.

Asking one pin for its partner until it is found takes n (n + 1) / 2 readings on average for n
coils of which nothing is known, and no strategy takes less (checked by dynamic programming
for n = 1, 2, 3).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations
from typing import Final

import numpy as np

from coilmeter.compute.pinnet_pairs import Pair, Pairs
from coilmeter.compute.pinnet_places import LONGEST_WAY
from coilmeter.compute.pinplan_kind import Expected, against, wanted
from coilmeter.compute.pinplan_prior import Prior, partners, ranked, weights
from coilmeter.compute.verdict import Floats
from coilmeter.values import CASE, Isolation
from coilmeter.values.pinmaps import Gap, Missing, PinGroup, PinMap, PinPair, PinPath, Shape

TWICE: Final = 2
"""So often a pair is read at most, and a pin without partner against every other group."""


class Reason(StrEnum):
    """Why a pair is asked for."""

    AGAIN = "it contradicts others: again"
    KIND = "as the kind says"
    PARTNER = "looking for a partner"
    INNER = "within a group"
    APART = "isolation"
    CONFIRM = "no partner found: once more"
    PLACE = "to place the leak"


@dataclass(frozen=True, slots=True)
class Ask:
    """A pair to read next.

    Parameters
    ----------
    pins
        The two points.
    reason
        Why.
    moves
        How many clips have to be moved for it.

    """

    pins: PinPair
    reason: Reason
    moves: int


@dataclass(frozen=True, slots=True)
class Wishes:
    """What a person asks of the order of readings.

    Parameters
    ----------
    prior
        What is expected before anything is read.
    weight
        Weight of each pair of pins, in place of those of the prior; None for those.
    isolation
        Whether paths between groups, and to the case, are read.
    reach_ohm
        End of the meter's highest range: an OL past it says the most that can be said.
    kind
        What the head is said to be, to be tested; None where it is not known.

    """

    prior: Prior = Prior.NEIGHBOURS
    weight: Floats | None = None
    isolation: bool = True
    reach_ohm: float = 4e7
    kind: Expected | None = None


def next_pair(
    pairs: Pairs,
    found: PinMap,
    wishes: Wishes,
    *,
    clipped: Sequence[str] = (),
    skipped: Collection[PinPair] = (),
) -> Ask | None:
    """Choose the pair to read next; None when nothing more would help.

    Parameters
    ----------
    pairs, found
        What was read, and the map it makes.
    wishes
        What a person asks for.
    clipped
        Points that the clips sit on; none where they are in the air.
    skipped
        Pairs that are not to be asked for.

    """
    left = _Left(pairs, wishes, clipped, frozenset(skipped))
    for reason, candidates in _stages(left, found):
        ask = left.nearest(candidates, reason)
        if ask is not None:
            return ask
    return None


def _stages(left: _Left, found: PinMap) -> Iterator[tuple[Reason, Iterable[PinPair]]]:
    again = [pins for each in found.contradictions for pins in each.pairs]
    yield Reason.AGAIN, (pins for pins in again if left.pairs.of(*pins).times < TWICE)
    kind = left.wishes.kind
    if kind is not None:
        asked = wanted(kind, left.pairs)
        if asked is not None:
            yield Reason.KIND, asked
            # Where a coil is silent, its pins may belong to others.
            if not against(kind, left.pairs):
                return
    yield Reason.PARTNER, _likeliest(left, found)
    yield (
        Reason.INNER,
        (
            pins
            for gap in found.gaps
            if gap.what in {Missing.INNER, Missing.VALUE}
            for pins in gap.pairs
        ),
    )
    yield (
        Reason.APART,
        (pins for gap in found.gaps if left.asks(gap, found) for pins in gap.pairs),
    )
    yield Reason.CONFIRM, _once_more(left, found)
    yield Reason.PLACE, (pins for path in found.paths for pins in _other_end(found, path))


@dataclass(frozen=True, slots=True)
class _Left:
    """What may still be asked for, and what it costs."""

    pairs: Pairs
    wishes: Wishes
    clipped: Sequence[str]
    skipped: frozenset[PinPair]

    def may(self, pair: Pair) -> bool:
        """Whether reading a pair, perhaps a second time, can say more than is known."""
        if pair.pins in self.skipped:
            return False
        if not pair.readings:
            return True
        enough = min(self.pairs.limits.isolated_ohm, self.wishes.reach_ohm)
        only_bound = pair.value is None and pair.above_ohm < enough
        return pair.times < TWICE and only_bound

    def moves(self, pins: PinPair) -> int:
        """Count the clips that have to be moved."""
        return len(set(pins) - set(self.clipped))

    def nearest(self, candidates: Iterable[PinPair], reason: Reason) -> Ask | None:
        """Of pairs, the first of those that move the fewest clips."""
        again = reason in {Reason.AGAIN, Reason.CONFIRM}
        able = [
            pins
            for pins in candidates
            if (pins not in self.skipped if again else self.may(self.pairs.of(*pins)))
        ]
        if not able:
            return None
        best = min(able, key=self.moves)
        return Ask(best, reason, self.moves(best))

    def asks(self, gap: Gap, found: PinMap) -> bool:
        """Whether a gap between groups is to be closed."""
        if gap.what is Missing.APART:
            return self.wishes.isolation
        if gap.what not in {Missing.ATTACHED, Missing.PARTNER}:
            return False
        with_case = any(CASE in pins for pins in gap.pairs)
        alone = any(point in found.floating for pins in gap.pairs for point in pins)
        return self.wishes.isolation or (alone and not with_case)


def _likeliest(left: _Left, found: PinMap) -> list[PinPair]:
    """Pairs of pins without partner that are the likeliest to belong together."""
    pins = left.pairs.field.pins
    alone = [place for place, pin in enumerate(pins) if pin in found.floating]
    able = [
        (i, j)
        for i, j in combinations(range(len(alone)), 2)
        if not (pair := left.pairs.of(pins[alone[i]], pins[alone[j]])).no_coil
        and left.may(pair)
    ]
    if not able:
        return []
    given = left.wishes.weight
    weight = weights(left.pairs.field, left.wishes.prior) if given is None else given.copy()
    weight = weight[np.ix_(alone, alone)]
    for i, j in combinations(range(len(alone)), 2):
        if left.pairs.of(pins[alone[i]], pins[alone[j]]).no_coil:
            weight[i, j] = weight[j, i] = 0.0
    chances = ranked(partners(weight), able)
    most = max(chance for chance, _ in chances)
    return [
        left.pairs.field.pair(pins[alone[i]], pins[alone[j]])
        for chance, (i, j) in chances
        if chance == most
    ]


def _once_more(left: _Left, found: PinMap) -> list[PinPair]:
    """Pairs that read pins without partner a second time against every other group.

    A clip on a wrong pin makes two pins of one coil look alone: the second reading finds it.
    """
    asked: list[PinPair] = []
    for one, other in combinations(found.groups, 2):
        shapes = {one.shape, other.shape}
        if Shape.ALONE not in shapes or Shape.CASE in shapes:
            continue
        across = left.pairs.between(one.pins, other.pins)
        if sum(pair.times for pair in across) < TWICE:
            fresh = [pair for pair in across if not pair.readings] or across
            asked += [pair.pins for pair in fresh]
    return asked


def _other_end(found: PinMap, path: PinPath) -> Iterator[PinPair]:
    """Pairs that tell where along a coil something joins it."""
    if path.verdict is not Isolation.LEAKING or path.through or path.pins is None:
        return
    sides = [found.groups[place] for place in path.between]
    for group, other, spot in zip(sides, sides[::-1], path.places, strict=True):
        far = [point for point in path.pins if point in other.pins]
        if spot or not far:
            continue
        for link in _within_reach(group, path.ohm or 0.0):
            for end in link:
                yield found.field.pair(end, far[0])


def _within_reach(group: PinGroup, ohm: float) -> Iterator[PinPair]:
    for link in group.links:
        if link.ohm is not None and ohm < LONGEST_WAY * link.ohm:
            yield link.pins
