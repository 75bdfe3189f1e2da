"""What the text beside a reading means: its range, its leads, its temperature."""

from __future__ import annotations

import bisect
import math
from dataclasses import dataclass
from typing import Final

from coilmeter.errors import ReadingTextError
from coilmeter.units import (
    Form,
    format_ohm,
    in_degc,
    parse_temperature,
)
from coilmeter.values import Flag, Meter, Reading, ReadingRow

HIGHEST_SPREAD_K: Final = 50.0
ROOM_DEGC: Final = 20.0
ROOM_HALF_WIDTH_K: Final = 5.0
STATED_HALF_WIDTH_K: Final = 1.0
LOWEST_RANGE_OHM: Final = 10.0
"""An OL on a range nobody named, of a meter nobody named, says no more than this: the
lowest range of any meter shipped."""

LOWEST_TOP_RANGE_OHM: Final = 2e6
"""An OL of a meter that ranges by itself, where the meter is not known, says this much."""

_FEWEST_COUNTS: Final = 2000
_ASSUMED_COUNTS: Final = 2000
_ASSUMED_LOWEST_OHM: Final = 200.0
_SQRT3: Final = math.sqrt(3.0)
_OVER_RANGE: Final = 1.25
_ABOUT: Final = 1.01


@dataclass(frozen=True, slots=True)
class Warmth:
    """Temperature in degree Celsius, its standard uncertainty in kelvin, and if stated."""

    degc: float
    u_k: float
    known: bool


@dataclass(frozen=True, slots=True)
class RangeFigures:
    """One range as floats in ohm."""

    number: int
    full_scale_ohm: float
    resolution_ohm: float
    fraction: float
    floor_ohm: float


