"""AC volts of a meter to quantities with their elementary errors.

Parts of one reading V on a range, each with hard limits (JCGM 100:2008, 4.3.7) but the
scatter::

    gain      a V / sqrt3     a = stated fraction; one error of all readings on the range at
                              that frequency, roll-off included
    counts    n q / sqrt3     of each reading its own
    rounding  d / sqrt12      of a reading written with fewer digits than the range shows
    scatter   s / sqrt N      with N - 1 degrees of freedom
"""

from __future__ import annotations

import bisect
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from coilmeter.compute.impedance_errors import SQRT3, Error
from coilmeter.compute.impedance_measured import Load, Measured
from coilmeter.errors import ImpedanceError
from coilmeter.units import ureg
from coilmeter.units.si_text import format_si
from coilmeter.values import Meter
from coilmeter.values.impedance_rows import AcVolts

LITTLE: Final = 0.05
"""Below this share of a range many meters state nothing (common practice, no source)."""

_SQRT12: Final = math.sqrt(12.0)
_OVER_RANGE: Final = 1.25
_ABOUT: Final = 1.01
_ASSUMED_LOWEST_VOLT: Final = 0.2
_ASSUMED_COUNTS: Final = 2000


@dataclass(frozen=True, slots=True)
class AcRange:
    """One range of AC volts as floats in volt."""

    number: int
    full_scale_volt: float
    resolution_volt: float
    fraction: float
    floor_volt: float


