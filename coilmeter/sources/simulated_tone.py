"""Source, series resistor and coil in one circuit, and a meter's leads across a part of it.

Three points: A where source and resistor meet, B where resistor and coil meet, C at the other
end of the coil and of the source.  The meter's input lies across what is read.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from coilmeter.values import Meter

HUM_VOLT: Final = 0.0006
"""What leads in the air pick up (invented, plausible)."""

LEAST_SIEMENS: Final = 1e-12
"""What is taken for the admittance of an open coil, so that no impedance is infinite."""

ROLL_OFF: Final = 30.0
"""A meter has lost 3 dB at so many times the highest frequency it is stated for (invented)."""

_TURN: Final = 2 * math.pi


@dataclass
class ToneCircuit:
    """The circuit and what the meter does to it; fields may be changed while it runs.

    Parameters
    ----------
    resistor_ohm
        What the series resistor really has.
    frequency_hz, drive_volt
        The tone, and the voltage of the source without load.
    source_ohm
        Output resistance of the source.
    input_ohm, input_farad
        The meter's input and leads.
    roll_off_hz
        Where the meter has lost 3 dB, in a single pole; infinite for none.

    """

    resistor_ohm: float = 10e3
    frequency_hz: float = 10e3
    drive_volt: float = 0.15
    source_ohm: float = 0.0
    input_ohm: float = 10e6
    input_farad: float = 1e-10
    roll_off_hz: float = math.inf

    def volt_across(self, across: str, coil_siemens: complex) -> float:
        """Voltage across ``total``, ``resistor`` or ``coil`` with the meter across it.

        Parameters
        ----------
        across
            Where the leads are.
        coil_siemens
            Admittance of what is connected as the coil.

        """
        load = 1 / self.input_ohm + 1j * _TURN * self.frequency_hz * self.input_farad
        coil = coil_siemens if abs(coil_siemens) > LEAST_SIEMENS else complex(LEAST_SIEMENS)
        z, r = 1 / coil, complex(self.resistor_ohm)
        if across == "resistor":
            r = 1 / (1 / r + load)
        elif across == "coil":
            z = 1 / (coil + load)
        whole = r + z
        if across == "total":
            whole = 1 / (1 / whole + load)
        there = {"total": whole, "resistor": r, "coil": z}[across]
        return abs(self.drive_volt * there / (self.source_ohm + whole))

    @property
    def meter_gain(self) -> float:
        """What the meter shows of a voltage at this tone, roll-off alone."""
        return 1 / math.sqrt(1 + (self.frequency_hz / self.roll_off_hz) ** 2)


def load_with(circuit: ToneCircuit, meter: Meter) -> None:
    """Put the input of a meter across what is read in a circuit, and give it its roll-off."""
    ac = meter.ac
    circuit.input_ohm = float(ac.input_resistance.m_as("ohm"))
    circuit.input_farad = float(ac.input_capacitance.m_as("farad"))
    circuit.roll_off_hz = ROLL_OFF * float(ac.highest.m_as("hertz"))


@dataclass
class ToneBench(ToneCircuit):
    """A circuit in which one coil of a head is connected, and leads that somebody holds.

    Parameters
    ----------
    coil
        Name of the coil that is connected.
    across
        Where the leads are: ``total``, ``resistor``, ``coil``; None for in the air.
    on
        Whether the source gives its tone.

    """

    coil: str = ""
    across: str | None = None
    on: bool = True

    def connect(self, coil: str) -> None:
        """Connect another coil, the leads off."""
        self.across, self.coil = None, coil
