"""A row of a file of AC volts: its text understood, its names not yet looked up."""

from __future__ import annotations

from dataclasses import dataclass, field

from coilmeter.units.voltages import VoltageText
from coilmeter.values.impedances import Method
from coilmeter.values.words import Role

ACROSS = ("total", "resistor", "coil")
"""The three places where a voltage is read: source, series resistor, coil."""

AGAIN = "taken again"
"""Begins the note of a voltage that takes the place of an earlier one."""

PUT_ASIDE = "put aside"
"""Begins the note of a row without voltages: those before it, of the same coil at the same
tone, cannot be one circuit's, and do not count."""

STANDS = "stands, as read before"
"""Note of a voltage that was put aside with another one, which alone was read again."""


@dataclass(frozen=True, slots=True)
class AcVolts:
    """One AC voltage: what was read, on which range, and how it scattered.

    Parameters
    ----------
    shown
        The voltage as written.
    range_volt
        End of the range in volt; None where it was not written.
    count, scatter_volt
        How many readings were averaged, and their standard deviation in volt.
    line
        Where it stands, for messages.

    """

    shown: VoltageText
    range_volt: float | None = None
    count: int = 1
    scatter_volt: float = 0.0
    line: int = 0


@dataclass(frozen=True, slots=True)
class Toleranced:
    """A figure in its SI unit, as it was written.

    Parameters
    ----------
    value
        The figure.
    half
        Its half-width (rectangular); None where none was written.
    step
        What its last digit is worth; two figures that differ in it only are the same.

    """

    value: float
    half: float | None
    step: float = field(default=0.0, compare=False)


@dataclass(frozen=True, slots=True)
class ImpedanceRow:
    """One set of readings of one coil at one frequency.

    Parameters
    ----------
    path, line
        Where it was written, for messages.
    head, kind, coil, role
        What was measured; empty or None where the file does not say.
    frequency_hz
        The frequency; None where the cell was a mistake or is missing.
    method
        How it was measured; None where it is to be told from the cells.
    volts
        The voltages by `ACROSS`.
    current, phase
        Current through the coil in ampere, and phase between the two in radian, for
        `Method.PHASE`; None where not written.
    resistor, dc
        The series resistor, and the DC resistance of the coil, in ohm; None where not
        written.
    meter, temperature, time, note
        As written; empty where not.
    number
        Number of the set, where a coil was measured several times at one frequency.
    reference
        Whether it is a coil known to be good, of the same kind.
    named
        False where the file names no head.
    broken
        True where a cell was a mistake: such a row is only looked through for more of them.

    """

    path: str
    line: int
    head: str
    coil: str
    frequency_hz: float | None = None
    kind: str = ""
    role: Role | None = None
    method: Method | None = None
    volts: dict[str, AcVolts] = field(default_factory=dict)
    current: Toleranced | None = None
    phase: Toleranced | None = None
    resistor: Toleranced | None = None
    dc: Toleranced | None = None
    meter: str = ""
    temperature: str = ""
    number: int = 1
    reference: bool = False
    time: str = ""
    note: str = ""
    named: bool = True
    broken: bool = False

    @property
    def readings(self) -> int:
        """How many voltages were read for it: those that only stand again were read before."""
        return 0 if self.note == STANDS else len(self.volts)

    @property
    def aside(self) -> bool:
        """Whether the voltages of this coil at this tone were put aside, and are to be read."""
        return self.note.startswith(PUT_ASIDE) and not self.volts
