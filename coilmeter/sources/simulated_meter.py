"""The simulated meter: what its display shows of a resistance, with its settings and errors."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from decimal import Decimal

import numpy as np

from coilmeter.errors import InputError
from coilmeter.sources.simulated_dial import AcDial, Dial
from coilmeter.units import Quantity, WrongDimensionError, format_ohm, in_ohm
from coilmeter.values import Flag, Meter
from coilmeter.wire.contract import Display


@dataclass
class SimulatedMeter:
    """A meter that shows what its data sheet says, plus the errors it is given here.

    Not simulated: the time a range change takes and its hysteresis, input protection, test
    current, and any dependence on its own temperature or battery.  The fields may be
    changed while it runs.

    Parameters
    ----------
    meter
        Gives the ranges: end of range and last digit.
    fixed
        A range that was chosen by hand, by its index or by its full scale; None for
        autorange.  `choose_range` changes it.
    gain_error
        Error as a fraction of the reading.
    offset_ohm
        Error that does not grow with the reading, in ohm.
    noise_counts
        Standard deviation from reading to reading, in counts of the last digit.
    lead_ohm
        Resistance of both leads together, in ohm; part of every reading.
    seed
        Seed of the noise; the same seed and the same readings scatter alike.
    dial
        Another function than ohms, None for ohms.
    battery_low
        Whether it says that its battery is low.

    Raises
    ------
    InputError
        When the meter states no ranges, or has none such as `fixed`.

    """

    meter: Meter
    fixed: int | Quantity | None = None
    gain_error: float = 0.0
    offset_ohm: float = 0.0
    noise_counts: float = 0.0
    lead_ohm: float = 0.0
    seed: int = 0
    dial: Dial | AcDial | None = None
    battery_low: bool = False
    _all: tuple[tuple[float, float], ...] = field(init=False, repr=False)
    _ranges: tuple[tuple[float, float], ...] = field(init=False, repr=False)
    _random: np.random.Generator = field(init=False, repr=False)
    _shown: Display | None = field(init=False, repr=False, default=None)
    _held: Display | None = field(init=False, repr=False, default=None)
    _taken_off_ohm: float | None = field(init=False, repr=False, default=None)

    def __post_init__(self) -> None:
        self._all = tuple(
            (_tidy(in_ohm(each.full_scale)), _tidy(in_ohm(each.resolution)))
            for each in self.meter.ranges
        )
        if not self._all:
            raise InputError(
                f"meter {self.meter.name!r} states no resistance ranges, so what it would "
                "show cannot be told",
                hint="simulate a meter that states its ranges.",
            )
        self._random = np.random.default_rng(self.seed)
        self.choose_range(self.fixed)

    @property
    def counts(self) -> int:
        """Counts at the end of its lowest range."""
        full_scale, resolution = self._all[0]
        return round(full_scale / resolution)

    @property
    def held(self) -> bool:
        """Whether the display is frozen."""
        return self._held is not None

    @property
    def last_shown(self) -> Display | None:
        """What the display shows: the last reading, or the frozen one; None before any."""
        return self._held or self._shown

    @property
    def taken_off_ohm(self) -> float | None:
        """What relative readings take off, in ohm; None where they are not relative."""
        return self._taken_off_ohm

    def choose_range(self, fixed: int | Quantity | None) -> None:
        """Choose a range by hand, or None for autorange.

        Raises
        ------
        InputError
            When the meter has no such range.

        """
        self._ranges = self._all if fixed is None else (self._chosen(fixed),)
        self.fixed = fixed

    def hold(self, *, on: bool) -> None:
        """Freeze the display at what it showed last, or let it go on."""
        self._held = (self._shown or self.show(math.inf)) if on else None

    def relative(self, *, on: bool) -> None:
        """Take what the display showed last off all that follow, or nothing any more.

        Raises
        ------
        InputError
            When the display shows no number of ohms to take off.

        """
        if not on:
            self._taken_off_ohm = None
            return
        shown = self._shown
        if shown is None or shown.overload or self.dial is not None:
            raise InputError(
                "the display shows no ohms that could be taken off",
                hint="put the clips together, or on a coil, first.",
            )
        self._taken_off_ohm = shown.value + (self._taken_off_ohm or 0.0)

    def reset(self) -> None:
        """Go back to plain ohms: autorange, no hold, nothing taken off."""
        self.choose_range(None)
        self.dial = self._held = self._taken_off_ohm = None

    def show(self, true_ohm: float, true_volt: float = 0.0) -> Display:
        """Give what the display shows for what is between the clips.

        Leads, gain, offset and noise are added, the lowest range that holds the result is
        chosen (or the fixed one kept), and the result is rounded to its last digit.  A
        range of n counts shows up to n - 1; beyond, it is over-range.

        Parameters
        ----------
        true_ohm
            What is between the clips in ohm; infinite for nothing.
        true_volt
            Alternating voltage between them, which counts on AC volts only.

        """
        battery = frozenset({Flag.LOW_BATTERY} if self.battery_low else ())
        held = self._held
        if held is not None:
            return replace(held, flags=held.flags - {Flag.LOW_BATTERY} | battery | {Flag.HOLD})
        shown = self._measure(true_ohm, true_volt)
        self._shown = shown
        return replace(shown, flags=shown.flags | battery) if battery else shown

    def displays(self) -> Iterator[Display]:
        """Yield the ends of what it can show: zero and the largest number of each range, OL."""
        for full_scale, resolution in self._ranges:
            yield self._display(0, full_scale, resolution)
            yield self._display(round(full_scale / resolution) - 1, full_scale, resolution)
        yield self._overload(*self._ranges[-1])

    def _measure(self, true_ohm: float, true_volt: float) -> Display:
        seen_ohm = (true_ohm + self.lead_ohm) * (1 + self.gain_error) + self.offset_ohm
        noise = self.noise_counts * float(self._random.standard_normal())
        if self.dial is not None:
            return self.dial.show(seen_ohm, noise, true_volt * (1 + self.gain_error))
        for full_scale, resolution in self._ranges:
            reading = seen_ohm / resolution + noise
            if not math.isfinite(reading):
                break
            counts = round(reading)
            if abs(counts) < round(full_scale / resolution):
                off = round((self._taken_off_ohm or 0.0) / resolution)
                return self._display(counts - off, full_scale, resolution)
        return self._overload(*self._ranges[-1])

    def _chosen(self, fixed: int | Quantity) -> tuple[float, float]:
        """Find the range chosen by hand, as (full scale, resolution) in ohm."""
        known = ", ".join(format_ohm(full_scale) for full_scale, _ in self._all)
        if isinstance(fixed, int):
            if 0 <= fixed < len(self._all):
                return self._all[fixed]
        else:
            try:
                wanted_ohm = float(in_ohm(fixed))
            except WrongDimensionError as error:
                raise InputError(f"saw {fixed} as a range, expected a resistance") from error
            for each in self._all:
                if math.isclose(each[0], wanted_ohm, rel_tol=1e-9):
                    return each
        raise InputError(
            f"meter {self.meter.name!r} has no range {fixed}",
            hint=f"its ranges are {known}; as an index, 0 to {len(self._all) - 1}.",
        )

    def _flags(self) -> frozenset[Flag]:
        """Whether the range is the meter's choice or the user's, and what is taken off."""
        ranging = Flag.AUTO if self.fixed is None else Flag.MANUAL
        relative = () if self._taken_off_ohm is None else (Flag.RELATIVE,)
        return frozenset({ranging, *relative})

    def _display(self, counts: int, full_scale: float, resolution: float) -> Display:
        """Show a number of counts of a range."""
        # Decimal, because 2123 * 0.1 as floats shows 212.30000000000001.
        value = float(counts * Decimal(str(resolution)))
        return Display(value, resolution, full_scale, flags=self._flags())

    def _overload(self, full_scale: float, resolution: float) -> Display:
        """Show over-range."""
        return Display(math.inf, resolution, full_scale, overload=True, flags=self._flags())


def _tidy(ohm: float) -> float:
    """Take off what a change of unit leaves in the last digits of a float."""
    return float(f"{ohm:.12g}")
