"""The simulated meter on another function than ohms: what a coil shows there."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from coilmeter.errors import InputError
from coilmeter.units.si_text import format_si
from coilmeter.values import Flag, Function
from coilmeter.wire.contract import Display

DIODE_AMPERE: Final = 1e-3
"""Current of the diode test (from memory, not verified: 0.5 to 1 mA is usual)."""

_VOLT_STEPS: Final = (1e-3, 1e-4, 1e-5, 1e-2, 1e-1)
"""Last digits in volt to try, the most usual first: not every format has every one."""

_AC_STEPS: Final = (1e-4, 1e-5, 1e-3, 1e-2, 1e-1)
"""The same for AC volts of a meter that states no ranges of them: fine enough for a head."""

_SPELT: Final = {
    Function.DC_VOLTAGE: (Function.DC_VOLTAGE, Function.VOLTAGE),
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

    def show(self, ohm: float, noise_counts: float, volt: float = 0.0) -> Display:
        """Give what the display shows for a resistance across the clips.

        A coil gives no steady volts of its own; the diode test shows the volts of its
        current across it.

        Parameters
        ----------
        ohm
            What is across the clips, leads included.
        noise_counts
            What the noise adds, in counts.
        volt
            An alternating voltage, whose mean is nothing here.

        """
        del volt
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


@dataclass(frozen=True, slots=True)
class AcDial:
    """AC volts, on the ranges that the meter has there.

    Parameters
    ----------
    function
        What the format calls it.
    ranges
        End and last digit of each range in volt, the lowest first.
    held_volt
        End of the range that is held by hand; None for automatic ranges.

    """

    function: Function
    ranges: tuple[tuple[float, float], ...]
    held_volt: float | None = None

    def show(self, ohm: float, noise_counts: float, volt: float = 0.0) -> Display:
        """Give what the display shows for a voltage across the leads.

        Parameters
        ----------
        ohm
            What is across the leads, which says nothing here.
        noise_counts
            What the noise adds, in counts.
        volt
            Root mean square of the alternating voltage between the leads.

        """
        del ohm
        for full_scale, resolution in self._usable():
            counts = max(round(volt / resolution + noise_counts), 0)
            if counts < round(full_scale / resolution):
                return self._display(counts, full_scale, resolution)
        return self._over()

    def displays(self) -> Iterator[Display]:
        """Yield zero and the largest number of each range, and the overload."""
        for full_scale, resolution in self.ranges:
            yield self._display(0, full_scale, resolution)
            yield self._display(round(full_scale / resolution) - 1, full_scale, resolution)
        yield self._over()

    def holding(self, volt: float | None) -> AcDial:
        """Return the dial with a range held by hand, or with automatic ranges for None.

        Raises
        ------
        InputError
            When the meter has no such range.

        """
        ends = [full_scale for full_scale, _ in self.ranges]
        if volt is None:
            return replace(self, held_volt=None)
        for end in ends:
            if math.isclose(end, volt, rel_tol=1e-6):
                return replace(self, held_volt=end)
        raise InputError(
            f"the meter has no range of {format_si(volt, 'V')} on AC volts",
            hint=f"its ranges are {', '.join(format_si(end, 'V') for end in ends)}.",
        )

    def _usable(self) -> list[tuple[float, float]]:
        return [each for each in self.ranges if self.held_volt in {None, each[0]}]

    def _flags(self) -> frozenset[Flag]:
        return frozenset({Flag.AUTO if self.held_volt is None else Flag.MANUAL})

    def _display(self, counts: int, full_scale: float, resolution: float) -> Display:
        value = float(counts * Decimal(f"{resolution:.12g}"))
        digit = float(f"{resolution:.12g}")
        return Display(value, digit, full_scale, function=self.function, flags=self._flags())

    def _over(self) -> Display:
        full_scale, resolution = self._usable()[-1]
        return Display(
            math.inf,
            float(f"{resolution:.12g}"),
            full_scale,
            overload=True,
            function=self.function,
            flags=self._flags(),
        )


def dials_for(
    function: Function, counts: int, ohm_range: tuple[float, float], beeper_ohm: float
) -> Iterator[Dial]:
    """Yield the positions a meter may have for a function, the most usual first.

    Parameters
    ----------
    function
        Continuity, diode or DC volts.
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


def ac_dials_for(counts: int, stated: tuple[tuple[float, float], ...]) -> Iterator[AcDial]:
    """Yield the positions a meter may have for AC volts, the most telling first.

    Parameters
    ----------
    counts
        Counts at the end of a range.
    stated
        End and last digit in volt of the ranges that the meter states; may be empty.

    """
    for spelt in (Function.AC_VOLTAGE, Function.VOLTAGE):
        if stated:
            yield AcDial(spelt, stated)
            continue
        for step in _AC_STEPS:
            yield AcDial(spelt, ((float(counts * Decimal(str(step))), step),))
