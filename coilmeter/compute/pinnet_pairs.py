"""All that was read of each pair of points, put together: what may lie between the two."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import IntEnum
from itertools import combinations
from typing import Final

import numpy as np

from coilmeter.compute.pinnet_readings import PairReading, PinLimits
from coilmeter.compute.verdict import zones_of_value
from coilmeter.units import ohms
from coilmeter.values import EvidenceKind
from coilmeter.values.pinmaps import Contradiction, PinField, PinPair

AGREE_SIGMAS: Final = 3.0
"""Two readings of one pair that lie further apart than so many u of their own contradict."""

ZERO_SIGMAS: Final = 2.0
"""A value of no more than so many u is not told from zero: its two points are taken as one."""


class Zone(IntEnum):
    """What a resistance between two points may be, low to high."""

    SHORT = 0
    COIL = 1
    LEAK = 2
    DOUBT = 3
    APART = 4


@dataclass(frozen=True, slots=True)
class Pair:
    """Two points and what was read between them.

    Parameters
    ----------
    pins
        The points, in the order of the field.
    readings
        What was read, in its order.
    possible
        The zones that the readings leave.
    value
        The value, of several readings their mean; None where there are bounds only.
    above_ohm, below_ohm
        It is above the first, and below the second.

    """

    pins: PinPair
    readings: tuple[PairReading, ...] = ()
    possible: frozenset[Zone] = frozenset(Zone)
    value: PairReading | None = None
    above_ohm: float = 0.0
    below_ohm: float = math.inf

    @property
    def shorted(self) -> bool:
        """Whether the two are taken as one: what is between them is not told from zero."""
        return self.possible == {Zone.SHORT}

    @property
    def as_coil(self) -> bool:
        """Whether it conducts as a coil or a short does."""
        if self.value is None:
            return self.below_ohm < math.inf
        return min(self.possible) <= Zone.COIL and max(self.possible) <= Zone.LEAK

    @property
    def conducts(self) -> bool:
        """Whether it conducts for certain, and so more than an isolated path does."""
        return bool(self.readings) and max(self.possible) <= Zone.LEAK

    @property
    def no_coil(self) -> bool:
        """Whether there is no coil between the two, nor a short."""
        return min(self.possible) >= Zone.LEAK

    @property
    def settled(self) -> bool:
        """Whether it is known if the two are isolated, or how they conduct."""
        return len(self.possible) == 1 and Zone.DOUBT not in self.possible

    @property
    def times(self) -> int:
        """How often it was read in all."""
        return max((reading.times for reading in self.readings), default=0)


@dataclass(frozen=True, slots=True)
class Pairs:
    """Every pair of a field, read or not, and the readings of one pair that contradict."""

    field: PinField
    limits: PinLimits
    by_pins: Mapping[PinPair, Pair]
    contradictions: tuple[Contradiction, ...] = ()

    def of(self, first: str, second: str) -> Pair:
        """Give what is known of two points."""
        pins = self.field.pair(first, second)
        return self.by_pins.get(pins) or Pair(pins)

    def between(self, ones: Iterable[str], others: Iterable[str]) -> list[Pair]:
        """Give every pair with one point of each side, in the order of the field."""
        here, there = tuple(ones), tuple(others)
        return [self.of(one, other) for one in here for other in there if one != other]


def put_together(readings: Sequence[PairReading], field: PinField, limits: PinLimits) -> Pairs:
    """Put the readings of each pair together.

    Parameters
    ----------
    readings
        Readings, in the order in which they were taken.
    field
        The pins; every reading is of two points of it.
    limits
        Where one zone ends and the next begins.

    """
    grouped: dict[PinPair, list[PairReading]] = {}
    for reading in readings:
        grouped.setdefault(field.pair(*reading.pins), []).append(reading)
    contradictions = [
        found for pins, of_pair in grouped.items() if (found := _contradiction(pins, of_pair))
    ]
    merged = {pins: _merged(pins, of_pair, limits) for pins, of_pair in grouped.items()}
    values = [pair for pair in merged.values() if pair.value is not None]
    zones = _zones([pair.value for pair in values], limits)
    for pair, possible in zip(values, zones, strict=True):
        left = possible & pair.possible
        merged[pair.pins] = replace(pair, possible=left or possible)
    return Pairs(field, limits, merged, tuple(contradictions))


def _edges(limits: PinLimits) -> tuple[float, ...]:
    return (limits.short_ohm, limits.coil_ohm, limits.leaking_ohm, limits.isolated_ohm)


def _zones(values: Sequence[PairReading | None], limits: PinLimits) -> list[frozenset[Zone]]:
    """Zones that values leave: the most probable ones that reach the confidence."""
    known = [value for value in values if value is not None]
    if not known:
        return []
    zoned = zones_of_value(
        ohms(np.array([value.ohm for value in known])),
        ohms(np.array([value.u_ohm for value in known])),
        ohms(np.repeat(np.array(_edges(limits))[:, None], len(known), axis=1)),
        limits.confidence,
    )
    zero = frozenset({Zone.SHORT})
    return [
        zero
        if value.ohm <= min(ZERO_SIGMAS * value.u_ohm, limits.bridged_ohm)
        else frozenset(zone for zone in Zone if may[zone])
        for value, may in zip(known, zoned.possible.T.tolist(), strict=True)
    ]


def _merged(pins: PinPair, readings: Sequence[PairReading], limits: PinLimits) -> Pair:
    values = [each for each in readings if each.evidence is EvidenceKind.VALUE]
    above = max(
        (each.ohm for each in readings if each.evidence is EvidenceKind.ABOVE), default=0.0
    )
    below = min(
        (each.ohm for each in readings if each.evidence is EvidenceKind.BELOW),
        default=math.inf,
    )
    ends = (0.0, *_edges(limits), math.inf)
    possible = frozenset(zone for zone in Zone if ends[zone + 1] > above and ends[zone] < below)
    return Pair(
        pins,
        tuple(readings),
        possible or frozenset(Zone),
        _mean(values) if values else None,
        above,
        below,
    )


def _mean(values: Sequence[PairReading]) -> PairReading:
    """Mean of the values of one pair: what is shared stays, what is each one's own shrinks."""
    if len(values) == 1:
        return values[0]
    count = len(values)
    own = math.sqrt(math.fsum(value.own_ohm**2 for value in values)) / count
    return replace(
        values[-1],
        ohm=math.fsum(value.ohm for value in values) / count,
        own_ohm=own,
        gain_ohm=max(value.gain_ohm for value in values),
        leads_ohm=max(value.leads_ohm for value in values),
        ohm_20c=math.fsum(value.ohm_20c for value in values) / count,
        u_20c_ohm=max(value.u_20c_ohm for value in values),
    )


