"""The simulated bench: a meter, hands and a head, giving real bytes of a wire format."""

from __future__ import annotations

import math
import threading
from collections.abc import Iterator
from typing import Final

from coilmeter.errors import InputError
from coilmeter.sources.clock import Clock
from coilmeter.sources.simulated_dial import AcDial, Dial, ac_dials_for, dials_for
from coilmeter.sources.simulated_hands import Hands
from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.sources.simulated_meter import SimulatedMeter
from coilmeter.sources.simulated_script import Move, Performer, Touch, script_for
from coilmeter.units import format_ohm, in_ohm
from coilmeter.values import Function, Meter
from coilmeter.wire.contract import Display, Format
from coilmeter.wire.dialogue import on_ac_volts

__all__ = [
    "Hands",
    "Move",
    "Performer",
    "SimulatedBench",
    "SimulatedHead",
    "SimulatedMeter",
    "Touch",
    "carries",
    "script_for",
]

_TRIED_OHM: Final = (0.0, 100.0, math.inf)


def carries(wire_format: Format, meter: SimulatedMeter) -> None:
    """Refuse a format that cannot carry what a meter can show.

    Raises
    ------
    InputError
        With the range that has no place in it.

    """
    for display in meter.displays():
        try:
            wire_format.encode(display)
        except ValueError as error:
            raise InputError(
                f"format {wire_format.name!r} cannot carry the "
                f"{format_ohm(display.full_scale)} range of {meter.meter.name!r}: {error}",
                hint="choose another format or another meter to simulate.",
            ) from error


def ac_ranges(meter: Meter) -> tuple[tuple[float, float], ...]:
    """Give end and last digit in volt of the ranges of AC volts that a meter states."""
    return tuple(
        (float(each.full_scale.m_as("volt")), float(each.resolution.m_as("volt")))
        for each in meter.ac.ranges
    )


class SimulatedBench:
    """A meter with its clips in someone's hands over a head, sending bytes like a real one.

    What comes out are frames of a real wire format, so that everything behind the port is
    the same as with a real meter.  Not simulated: that a real reading is an average over
    the time it takes (here it is the instant of the frame), slow settling at high
    resistance or with a capacitor across the clips, thermal voltages at the contacts, the
    inductive kick of a coil when a clip is lifted, hum picked up by the head, hands on the
    pins, and whatever is between the meter and its port (see
    `coilmeter.sources.simulated_wire`).

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
        carries(wire_format, meter)
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

    def display(self) -> Display:
        """Give what the meter shows at this instant."""
        with self._lock:
            self.started.set()
            now = self.clock.now()
            if isinstance(self.meter.dial, AcDial):
                return self.meter.show(math.inf, self.hands.volt(now))
            return self.meter.show(self.hands.resistance(now))

    def frame(self) -> bytes:
        """Return the bytes of what the meter shows at this instant."""
        return self.wire_format.encode(self.display())

    def turn(self, function: Function) -> None:
        """Turn the meter to ohms or AC volts, as a line of its dialogue asks for.

        Raises
        ------
        InputError
            When the format cannot carry it.

        """
        form = self.wire_format
        volts = function is Function.AC_VOLTAGE
        self.meter.dial = self.dial_for(function, on_ac_volts(form) if volts else form)

    def dial_for(self, function: Function, form: Format | None = None) -> Dial | AcDial | None:
        """Give the dial for a function, with a range that the format can carry.

        Parameters
        ----------
        function
            Resistance (whose dial is None), continuity, diode, DC or AC volts.
        form
            What has to carry it; None for the format of the bench.

        Raises
        ------
        InputError
            When the format cannot carry it.

        """
        if function is Function.RESISTANCE:
            return None
        model = self.meter.meter
        lowest = model.ranges[0]
        ohm_range = (in_ohm(lowest.full_scale), in_ohm(lowest.resolution))
        why, form = "", form or self.wire_format
        dials: Iterator[Dial | AcDial] = dials_for(
            function, self.meter.counts, ohm_range, in_ohm(model.beeper)
        )
        if function is Function.AC_VOLTAGE:
            dials = ac_dials_for(self.meter.counts, ac_ranges(model))
        for dial in dials:
            shown = (
                dial.displays()
                if isinstance(dial, AcDial)
                else (dial.show(ohm, 0.0) for ohm in _TRIED_OHM)
            )
            try:
                for display in shown:
                    form.encode(display)
            except ValueError as error:
                why = why or str(error)
                continue
            return dial
        raise InputError(
            f"format {self.wire_format.name!r} cannot carry {function.replace('_', ' ')} of "
            f"{model.name!r}: {why}",
            hint="choose another function; a real meter may send something all the same.",
        )