class MeterTable:
    """A meter's ranges as floats, for looking up many readings."""

    def __init__(self, meter: Meter) -> None:
        self.meter = meter
        self.ranges = [
            RangeFigures(
                number,
                float(entry.full_scale.m_as("ohm")),
                float(entry.resolution.m_as("ohm")),
                entry.fraction,
                float(entry.floor.m_as("ohm")),
            )
            for number, entry in enumerate(meter.ranges)
        ]
        self._ends = [entry.full_scale_ohm for entry in self.ranges]
        self._steps = [entry.resolution_ohm for entry in self.ranges]
        self._most_ohm = _OVER_RANGE * self._ends[-1] if self._ends else math.inf

    @property
    def counts(self) -> float:
        """Stated counts where no ranges are; the last digit is known to half of it at best."""
        return max(self.meter.counts, 0.5)

    @property
    def shown(self) -> str:
        """The ranges as a person reads them."""
        return "the ranges are " + ", ".join(format_ohm(end) for end in self._ends)

    @property
    def beeper_ohm(self) -> tuple[float, float]:
        """Threshold of the beeper and its half-width, in ohm."""
        beeper, spread = self.meter.beeper, self.meter.beeper_spread
        return float(beeper.m_as("ohm")), float(spread.m_as("ohm"))

    def range_for(
        self, ohm: float, stated_ohm: float | None, step_ohm: float = 0.0
    ) -> RangeFigures | None:
        """Range a reading was taken on; None where no range of this meter fits.

        The stated one; else the lowest that holds the reading and shows no finer digit than
        the last one written (`step_ohm`), since ``172`` may have been read on a range of
        whole ohms.  Below zero the digits say nothing: there the lowest range that holds it.
        """
        step_ohm = step_ohm if ohm >= 0 else 0.0
        if not self.ranges:
            return self._assumed_range(ohm, stated_ohm, step_ohm)
        if abs(ohm) > self._most_ohm:
            return None
        if stated_ohm is None or math.isinf(stated_ohm):
            index = min(bisect.bisect_left(self._ends, abs(ohm)), len(self._ends) - 1)
            coarse = bisect.bisect_left(self._steps, step_ohm / _ABOUT)
            return self.ranges[max(index, coarse) if coarse < len(self.ranges) else index]
        for entry in self.ranges:
            if math.isclose(entry.full_scale_ohm, stated_ohm, rel_tol=0.01):
                return entry if abs(ohm) <= _OVER_RANGE * entry.full_scale_ohm else None
        return None

    def _assumed_range(
        self, ohm: float, stated_ohm: float | None, step_ohm: float
    ) -> RangeFigures | None:
        """Range of a meter that states none: one of the digits written, else of 2000 counts."""
        end = stated_ohm if stated_ohm is not None and math.isfinite(stated_ohm) else 0.0
        if end and abs(ohm) > _OVER_RANGE * end:
            return None
        number = 0
        while (_ASSUMED_LOWEST_OHM * 10**number) < max(abs(ohm), end):
            number += 1
        whole = _ASSUMED_LOWEST_OHM * 10.0**number
        step = step_ohm or whole / _ASSUMED_COUNTS
        floor = self.counts * step
        return RangeFigures(number, whole, step, self.meter.fraction, floor)

    def last_digit(self, ohm: float) -> float:
        """Last digit in ohm that the meter shows of a value on its own; 0 where none fits."""
        found = self.range_for(ohm, None)
        return 0.0 if found is None else found.resolution_ohm

    def range_end(self, reading: Reading) -> float | None:
        """End in ohm of the range that a meter's frame was read on, as far as it is told.

        From the frame itself, else from the meter's range with that last digit.  An overload
        of a meter that states no ranges says the least that such a last digit can mean: a
        display of 2000 counts.  One without a last digit, of a meter that chooses its range
        by itself, lies past the highest range: infinity stands for that.
        """
        if reading.full_scale is not None:
            return reading.full_scale
        if reading.resolution is None:
            return math.inf if reading.overload and Flag.AUTO in reading.flags else None
        for entry in self.ranges:
            if math.isclose(entry.resolution_ohm, reading.resolution, rel_tol=0.01):
                return entry.full_scale_ohm
        if self.ranges or not reading.overload:
            return None
        return _FEWEST_COUNTS * reading.resolution

    @property
    def top_ohm(self) -> float:
        """End of the highest range, in ohm."""
        return self._ends[-1] if self._ends else LOWEST_TOP_RANGE_OHM

    @property
    def bottom_ohm(self) -> float:
        """End of the lowest range, in ohm."""
        return self._ends[0] if self._ends else LOWEST_RANGE_OHM


def bound_of(row: ReadingRow, meter: MeterTable) -> float:
    """Bound in ohm that an overload, a beep or a silence sets.

    An overload on a range nobody named is only known to lie past the meter's lowest range:
    the meter may have been held there.
    """
    reading = row.reading
    if reading.form is Form.OVERLOAD:
        if reading.ohm is not None:
            return reading.ohm
        if row.range_ohm is None:
            return meter.bottom_ohm
        return meter.top_ohm if math.isinf(row.range_ohm) else row.range_ohm
    threshold, spread = meter.beeper_ohm
    if reading.ohm is not None:
        threshold, spread = reading.ohm, 0.0
    return threshold + spread if reading.form is Form.BEEP else max(threshold - spread, 0.0)


def warmth_of_text(text: str) -> Warmth:
    """Understand a temperature; unknown means 20 degC within 5 K, rectangular.

    Raises
    ------
    ReadingTextError
        When the text is no temperature.

    """
    if not text:
        return Warmth(ROOM_DEGC, ROOM_HALF_WIDTH_K / _SQRT3, known=False)
    value, half_width = parse_temperature(text)
    width = STATED_HALF_WIDTH_K if half_width is None else float(half_width.magnitude)
    if width > HIGHEST_SPREAD_K:
        raise ReadingTextError(text, "a temperature known to 50 K or better")
    return Warmth(float(in_degc(value)), width / _SQRT3, known=True)
