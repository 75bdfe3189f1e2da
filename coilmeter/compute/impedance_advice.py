"""Advice before AC volts are read: which tone, which resistor, how much drive.

Expected coils are from memory, not verified: 50 to 150 mH for a cassette record/playback coil,
300 to 1000 mH for a high-impedance playback coil, 0.2 to 2 mH for an erase coil.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from coilmeter.compute.coil_model import CoilModel
from coilmeter.units.si_text import format_si
from coilmeter.values import Role

SHORTS_HZ: Final = 10e3
"""Where few shorted turns show in Q (derived, the model of the shorted-turn table)."""

DRIVE_VOLT: Final = (0.05, 0.1)
"""Drive across a head that leaves its core alone and still gives digits (common practice, no
source)."""

TOO_MUCH_VOLT: Final = 0.1

EXPECTED: Final = {
    Role.RECORD_PLAYBACK: CoilModel(300.0, 0.1),
    Role.PLAYBACK: CoilModel(500.0, 0.6),
    Role.RECORD: CoilModel(100.0, 0.05),
    Role.ERASE: CoilModel(5.0, 0.6e-3, loss=0.1),
    Role.UNKNOWN: CoilModel(300.0, 0.1),
}
"""A coil of each role (mem)."""

_E3: Final = (1.0, 2.2, 4.7)
"""Preferred numbers (IEC 60063, series E3)."""


@dataclass(frozen=True, slots=True)
class Advice:
    """What to connect for one coil at one tone.

    Parameters
    ----------
    frequency_hz
        The tone.
    coil_ohm
        Size of the expected impedance.
    resistor_ohm
        Series resistor: the next preferred number at or above it.
    total_volt
        Voltage to set at the source, so that the coil gets the middle of `DRIVE_VOLT`.

    """

    frequency_hz: float
    coil_ohm: float
    resistor_ohm: float
    total_volt: float

    def sentence(self) -> str:
        """Say it."""
        return (
            f"at {format_si(self.frequency_hz, 'Hz')} such a coil has about "
            f"{format_si(float(f'{self.coil_ohm:.2g}'), 'ohm')}: take a resistor of about "
            f"{format_si(self.resistor_ohm, 'ohm')}, and set the source to about "
            f"{format_si(float(f'{self.total_volt:.2g}'), 'V')}, which gives the coil "
            f"{format_si(DRIVE_VOLT[0], 'V')} to {format_si(DRIVE_VOLT[1], 'V')}."
        )


def advise(coil: CoilModel, frequency_hz: float = SHORTS_HZ) -> Advice:
    """Advise resistor and drive for an expected coil at a tone.

    Equal sizes of resistor and coil leave the triangle of voltages widest open, so that the
    counts of the meter do least to it.
    """
    z = coil.impedance_ohm(frequency_hz)
    resistor = preferred_above(abs(z))
    middle = sum(DRIVE_VOLT) / 2
    return Advice(frequency_hz, abs(z), resistor, middle * abs(resistor + z) / abs(z))


def preferred_above(ohm: float) -> float:
    """Next value of series E3 at or above `ohm` (IEC 60063)."""
    decade = 10.0 ** math.floor(math.log10(ohm))
    steps = [step * decade for step in (*_E3, 10.0)]
    return next(float(f"{step:.3g}") for step in steps if step >= ohm * (1 - 1e-9))


def drive_caution(volt: float) -> str:
    """Caution for the voltage across the coil; empty where it is low enough."""
    if volt <= TOO_MUCH_VOLT * 1.05:
        return ""
    return (
        f"{format_si(volt, 'V')} across the coil: more than {format_si(TOO_MUCH_VOLT, 'V')} "
        "may magnetise the core and bend what is read; turn the source down."
    )
