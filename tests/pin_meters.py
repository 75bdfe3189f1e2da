"""Heads of pins and meters with errors, for the tests of pin maps and their benchmark."""

from __future__ import annotations

import bisect
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Final, Protocol

import numpy as np
from helpers import meter_table, settings

from coilmeter.compute.pinnet import map_of
from coilmeter.compute.pinnet_pairs import Pairs, put_together
from coilmeter.compute.pinnet_readings import (
    CONTACT_OHM,
    PairReading,
    PinLimits,
    pair_readings,
)
from coilmeter.compute.pinplan import Ask, Wishes, next_pair
from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.units import parse_reading
from coilmeter.values import CASE, EvidenceKind, ReadingRow
from coilmeter.values.pinmaps import PinField, PinMap, PinPair

TOP_OHM: Final = 40e6
EIGHT: Final = PinField((("1", "2"), ("3", "4"), ("5", "6"), ("7", "8")))
FOUR: Final = PinField((("1", "2"), ("3", "4")))
LIMITS: Final = PinLimits()
LEADS_OHM: Final = 0.2

Read = Callable[[str, str], PairReading]
"""Reads two points."""


class Conducts(Protocol):
    """Something with resistances between its points."""

    def resistance_between(self, start: str, end: str, /) -> float:
        """Resistance in ohm; infinite where nothing connects the two."""
        ...


@dataclass(frozen=True)
class Paired:
    """Independent coils and nothing else: what is not a pair does not conduct."""

    coils: Mapping[frozenset[str], float]

    def resistance_between(self, start: str, end: str) -> float:
        """Resistance in ohm; infinite where nothing connects the two."""
        return self.coils.get(frozenset((start, end)), math.inf)


def paired(pairs: Iterable[PinPair], ohm: float = 184.0) -> Paired:
    """Make coils of one resistance on pairs of pins."""
    return Paired({frozenset(pair): ohm for pair in pairs})


def head(*coils: str, case: bool = True) -> SimulatedHead:
    """Make a head of coils written as ``1-4 184``, at 20 degC."""
    made = {}
    for number, text in enumerate(coils):
        pins, ohm = text.split()
        a, b = pins.split("-")
        made[str(number + 1)] = (a, b, float(ohm))
    return SimulatedHead(made, case=case)


def exactly(
    bench: Conducts, a: str, b: str, *, own_ohm: float = 1e-6, times: int = 1
) -> PairReading:
    """Read two points with next to no error."""
    ohm = bench.resistance_between(a, b)
    if ohm > TOP_OHM:
        return PairReading(
            (a, b), EvidenceKind.ABOVE, TOP_OHM, text="OL past 40 Mohm", times=times
        )
    return PairReading(
        (a, b),
        EvidenceKind.VALUE,
        ohm,
        own_ohm=own_ohm,
        ohm_20c=ohm,
        u_20c_ohm=own_ohm,
        text=f"{ohm:.6g} ohm",
        times=times,
    )


def mapped(
    bench: Conducts,
    field: PinField,
    pairs: Iterable[PinPair] | None = None,
    *,
    own_ohm: float = 0.05,
    limits: PinLimits = LIMITS,
) -> PinMap:
    """Map a head from pairs, all of them where none are named."""
    wanted = combinations(field.points, 2) if pairs is None else pairs
    readings = [exactly(bench, a, b, own_ohm=own_ohm) for a, b in wanted]
    return map_of(put_together(readings, field, limits))


@dataclass
class Run:
    """A map that was made as the plan asked for it."""

    found: PinMap
    pairs: Pairs
    asked: list[Ask]

    @property
    def moves(self) -> int:
        """Clips moved in all."""
        return sum(ask.moves for ask in self.asked)


