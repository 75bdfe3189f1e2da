"""The simulated bench: a meter, hands and a head, giving real bytes of a wire format."""

from __future__ import annotations

import math
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal

import numpy as np

from coilmeter.errors import InputError
from coilmeter.sources.clock import Clock
from coilmeter.sources.simulated_hands import Hands, Move, Performer, Touch, script_for
from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.units import Quantity, WrongDimensionError, format_ohm, in_ohm
from coilmeter.values import Flag, Meter
from coilmeter.wire.contract import Display, Format

__all__ = [
    "Hands",
    "Move",
    "Performer",
    "SimulatedBench",
    "SimulatedHead",
    "SimulatedMeter",
    "Touch",
    "script_for",
]


@dataclass
class SimulatedMeter:
    """A meter that shows what its data sheet says, plus the errors it is given here.

    Not simulated: the time a range change takes and its hysteresis, input protection, test
    current, the beeper, and any dependence on its own temperature.  The error fields may be
    changed while it runs.

    Parameters
    ----------
    meter
        Gives the ranges: end of range and last digit.
    fixed
        A range that was chosen by hand, by its index or by its full scale; None for
        autorange.
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
    _ranges: tuple[tuple[float, float], ...] = field(init=False, repr=False)
    _random: np.random.Generator = field(init=False, repr=False)

    def __post_init__(self) -> None:
        ranges = tuple(
            (_tidy(in_ohm(each.full_scale)), _tidy(in_ohm(each.resolution)))
            for each in self.meter.ranges
        )
        if not ranges:
            raise InputError(
                f"meter {self.meter.name!r} states no resistance ranges, so what it would "
                "show cannot be told",
                hint="simulate a meter that states its ranges.",
            )
        self._ranges = ranges if self.fixed is None else (self._chosen(ranges, self.fixed),)
        self._random = np.random.default_rng(self.seed)

    def show(self, true_ohm: float) -> Display:
        """Give what the display shows for a resistance between the clips.

        Leads, gain, offset and noise are added, the lowest range that holds the result is
        chosen (or the fixed one kept), and the result is rounded to its last digit.  A
        range of n counts shows up to n - 1; beyond, it is over-range.

        Parameters
        ----------
        true_ohm
            What is between the clips in ohm; infinite for nothing.

        """
        seen_ohm = (true_ohm + self.lead_ohm) * (1 + self.gain_error) + self.offset_ohm
        noise = self.noise_counts * float(self._random.standard_normal())
        for full_scale, resolution in self._ranges:
            reading = seen_ohm / resolution + noise
            if not math.isfinite(reading):
                break
            counts = round(reading)
            if abs(counts) < round(full_scale / resolution):
                return self._display(counts, full_scale, resolution)
        return self._overload(*self._ranges[-1])

    def displays(self) -> Iterator[Display]:
        """Yield the ends of what it can show: zero and the largest number of each range, OL."""
        for full_scale, resolution in self._ranges:
            yield self._display(0, full_scale, resolution)
            yield self._display(round(full_scale / resolution) - 1, full_scale, resolution)
        yield self._overload(*self._ranges[-1])

    def _chosen(
        self, ranges: tuple[tuple[float, float], ...], fixed: int | Quantity
    ) -> tuple[float, float]:
        """Find the range chosen by hand, as (full scale, resolution) in ohm."""
        known = ", ".join(format_ohm(full_scale) for full_scale, _ in ranges)
        if isinstance(fixed, int):
            if 0 <= fixed < len(ranges):
                return ranges[fixed]
        else:
            try:
                wanted_ohm = float(in_ohm(fixed))
            except WrongDimensionError as error:
                raise InputError(f"saw {fixed} as a range, expected a resistance") from error
            for each in ranges:
                if math.isclose(each[0], wanted_ohm, rel_tol=1e-9):
                    return each
        raise InputError(
            f"meter {self.meter.name!r} has no range {fixed}",
            hint=f"its ranges are {known}; as an index, 0 to {len(ranges) - 1}.",
        )

    def _flags(self) -> frozenset[Flag]:
        """Whether the range is the meter's choice or the user's."""
        return frozenset({Flag.AUTO if self.fixed is None else Flag.MANUAL})

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


class SimulatedBench:
    """A meter with its clips in someone's hands over a head, sending bytes like a real one.

    What comes out are frames of a real wire format, so that everything behind the port is
    the same as with a real meter.  Not simulated: that a real reading is an average over
    the time it takes (here it is the instant of the frame), slow settling at high
    resistance or with a capacitor across the clips, thermal voltages at the contacts, the
    inductive kick of a coil when a clip is lifted, hum picked up by the head, hands on the
    pins, queries (frames come by themselves), and anything else that goes wrong on a wire.

    Parameters
    ----------
    meter, hands
        The meter, and the hands that hold its clips over the head.
    wire_format
        The format of the bytes.
    rate_hz
        Frames per second of the bench clock.

    Raises
    ------
    InputError
        When the format cannot carry what the meter can show, or the rate is not positive.

    """

    def __init__(
        self,
        meter: SimulatedMeter,
        hands: Hands,
        wire_format: Format,
        *,
        rate_hz: float = 10.0,
    ) -> None:
        if not 0 < rate_hz < math.inf:
            raise InputError(f"saw {rate_hz} frames per second, expected more than 0")
        for display in meter.displays():
            try:
                wire_format.encode(display)
            except ValueError as error:
                raise InputError(
                    f"format {wire_format.name!r} cannot carry the "
                    f"{format_ohm(display.full_scale)} range of {meter.meter.name!r}: {error}",
                    hint="choose another format or another meter to simulate.",
                ) from error
        self.meter = meter
        self.hands = hands
        self.wire_format = wire_format
        self.rate_hz = rate_hz
        self.started = threading.Event()
        """Set with the first frame; a socket sends that only when a client has connected."""
        self._lock = threading.Lock()

    @property
    def clock(self) -> Clock:
        """The bench clock."""
        return self.hands.clock

    def frame(self) -> bytes:
        """Return the bytes of what the meter shows at this instant."""
        with self._lock:
            self.started.set()
            display = self.meter.show(self.hands.resistance(self.clock.now()))
            return self.wire_format.encode(display)
