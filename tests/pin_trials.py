"""Heads drawn by chance and read with a meter's own errors, for rates of false and missed.

Coils lie between 100 and 500 ohm, an erase coil between 1.5 and 12 ohm, leaks between 1 ohm
and 800 kohm, all evenly in the logarithm (invented).
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np
from pin_meters import EIGHT, FOUR, ErringMeter, coil_pins, head

from coilmeter.compute.pinnet import map_of
from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.sources.simulated_network import Node
from coilmeter.values import CASE
from coilmeter.values.pinmaps import PinField, PinMap

STAR: Final = PinField((("1", "2", "3", "4", "R"),))
THREE: Final = PinField((("1", "2", "3"),))
LARGEST_LEAK_OHM: Final = 800e3


class Said(StrEnum):
    """What a map says of a head."""

    SOUND = "sound"
    FAULTY = "faulty"
    OPEN = "open"


@dataclass(frozen=True)
class Drawn:
    """A head drawn by chance, sound, with its field."""

    bench: SimulatedHead
    field: PinField
    sort: int


class Trials:
    """Draws heads and maps them.

    Parameters
    ----------
    meter
        Name of the meter.
    seed
        Of all that is random.

    """

    def __init__(self, meter: str, seed: int) -> None:
        self.random = np.random.default_rng(seed)
        self.meter = ErringMeter(meter, self.random)

    def sound(self, count: int) -> Counter[Said]:
        """Map sound heads; any other word than sound or open is a false bridge."""
        said: Counter[Said] = Counter()
        for _ in range(count):
            drawn = self._draw()
            found = self._mapped(drawn.bench, drawn.field)
            right = coil_pins(found) == {
                frozenset(coil[:2]) for coil in drawn.bench.coils.values()
            }
            said[_said(found) if right or found.gaps else Said.FAULTY] += 1
        return said

    def leaking(self, count: int) -> Counter[Said]:
        """Map heads with one leak each; sound is a missed leak."""
        said: Counter[Said] = Counter()
        for _ in range(count):
            said[_said(self._mapped(*self._leaky()))] += 1
        return said

    def _mapped(self, bench: SimulatedHead, field: PinField) -> PinMap:
        self.meter.sit_down()
        return map_of(self.meter.pairs(bench, field))

    def _draw(self, sorts: tuple[int, ...] = (0, 1, 2, 3, 4)) -> Drawn:
        sort = int(self.random.choice(sorts))
        if sort == 0:
            pairs = ("1-4", "2-8", "3-5", "6-7")
            return Drawn(head(*(f"{pair} {self._coil()}" for pair in pairs)), EIGHT, sort)
        if sort == 1:
            return Drawn(head(*(f"{pin}-R {self._coil()}" for pin in "1234")), STAR, sort)
        if sort == 2:
            half = self._coil()
            return Drawn(head(f"1-2 {half}", f"2-3 {half}"), THREE, sort)
        if sort == 3:
            one, other = self._between(100, 200), self._between(300, 500)
            return Drawn(head(f"1-2 {one}", f"2-3 {other}"), THREE, sort)
        erase = self._between(1.5, 12)
        return Drawn(head(f"1-2 {erase}", f"3-4 {self._coil()}"), FOUR, sort)

    def _leaky(self) -> tuple[SimulatedHead, PinField]:
        """Draw a head that leaks: to the case, between coils, or within a common return.

        The last below half of what the map of the sound head says would have shown.
        """
        where = int(self.random.integers(0, 4))
        drawn = self._draw({2: (0, 4), 3: (1,)}.get(where, (0, 1, 2, 3, 4)))
        coils = [*drawn.bench.coils]
        ohm = self._between(1, LARGEST_LEAK_OHM)
        one: Node = (coils[0], float(self.random.uniform()))
        other: Node = CASE
        if where == 1:
            one = drawn.field.pins[0]
        elif where == 2:
            other = (coils[1], float(self.random.uniform()))
        elif where == 3:
            one, other = "1", "2"
            shown = self._mapped(drawn.bench, drawn.field).groups[0].unseen_above_ohm
            ohm = self._between(10, (shown or 40.0) / 2)
        return drawn.bench.with_leak(one, other, ohm), drawn.field

    def _coil(self) -> float:
        return self._between(100, 500)

    def _between(self, low: float, high: float) -> float:
        return math.exp(self.random.uniform(math.log(low), math.log(high)))


def _said(found: PinMap) -> Said:
    if found.contradictions or (found.faulty and not found.gaps):
        return Said.FAULTY
    if found.gaps:
        return Said.OPEN
    return Said.SOUND