def _contradiction(pins: PinPair, readings: Sequence[PairReading]) -> Contradiction | None:
    """Two readings of one pair that cannot both be right; None where all agree."""
    for first, second in combinations(readings, 2):
        if _agree(first, second):
            continue
        why = (
            "the other way round: a semiconductor, corrosion or a thermal voltage is in the "
            "path, or a contact was bad"
            if first.pins == second.pins[::-1]
            else "a contact was bad, a joint is loose, or the clips were elsewhere"
        )
        return Contradiction((pins,), f"{first.told}, and {second.told}: {why}")
    return None


def _agree(first: PairReading, second: PairReading) -> bool:
    """Whether two readings of one pair can both be right."""
    kinds = {first.evidence, second.evidence}
    if kinds == {EvidenceKind.VALUE}:
        apart = abs(first.ohm - second.ohm)
        u = math.hypot(first.own_ohm, second.own_ohm)
        if first.gain_key != second.gain_key:
            u = math.hypot(u, first.gain_ohm, second.gain_ohm)
        if first.leads_key != second.leads_key:
            u = math.hypot(u, first.leads_ohm, second.leads_ohm)
        return apart <= AGREE_SIGMAS * u
    if len(kinds) == 1:
        return True
    lower, upper = sorted((first, second), key=lambda reading: _SIDES.index(reading.evidence))
    reach = AGREE_SIGMAS * (
        sum(each.u_ohm for each in (lower, upper) if each.evidence is EvidenceKind.VALUE)
    )
    return upper.ohm + reach >= lower.ohm


_SIDES: Final = (EvidenceKind.ABOVE, EvidenceKind.VALUE, EvidenceKind.BELOW)
"""Of two readings of different kinds, the one that must not lie above the other first."""
