"""What AC volts tell of a coil: its impedance, where the uncertainty comes from, the signs.

An error that two results share bears the same key in both, so that whoever compares them
can let it cancel (JCGM 100:2008, 5.2 and F.1.2).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from coilmeter.units import Quantity, ohms, ureg
from coilmeter.values.words import Match, Role

TURN: Final = 2 * math.pi


class Method(StrEnum):
    """How an impedance was measured; the words of files and commands."""

    THREE_VOLTMETER = "three-voltmeter"
    DC_KNOWN = "dc-known"
    PHASE = "phase"
    TWO_FREQUENCY = "two-frequency"


class Sign(StrEnum):
    """What inductance and Q of a coil show beside those of its siblings."""

    NONE = "no sign"
    SHORTED = "shorted turns suspected"
    WEAR = "wear suspected"
    DIFFERS = "differs"
    UNDECIDED = "undecided"
    NO_REFERENCE = "no reference"

    @property
    def suspicious(self) -> bool:
        """Whether it says that something is not as in the siblings."""
        return self in {Sign.SHORTED, Sign.WEAR, Sign.DIFFERS}


@dataclass(frozen=True, slots=True)
class Part:
    """One cause of uncertainty of an impedance.

    Parameters
    ----------
    key
        The same key in two results means one and the same error.
    cause
        What it is, in a word or two, for a budget.
    r_ohm, x_ohm
        What one standard uncertainty of the cause does to R and to X, with its sign, in ohm.
    rectangular
        Whether the cause has hard limits; else it is taken as normal.
    dof
        Degrees of freedom, infinite for what is not from repeated readings.
    block
        Parts of one block come from the same repeated sets of readings and share their
        degrees of freedom; empty where `key` stands alone.

    """

    key: str
    cause: str
    r_ohm: float
    x_ohm: float
    rectangular: bool = False
    dof: float = math.inf
    block: str = ""


@dataclass(frozen=True, slots=True)
class Impedance:
    """Impedance of a coil at one frequency, with the covariance of its two components.

    Parameters
    ----------
    frequency_hz
        The frequency.
    r_ohm, x_ohm
        Resistance and reactance (series form).
    parts
        The causes of uncertainty, each independent of the others.
    method
        How it was measured.
    cancels, stays
        What cancels in it, and what does not, in words.
    r_assumed
        True where R was not measured at this frequency but taken from elsewhere: Q is then
        no more than an upper limit.

    """

    frequency_hz: float
    r_ohm: float
    x_ohm: float
    parts: tuple[Part, ...]
    method: Method
    cancels: tuple[str, ...] = ()
    stays: tuple[str, ...] = ()
    r_assumed: bool = False

    @property
    def resistance(self) -> Quantity:
        """Series resistance at this frequency."""
        return ohms(self.r_ohm)

    @property
    def reactance(self) -> Quantity:
        """Series reactance."""
        return ohms(self.x_ohm)

    @property
    def magnitude(self) -> Quantity:
        """Size of the impedance."""
        return ohms(math.hypot(self.r_ohm, self.x_ohm))

    @property
    def inductance(self) -> Quantity:
        """Series inductance, X / (2 pi f)."""
        return ureg.Quantity(self.x_ohm / (TURN * self.frequency_hz), "henry")

    @property
    def q(self) -> float:
        """Quality factor X / R; infinite where R is not above zero."""
        return self.x_ohm / self.r_ohm if self.r_ohm > 0 else math.inf

    @property
    def covariance_ohm2(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Covariance matrix of (R, X) in ohm squared."""
        rr = math.fsum(part.r_ohm**2 for part in self.parts)
        xx = math.fsum(part.x_ohm**2 for part in self.parts)
        rx = math.fsum(part.r_ohm * part.x_ohm for part in self.parts)
        return (rr, rx), (rx, xx)


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of a coil with its interval.

    Parameters
    ----------
    value, u
        Best estimate and standard uncertainty, in the SI unit.
    low, high
        Ends of the interval at the confidence asked for; None where it has no end.
    dof
        Effective degrees of freedom.
    k
        Coverage factor of the interval.

    """

    value: float
    u: float
    low: float | None
    high: float | None
    dof: float
    k: float


@dataclass(frozen=True, slots=True)
class Figures:
    """|Z|, R and X in ohm, L in henry and Q of one coil at one frequency."""

    z: Figure
    r: Figure
    x: Figure
    l: Figure  # noqa: E741 - the symbol of an inductance
    q: Figure
    r_x_correlation: float


@dataclass(frozen=True, slots=True)
class CoilFit:
    """A coil fitted to impedances at several frequencies.

    Parameters
    ----------
    resistance_ohm, inductance_h, loss, capacitance_f
        DC resistance, inductance, loss tangent of the core, and capacitance across the coil.
    u
        Standard uncertainties of the four, in the same order and units.
    covariance
        Covariance matrix of the four.
    chi2, dof
        Sum of squared weighted residuals, and degrees of freedom.
    fits
        Whether the residuals are what the uncertainties allow for.
    notes
        What was held fixed or could not be told, in sentences.

    """

    resistance_ohm: float
    inductance_h: float
    loss: float
    capacitance_f: float
    u: tuple[float, float, float, float]
    covariance: tuple[tuple[float, ...], ...]
    chi2: float
    dof: int
    fits: bool
    notes: tuple[str, ...] = ()

    @property
    def self_resonance_hz(self) -> float | None:
        """Where coil and capacitance resonate; None where no capacitance was found."""
        if self.capacitance_f <= 0:
            return None
        return 1 / (TURN * math.sqrt(self.inductance_h * self.capacitance_f))


@dataclass(frozen=True, slots=True)
class ImpedancePoint:
    """One coil at one frequency beside its siblings.

    Parameters
    ----------
    impedance, figures
        What was measured.
    match
        How its inductance stands beside the median of the head's coils.
    deviation, u_deviation
        Deviation of the inductance from that median, and its standard uncertainty.
    q_ratio, u_q_ratio
        Q over the median of the other coils' Q, and its standard uncertainty.
    siblings
        How many coils were compared, itself included; 0 without any.
    below_q
        Probability that the ratio of Q is below the limit.
    l_ratio, u_l_ratio
        Inductance over that of the reference coil, and its standard uncertainty.
    sees_share
        Smallest share of shorted turns that would have been seen here; None where unknown.

    """

    impedance: Impedance
    figures: Figures
    match: Match = Match.NO_SIBLING
    deviation: float | None = None
    u_deviation: float | None = None
    q_ratio: float | None = None
    u_q_ratio: float | None = None
    siblings: int = 0
    below_q: float | None = None
    l_ratio: float | None = None
    u_l_ratio: float | None = None
    sees_share: float | None = None


@dataclass(frozen=True, slots=True)
class CoilImpedance:
    """All that AC volts said of one coil; evidence for a grade, a report and a search.

    Parameters
    ----------
    points
        What was measured, low to high in frequency.
    sign
        What it shows.
    why
        The reasons, in sentences, with what cannot be told apart.
    next
        The measurement that would decide; empty where nothing is open.
    fit
        Fit over several frequencies; None below three.

    """

    points: tuple[ImpedancePoint, ...]
    sign: Sign
    why: tuple[str, ...] = ()
    next: str = ""
    fit: CoilFit | None = None

    @property
    def leading(self) -> ImpedancePoint:
        """The point at the highest frequency, where shorted turns show best."""
        return self.points[-1]


@dataclass(frozen=True, slots=True)
class HeadImpedance:
    """The coils of one head, measured with AC volts.

    Parameters
    ----------
    head, kind
        Which head, and of which kind; empty where not known.
    coils
        What was found, by the name of the coil, in the order of the rows.
    roles
        Role of each coil, by its name.
    notes
        What is true of the head as a whole: assumptions and limits, in sentences.
    refused
        Names of the coils of which voltages could not be used; `notes` say why.

    """

    head: str
    kind: str
    coils: dict[str, CoilImpedance]
    roles: dict[str, Role]
    notes: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()
