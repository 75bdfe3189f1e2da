"""A simulated tone bench: source, series resistor, coil, and a meter on AC volts across one.

What comes out are frames of a real wire format, as from a real meter.  Not simulated:
distortion and drift of the source, magnetic pick-up that depends on how the head lies, the
time a meter takes to average (a frame is the instant), hands on the points.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from coilmeter.compute.coil_model import CoilModel
from coilmeter.compute.impedance_volts import AcTable
from coilmeter.errors import InputError, UnknownNameError
from coilmeter.sources.clock import Clock
from coilmeter.sources.simulated_dial import AcDial
from coilmeter.sources.simulated_tone import HUM_VOLT, ToneCircuit
from coilmeter.units.si_text import format_si
from coilmeter.values import Function, Meter
from coilmeter.values.impedance_rows import ACROSS
from coilmeter.wire.contract import Display, Format

__all__ = ["HUM_VOLT", "SimulatedBridge"]


class SimulatedBridge(ToneCircuit):
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
        self._table = AcTable(meter)
        if not self._table.ranges:
            raise InputError(
                f"meter {meter.name!r} states no ranges of AC volts",
                hint="simulate one that does, such as handheld-4000.",
            )
        stated = float(meter.ac.input_capacitance.m_as("farad"))
        super().__init__(
            resistor_ohm=resistor_ohm,
            frequency_hz=frequency_hz,
            drive_volt=drive_volt,
            source_ohm=source_ohm,
            input_ohm=float(meter.ac.input_resistance.m_as("ohm")),
            input_farad=stated if input_farad is None else input_farad,
            roll_off_hz=roll_off_hz,
        )
        self.coils = dict(coils)
        self.clock = clock
        self.wire_format = wire_format
        self.gain_error = gain_error
        self.noise_counts = noise_counts
        self.offset_counts = offset_counts
        self.rate_hz = rate_hz
        self.function = Function.AC_VOLTAGE
        self.coil = next(iter(self.coils))
        self.started = threading.Event()
        self._random = np.random.default_rng(seed)
        self._lock = threading.Lock()
        self._across: str | None = None
        self._offset = 0.0
        ranges = tuple(
            (entry.full_scale_volt, entry.resolution_volt) for entry in self._table.ranges
        )
        self._dial = AcDial(self.function, ranges, full_scale_volt)
        for display in self._dial.displays():
            try:
                wire_format.encode(display)
            except ValueError as error:
                raise InputError(
                    f"format {wire_format.name!r} cannot carry AC volts up to "
                    f"{format_si(display.full_scale, 'V')}: {error}",
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
        """Voltage between two points with the meter across them, before its errors."""
        z = self.coils[self.coil].impedance_ohm(self.frequency_hz)
        return self.volt_across(across, 1 / z)

    def show(self) -> Display:
        """Give what the display shows now."""
        with self._lock:
            across, offset = self._across, self._offset
            noise = self.noise_counts * float(self._random.standard_normal())
        gain = self.meter_gain * (1 + self.gain_error)
        volt = HUM_VOLT if across is None else self.true_volt(across) * gain
        dial = replace(self._dial, function=self.function)
        return dial.show(0.0, offset + noise, volt)

    def frame(self) -> bytes:
        """Return the bytes of what the meter shows at this instant."""
        self.started.set()
        return self.wire_format.encode(self.show())
