"""What was read: a decoded frame of a meter, and a row of a readings file."""

from __future__ import annotations

from dataclasses import dataclass

from coilmeter.units import ReadingText
from coilmeter.values.flexing import FlexEvidence
from coilmeter.values.words import Flag, Function, Purpose, Role


@dataclass(frozen=True, slots=True)
class Reading:
    """One decoded frame of a meter.

    Parameters
    ----------
    function
        What the meter measures; never assumed to be ohms.
    value
        The value in `unit`; None for an overload, or where the frame carries none.
    unit
        SI unit name: ``ohm``, ``volt``, ``ampere``, ``farad``, ``henry``, ``hertz``,
        ``degree_Celsius``, or empty where the frame does not tell.
    overload
        Whether the display shows over-range.
    resolution, full_scale
        Last digit and end of the range in `unit`, None where the wire does not tell.
    flags
        What else the display shows.
    raw
        The bytes of the frame, as received.
    display
        The display as a person would read it.

    """

    function: Function
    value: float | None
    unit: str
    overload: bool = False
    resolution: float | None = None
    full_scale: float | None = None
    flags: frozenset[Flag] = frozenset()
    raw: bytes = b""
    display: str = ""

    @property
    def is_ohms(self) -> bool:
        """Whether the frame is a resistance, measured as such or by the beeper."""
        return self.function in {Function.RESISTANCE, Function.CONTINUITY}


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """One row of a readings file: its text understood, its names not yet looked up.

    Parameters
    ----------
    path, line
        Where it was written, for messages.
    head, kind, coil, other, role, pins, purpose
        What was measured.  For isolation, `coil` is one side and `other` the far side, a
        coil's name or ``case``.  Empty or None where the file does not say.
    reading
        The reading, as understood.
    range_ohm
        End of the range it was read on in ohm; None where it was not written, infinity where
        the row says that the meter was ranging by itself.
    lead
        What is known of the leads, as text (``0.2 ohm``, ``nulled``, ``four-wire``).
    temperature, time, note
        As written; empty where not.
    count, scatter_ohm
        How many readings were averaged, and their standard deviation in ohm.
    proof
        How it is known that the clips touched the pins while the meter showed OL:
        ``bridged``, ``key``, or empty.
    raw
        The bytes it came from, in hex.
    flex
        What the coil did while its joint was moved; None for all rows that are not about
        that.  Its `reading` is then the median, and no second value of the coil.
    named
        False where the file names no head: then the head is that of this file alone.
    broken
        True where a cell was a mistake: such a row is only looked through for more of them.

    """

    path: str
    line: int
    head: str
    reading: ReadingText
    kind: str = ""
    coil: str = ""
    other: str = ""
    role: Role | None = None
    pins: tuple[str, str] | None = None
    purpose: Purpose | None = None
    range_ohm: float | None = None
    meter: str = ""
    lead: str = ""
    temperature: str = ""
    time: str = ""
    note: str = ""
    count: int = 1
    scatter_ohm: float = 0.0
    proof: str = ""
    raw: str = ""
    flex: FlexEvidence | None = None
    named: bool = True
    broken: bool = False
