"""What was found when a meter was proved: shorted leads, open leads, known resistors."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Outcome(StrEnum):
    """What a proof, or a part of one, says of a meter."""

    ACCEPTED = "accepted"
    REFUSED = "refused"
    UNDECIDED = "undecided"


@dataclass(frozen=True, slots=True)
class Taken:
    """Readings that came to rest, in ohm: mean, standard deviation, how many, the last digit.

    `raw` are the bytes they came from in hex, a blank between two readings.
    """

    mean_ohm: float
    scatter_ohm: float = 0.0
    count: int = 1
    step_ohm: float = 0.0
    raw: str = ""


@dataclass(frozen=True, slots=True)
class LeadNull:
    """What the leads add, in ohm.

    Parameters
    ----------
    ohm, u_ohm
        Their resistance and its standard uncertainty.
    scatter_ohm
        Standard deviation of the readings of the shorted leads.
    thermal_ohm
        Half the difference between the two ways round; None where they were not swapped.

    """

    ohm: float
    u_ohm: float
    scatter_ohm: float = 0.0
    thermal_ohm: float | None = None


@dataclass(frozen=True, slots=True)
class KnownResistor:
    """A resistor whose value is known: as written, nominal in ohm, tolerance as a fraction."""

    text: str
    ohm: float
    tolerance: float


@dataclass(frozen=True, slots=True)
class ResistorCheck:
    """A known resistor as the meter read it.

    Parameters
    ----------
    resistor, taken
        The resistor, and its readings.
    deviation_ohm
        Reading less lead null less nominal value.
    meter_ohm, resistor_ohm
        Limits of error that the meter states there, and that the tolerance allows.
    random_ohm
        Standard uncertainty of the deviation from null, scatter and last digit.
    range_ohm
        End of the range it was read on; None where the meter states no ranges.
    e_n
        Deviation over its expanded uncertainty, all parts together.
    missed
        Chance that a meter would have been accepted here whose gain is off by three times
        what it states; 1 where nothing is stated.
    outcome, why
        What it says of the meter, and the figures behind that.

    """

    resistor: KnownResistor
    taken: Taken
    deviation_ohm: float
    meter_ohm: float
    resistor_ohm: float
    random_ohm: float
    range_ohm: float | None
    e_n: float
    missed: float
    outcome: Outcome
    why: str


@dataclass(frozen=True, slots=True)
class MeterProof:
    """The proof of one meter.

    Parameters
    ----------
    meter, form, port
        Meter as the catalog names it, wire format and what tells the port; ``typed`` for
        both where the readings were typed.
    made
        When, RFC 3339 in UTC.
    null_ohm, u_null_ohm, null_scatter_ohm
        Resistance of the leads, its standard uncertainty, and how the readings scattered.
    thermal_ohm
        Half the difference of the null with the clips swapped; None where that was left out.
    open_read, open_range_ohm
        Whether open leads read OL, and on a range to which end; None where that is not known.
    display_agrees
        Whether a person said that the display shows what the program does; None where nobody
        was asked.
    checks
        The known resistors.
    outcome, why
        What it comes to, and the reasons.
    version
        Version of this program.

    """

    meter: str
    form: str
    port: str
    made: str
    null_ohm: float
    u_null_ohm: float
    null_scatter_ohm: float
    thermal_ohm: float | None
    open_read: bool
    open_range_ohm: float | None
    display_agrees: bool | None
    checks: tuple[ResistorCheck, ...]
    outcome: Outcome
    why: tuple[str, ...]
    version: str
