"""A simulated tone bench: source, series resistor, coil, and a meter on AC volts across one.

What comes out are frames of a real wire format, as from a real meter.  Not simulated:
distortion and drift of the source, magnetic pick-up that depends on how the head lies, the
time a meter takes to average (a frame is the instant), hands on the points.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Mapping
from decimal import Decimal
from typing import Final

import numpy as np

from coilmeter.compute.coil_model import CoilModel
from coilmeter.compute.impedance_volts import AcTable
from coilmeter.errors import InputError, UnknownNameError
from coilmeter.sources.clock import Clock
from coilmeter.units.si_text import format_si
from coilmeter.values import Flag, Function, Meter
from coilmeter.values.impedance_rows import ACROSS
from coilmeter.wire.contract import Display, Format

HUM_VOLT: Final = 0.0006
"""What probes in the air pick up (invented, plausible)."""

_TURN: Final = 2 * math.pi


class SimulatedBridge:
    """Source, resistor and coil in series, with a meter whose probes somebody holds.

    May be used from several threads at once; the attributes may be changed while it runs.

    Parameters
    ----------
    coils
        The coils of the head, by name; one of them is connected at a time.
    meter
        On AC volts, as its data sheet states it: ranges, input, band.
    wire_format
        The format of the bytes.
    clock
        The bench clock.
    resistor_ohm
        What the resistor really has.
    frequency_hz, drive_volt
        The tone, and the voltage of the source without load.
    source_ohm
        Output resistance of the source.
    roll_off_hz
        Where the meter has lost 3 dB, in a single pole; infinite for none.
    gain_error
        Error of the meter as a fraction of the reading, the same on all ranges.
    noise_counts
        Standard deviation from reading to reading, in counts of the last digit.
    offset_counts
        Error in counts that stays as long as the probes do; drawn anew at each contact from
        a rectangle of this half-width.
    input_farad
        Capacitance of the meter's input and leads; None for what the meter states.
    full_scale_volt
        End of the one range that is held by hand; None for automatic ranges.
    rate_hz
        Frames per second of the bench clock.
    seed
        Of all that is random.

    Raises
    ------
    InputError
        When the meter states no ranges of AC volts, or the format cannot carry them.

    """

    def __init__(
        self,
        coils: Mapping[str, CoilModel],
        meter: Meter,
        wire_format: Format,
        clock: Clock,
        *,
        resistor_ohm: float = 10e3,
        frequency_hz: float = 10e3,
        drive_volt: float = 0.15,
        source_ohm: float = 0.0,
        roll_off_hz: float = math.inf,
        gain_error: float = 0.0,
        noise_counts: float = 0.0,
        offset_counts: float = 0.0,
        input_farad: float | None = None,
        full_scale_volt: float | None = None,
        rate_hz: float = 5.0,
        seed: int = 0,
    ) -> None:
        self.coils = dict(coils)
        self.clock = clock
        self.wire_format = wire_format
        self.resistor_ohm = resistor_ohm
        self.frequency_hz = frequency_hz
        self.drive_volt = drive_volt
        self.source_ohm = source_ohm
        self.roll_off_hz = roll_off_hz
        self.gain_error = gain_error
        self.noise_counts = noise_counts
        self.offset_counts = offset_counts
        self.full_scale_volt = full_scale_volt
        self.rate_hz = rate_hz
        self.function = Function.AC_VOLTAGE
        self.coil = next(iter(self.coils))
        self.started = threading.Event()
        self._table = AcTable(meter)
        if not self._table.ranges:
            raise InputError(
                f"meter {meter.name!r} states no ranges of AC volts",
                hint="simulate one that does, such as handheld-4000.",
            )
        stated = float(meter.ac.input_capacitance.m_as("farad"))
        self.input_farad = stated if input_farad is None else input_farad
        self.input_ohm = float(meter.ac.input_resistance.m_as("ohm"))
        self._random = np.random.default_rng(seed)
        self._lock = threading.Lock()
        self._across: str | None = None
        self._offset = 0.0
        for entry in self._table.ranges:
            shown = entry.full_scale_volt - entry.resolution_volt
            try:
                wire_format.encode(
                    self._display(shown, entry.resolution_volt, entry.full_scale_volt)
                )
            except ValueError as error:
                raise InputError(
                    f"format {wire_format.name!r} cannot carry AC volts up to "
                    f"{format_si(entry.full_scale_volt, 'V')}: {error}",
                    hint="choose another format or another meter to simulate.",
                ) from error

    def connect(self, coil: str) -> None:
        """Put another coil behind the resistor, the probes off.

        Raises
        ------
        UnknownNameError
            When there is none of that name.

        """
        if coil not in self.coils:
            raise UnknownNameError("coil", coil, list(self.coils))
        with self._lock:
            self.coil, self._across = coil, None

    def probe(self, across: str) -> None:
        """Put the probes across ``total``, ``resistor`` or ``coil``.

        Raises
        ------
        UnknownNameError
            When it is none of these.

        """
        if across not in ACROSS:
            raise UnknownNameError("place for the probes", across, ACROSS)
        with self._lock:
            self._across = across
            self._offset = self.offset_counts * float(self._random.uniform(-1, 1))

    def lift(self) -> None:
        """Take the probes away."""
        with self._lock:
            self._across = None

    def true_volt(self, across: str) -> float:
        """Voltage between two points with the meter across them, before the meter's errors."""
        turn = _TURN * self.frequency_hz
        load = 1 / self.input_ohm + 1j * turn * self.input_farad
        z, r = (
            self.coils[self.coil].impedance_ohm(self.frequency_hz),
            complex(self.resistor_ohm),
        )
        if across == "resistor":
            r = 1 / (1 / r + load)
        elif across == "coil":
            z = 1 / (1 / z + load)
        whole = r + z
        if across == "total":
            whole = 1 / (1 / whole + load)
        there = {"total": whole, "resistor": r, "coil": z}[across]
        return abs(self.drive_volt * there / (self.source_ohm + whole))

    def show(self) -> Display:
        """Give what the display shows now."""
        with self._lock:
            across, offset = self._across, self._offset
            noise = self.noise_counts * float(self._random.standard_normal())
        volt = HUM_VOLT if across is None else self.true_volt(across) * self._gain()
        held = [
            entry
            for entry in self._table.ranges
            if self.full_scale_volt in {None, entry.full_scale_volt}
        ]
        for entry in held:
            counts = round(volt / entry.resolution_volt + offset + noise)
            if counts < round(entry.full_scale_volt / entry.resolution_volt):
                shown = float(max(counts, 0) * Decimal(str(entry.resolution_volt)))
                return self._display(shown, entry.resolution_volt, entry.full_scale_volt)
        last = held[-1]
        return self._display(math.inf, last.resolution_volt, last.full_scale_volt)

    def frame(self) -> bytes:
        """Return the bytes of what the meter shows at this instant."""
        self.started.set()
        return self.wire_format.encode(self.show())

    def _gain(self) -> float:
        rolled = 1 / math.sqrt(1 + (self.frequency_hz / self.roll_off_hz) ** 2)
        return (1 + self.gain_error) * rolled

    def _display(self, volt: float, resolution: float, full_scale: float) -> Display:
        by_hand = self.full_scale_volt is not None
        return Display(
            volt,
            float(f"{resolution:.12g}"),
            full_scale,
            overload=not math.isfinite(volt),
            function=self.function,
            flags=frozenset({Flag.MANUAL if by_hand else Flag.AUTO}),
        )