def followed(
    bench: Conducts,
    field: PinField,
    wishes: Wishes | None = None,
    read: Callable[[Ask, int], PairReading] | None = None,
) -> Run:
    """Read what the plan asks for until it asks no more.

    `read` answers in place of the bench; it is given what is asked, and how often it was.
    """
    wishes = wishes or Wishes()
    got: dict[PinPair, PairReading] = {}
    asked: list[Ask] = []
    while True:
        pairs = put_together(list(got.values()), field, LIMITS)
        found = map_of(pairs)
        clipped = asked[-1].pins if asked else ()
        ask = next_pair(pairs, found, wishes, clipped=clipped)
        if ask is None:
            return Run(found, pairs, asked)
        asked.append(ask)
        times = sum(each.pins == ask.pins for each in asked)
        got[ask.pins] = (
            exactly(bench, *ask.pins, own_ohm=0.05, times=times)
            if read is None
            else read(ask, times)
        )
        if len(asked) > 400:
            raise RuntimeError(f"no end: {asked[-5:]}")


class ErringMeter:
    """A meter as its data sheet states it, with errors drawn anew for each head.

    The gain of each range and the error of the null are those of the whole sitting; the part
    that does not grow and the contact of the clips are each reading's own.  All lie evenly
    within their limits.
    """

    def __init__(self, name: str, random: np.random.Generator) -> None:
        self.name = name
        self.table = meter_table(name)
        self.random = random
        self._ends = [entry.full_scale_ohm for entry in self.table.ranges]
        self.sit_down()

    def sit_down(self) -> None:
        """Begin another sitting: other gains, another null."""
        self._gain = [
            1 + self.random.uniform(-entry.fraction, entry.fraction)
            for entry in self.table.ranges
        ]
        floor = self.table.ranges[0].floor_ohm
        self._null = round(LEADS_OHM + self.random.uniform(-floor, floor), 1)

    @property
    def lead(self) -> str:
        """What the lead null reads."""
        return f"{max(self._null, 0.0):.1f} ohm"

    def shown(self, ohm: float) -> tuple[str, float]:
        """Text of the display with the leads in it, and the end of the range it is read on."""
        ohm += LEADS_OHM + self.random.uniform(-CONTACT_OHM, CONTACT_OHM)
        number = bisect.bisect_left(self._ends, ohm)
        if number == len(self._ends):
            return "OL", self._ends[-1]
        entry = self.table.ranges[number]
        read = ohm * self._gain[number] + self.random.uniform(-entry.floor_ohm, entry.floor_ohm)
        step = entry.resolution_ohm
        # A last digit too coarse for ohms is written in kohm or Mohm, as a display does.
        units = ((1.0, "ohm"), (1e3, "kohm"), (1e6, "Mohm"))
        unit, name = next((each for each in units if step / each[0] <= 1), units[-1])
        decimals = max(-math.floor(math.log10(step / unit) + 1e-9), 0)
        shown = max(round(read / step), 0) * step / unit
        return f"{shown:.{decimals}f} {name}", entry.full_scale_ohm

    def pairs(
        self, bench: Conducts, field: PinField, wanted: Sequence[PinPair] | None = None
    ) -> Pairs:
        """Read pairs, all of them where none are named, as rows of a file would be read."""
        rows = []
        for number, (a, b) in enumerate(wanted or [*combinations(field.points, 2)], 1):
            text, end_ohm = self.shown(bench.resistance_between(a, b))
            row = ReadingRow("sitting", number, "H", parse_reading(text), pins=(a, b))
            rows.append(replace(row, range_ohm=end_ohm))
        chosen = settings(meter=self.name, lead=self.lead, temperature="20 +/- 1")
        return put_together(pair_readings(rows, chosen, field), field, PinLimits.of(chosen))


def pairings(pins: Sequence[str]) -> list[list[PinPair]]:
    """Every way to pair pins off."""
    if not pins:
        return [[]]
    first, *rest = pins
    return [
        [(first, other), *further]
        for other in rest
        for further in pairings([pin for pin in rest if pin != other])
    ]


def coil_pins(found: PinMap) -> set[frozenset[str]]:
    """Pins of each coil of a map."""
    return {frozenset(link.pins) for link in found.coils}


def with_case(pin: str) -> PinPair:
    """Give a pin and the case."""
    return (pin, CASE)