class AcTable:
    """A meter's ranges of AC volts as floats."""

    def __init__(self, meter: Meter) -> None:
        self.meter = meter
        self.ranges = [
            AcRange(
                number,
                float(entry.full_scale.m_as("volt")),
                float(entry.resolution.m_as("volt")),
                entry.fraction,
                float(entry.floor.m_as("volt")),
            )
            for number, entry in enumerate(meter.ac.ranges)
        ]

    @property
    def band_hz(self) -> tuple[float, float]:
        """Frequencies for which the limits are stated."""
        ac = self.meter.ac
        return float(ac.lowest.m_as("hertz")), float(ac.highest.m_as("hertz"))

    @property
    def shown(self) -> str:
        """The ranges as a person reads them."""
        return ", ".join(format_si(entry.full_scale_volt, "V") for entry in self.ranges)

    def in_band(self, hertz: float) -> bool:
        """Whether the meter states its limits for a frequency."""
        low, high = self.band_hz
        return low <= hertz <= high

    def load(self) -> Load:
        """Give what the input puts across what is read."""
        ac = self.meter.ac
        spread = float(ac.capacitance_spread.m_as("farad")) / SQRT3
        key = f"input capacitance/{self.meter.name}"
        errors = (Error(key, "input capacitance", spread),) if spread else ()
        return Load(ac.input_resistance, Measured(ac.input_capacitance, errors))

    def range_for(self, volts: AcVolts) -> AcRange | None:
        """Range that a voltage was read on; None where none of the meter fits.

        The stated one; else the lowest that holds it and shows no finer digit than was
        written.
        """
        volt, stated, step = volts.shown.volt, volts.range_volt, volts.shown.step_volt
        if not self.ranges:
            return self._assumed(volt, stated, step)
        if stated is not None:
            return next(
                (
                    entry
                    for entry in self.ranges
                    if math.isclose(entry.full_scale_volt, stated, rel_tol=0.01)
                    and volt <= _OVER_RANGE * stated
                ),
                None,
            )
        ends = [entry.full_scale_volt for entry in self.ranges]
        steps = [entry.resolution_volt for entry in self.ranges]
        if volt > _OVER_RANGE * ends[-1]:
            return None
        index = min(bisect.bisect_left(ends, volt), len(ends) - 1)
        coarse = bisect.bisect_left(steps, step / _ABOUT)
        return self.ranges[max(index, coarse) if coarse < len(steps) else index]

    def _assumed(self, volt: float, stated: float | None, step: float) -> AcRange | None:
        """Range of a meter that states none: of the digits written, else of 2000 counts."""
        ac = self.meter.ac
        if stated is not None and volt > _OVER_RANGE * stated:
            return None
        number = 0
        while _ASSUMED_LOWEST_VOLT * 10.0**number < max(volt, stated or 0.0):
            number += 1
        whole = _ASSUMED_LOWEST_VOLT * 10.0**number
        digit = step or whole / _ASSUMED_COUNTS
        return AcRange(number, whole, digit, ac.fraction, max(ac.counts, 0.5) * digit)

    def measured(self, volts: AcVolts, hertz: float, where: str, key: str) -> Measured:
        """Give one voltage with its errors.

        Parameters
        ----------
        volts
            What was read.
        hertz
            The frequency.
        where
            Its column, for a refusal.
        key
            What is only this reading's own.

        Raises
        ------
        ImpedanceError
            When no range of the meter holds it, or it is a few counts only.

        """
        found = self.range_for(volts)
        volt, step = volts.shown.volt, volts.shown.step_volt
        if found is None:
            raise ImpedanceError(
                where,
                volts.shown.text,
                f"a voltage on a range of {self.meter.name}: {self.shown}",
                "name the meter it was read with.",
            )
        if volt < 2 * found.floor_volt:
            raise ImpedanceError(
                where,
                f"{volts.shown.text}, on a range of {format_si(found.full_scale_volt, 'V')}",
                f"at least {format_si(2 * found.floor_volt, 'V')}, twice what the meter may "
                "be off by",
                "choose a lower range, or a resistor nearer to |Z| of the coil.",
            )
        gain = f"gain/{self.meter.name}/{found.number}/{hertz:.6g}"
        errors = [
            Error(gain, "gain", found.fraction * volt / SQRT3),
            Error(f"counts/{key}", "counts", found.floor_volt / SQRT3),
        ]
        if step > _ABOUT * found.resolution_volt:
            errors.append(Error(f"rounding/{key}", "rounding", step / _SQRT12))
        if volts.count > 1 and volts.scatter_volt > 0:
            u = volts.scatter_volt / math.sqrt(volts.count)
            errors.append(
                Error(f"scatter/{key}", "scatter", u, rectangular=False, dof=volts.count - 1.0)
            )
        return Measured(ureg.Quantity(volt, "volt"), tuple(errors))

    def check_band(self, all_volts: Sequence[AcVolts], hertz: float) -> str:
        """Say in words where gains do not cancel; empty where they do.

        Raises
        ------
        ImpedanceError
            When the frequency is beyond the band of the meter and the ranges differ.

        """
        low, high = self.band_hz
        numbers = {found.number for each in all_volts if (found := self.range_for(each))}
        if len(numbers) > 1 and not self.in_band(hertz):
            raise ImpedanceError(
                "range",
                f"voltages on {len(numbers)} ranges at {format_si(hertz, 'Hz')}",
                f"one range for all, as {self.meter.name} states nothing beyond "
                f"{format_si(low, 'Hz')} to {format_si(high, 'Hz')} and the roll-off of two "
                "ranges does not cancel",
                "hold one range by hand and write every digit it shows (150.0 mV); take a "
                "resistor nearer to |Z| of the coil.",
            )
        if len(numbers) > 1:
            return "The voltages are on different ranges: their gains do not cancel."
        return ""

    def beyond_band(self, tones_hz: Sequence[float]) -> str:
        """Say which tones are beyond the band that the meter states; empty for none."""
        low, high = self.band_hz
        beyond = sorted({hertz for hertz in tones_hz if not self.in_band(hertz)})
        if not beyond:
            return ""
        named = ", ".join(format_si(hertz, "Hz") for hertz in beyond)
        return (
            f"{named}: beyond the {format_si(low, 'Hz')} to {format_si(high, 'Hz')} for which "
            f"{self.meter.name} states its limits. Gain and roll-off are taken as one and the "
            "same for readings on one range, and cancel."
        )

    def cautions(self, all_volts: Sequence[AcVolts]) -> list[str]:
        """Say what is doubtful about the voltages."""
        little = [
            each.shown.text
            for each in all_volts
            if (found := self.range_for(each)) is not None
            and self.ranges
            and each.shown.volt < LITTLE * found.full_scale_volt
        ]
        if not little:
            return []
        return [
            f"Below 5 % of the range, where many meters state nothing: {', '.join(little)}."
        ]
