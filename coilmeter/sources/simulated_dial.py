"""The simulated meter on another function than ohms: what a coil shows there."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from coilmeter.values import Flag, Function
from coilmeter.wire.contract import Display

DIODE_AMPERE: Final = 1e-3
"""Current of the diode test (from memory, not verified: 0.5 to 1 mA is usual)."""

_VOLT_STEPS: Final = (1e-3, 1e-4, 1e-5, 1e-2, 1e-1)
"""Last digits in volt to try, the most usual first: not every format has every one."""

_SPELT: Final = {
    Function.DC_VOLTAGE: (Function.DC_VOLTAGE, Function.VOLTAGE),
    Function.AC_VOLTAGE: (Function.AC_VOLTAGE, Function.VOLTAGE),
    Function.DIODE: (Function.DIODE,),
}
"""What a format may call what is measured in volts, the most telling first."""


@dataclass(frozen=True, slots=True)
class Dial:
    """One position of the dial: a function with one range.

    Parameters
    ----------
    function
        What is measured.
    resolution, full_scale
        Last digit and end of its range, in ohm or volt.
    beeper_ohm
        Below this the beeper sounds.

    """

    function: Function
    resolution: float
    full_scale: float
    beeper_ohm: float = 0.0

    def show(self, ohm: float, noise_counts: float) -> Display:
        """Give what the display shows for a resistance across the clips.

        A coil gives no volts of its own; the diode test shows the volts of its current
        across it.

        Parameters
        ----------
        ohm
            What is across the clips, leads included.
        noise_counts
            What the noise adds, in counts.

        """
        seen = {Function.CONTINUITY: ohm, Function.DIODE: ohm * DIODE_AMPERE}.get(
            self.function, 0.0
        )
        flags = {Flag.AUTO}
        if self.function is Function.CONTINUITY and ohm < self.beeper_ohm:
            flags.add(Flag.BEEP)
        reading = seen / self.resolution + noise_counts
        counts = round(self.full_scale / self.resolution)
        if not math.isfinite(reading) or abs(round(reading)) >= counts:
            return Display(
                math.inf,
                self.resolution,
                self.full_scale,
                overload=True,
                function=self.function,
                flags=frozenset(flags),
            )
        value = float(round(reading) * Decimal(str(self.resolution)))
        return Display(
            value,
            self.resolution,
            self.full_scale,
            function=self.function,
            flags=frozenset(flags),
        )


def dials_for(
    function: Function, counts: int, ohm_range: tuple[float, float], beeper_ohm: float
) -> Iterator[Dial]:
    """Yield the positions a meter may have for a function, the most usual first.

    Parameters
    ----------
    function
        Continuity, diode, DC or AC volts.
    counts
        Counts at the end of a range.
    ohm_range
        End and last digit of the lowest ohm range, which the beeper uses.
    beeper_ohm
        Below this the beeper sounds.

    """
    if function is Function.CONTINUITY:
        full_scale, resolution = ohm_range
        yield Dial(function, resolution, full_scale, beeper_ohm)
    for spelt in _SPELT.get(function, ()):
        for step in _VOLT_STEPS:
            yield Dial(spelt, step, float(counts * Decimal(str(step))))
