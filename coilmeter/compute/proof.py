"""Is a meter as accurate as it states?  Its readings of known resistors, against both limits.

A reading y of a resistor R of tolerance t, through leads of r_0, on a meter that states the
limit of error a::

    d = y - r_0 - R                            what is to be explained
    |d| <= a + t R + 3 u_r                     a meter and a resistor within their limits

u_r holds what is random: null, scatter, last digit.  A sound meter with a sound resistor is
refused only when the random part is beyond three standard uncertainties, whatever the shapes
of the limits.  E_n = d / sqrt(U_a^2 + U_t^2 + U_r^2), with U = 2 u and rectangular limits, is
reported beside it (ISO 13528:2022 9.7; GUM 4.3.7).  Where |E_n| > 1 and the limits still
hold, nothing is decided.

A proof must be able to fail.  A resistor counts only where a meter whose gain is off by three
times what it states, in the middle of the range that was read, would have been accepted with
a chance of 5 % at most; the resistor lies anywhere within its tolerance then, all values
alike.  So a small resistor low on a range proves nothing of it, where the last digits hide
the gain, and neither does a tolerance that is too wide.  Which one would do is said.

Substitution against a resistor known better than the meter cancels its gain (EA-4/02 M:2022,
S3): the factor is reported, and never applied silently.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from coilmeter.compute.circumstances import MeterTable, RangeFigures
from coilmeter.compute.proof_leads import SIGMAS, limit_ohm, mean_u_ohm
from coilmeter.units import format_ohm
from coilmeter.values.proofs import KnownResistor, LeadNull, Outcome, ResistorCheck, Taken

POWER: Final = 3.0
"""A gain that is off by so many times the stated limit must be seen, or a resistor counts for
nothing."""

MISSED: Final = 0.05
"""Highest chance of not seeing it."""

TOLERANCES: Final = (0.1, 0.05, 0.02, 0.01, 0.005, 0.0025, 0.001, 0.0005, 0.0002, 0.0001)
"""Tolerances that resistors are sold with, as fractions (common practice, no source)."""

_SQRT3: Final = math.sqrt(3.0)
_SQRT12: Final = math.sqrt(12.0)
_COVERAGE: Final = 2.0
_NEAR_END: Final = 0.9
_STEPS: Final = 40


def check_resistor(
    resistor: KnownResistor, taken: Taken, null: LeadNull, table: MeterTable
) -> ResistorCheck:
    """Judge one known resistor.

    Parameters
    ----------
    resistor, taken
        The resistor and its readings.
    null
        What the leads add.
    table
        What the meter states.

    """
    deviation = taken.mean_ohm - null.ohm - resistor.ohm
    found = table.range_for(taken.mean_ohm, None, taken.step_ohm)
    stated = 0.0 if found is None else limit_ohm(found, taken.mean_ohm)
    random = math.hypot(mean_u_ohm(taken), null.u_ohm)
    case = _Case(resistor.ohm, resistor.tolerance, stated, random, found)
    e_n = deviation / (_COVERAGE * case.u_ohm) if case.u_ohm > 0 else 0.0
    outcome, why = case.decide(deviation, e_n)
    percent = 100 * deviation / resistor.ohm
    return ResistorCheck(
        resistor=resistor,
        taken=taken,
        deviation_ohm=deviation,
        meter_ohm=stated,
        resistor_ohm=case.allowed_ohm,
        random_ohm=random,
        range_ohm=found.full_scale_ohm if found is not None and table.ranges else None,
        e_n=e_n,
        missed=case.missed,
        outcome=outcome,
        why=f"{resistor.text}: read {format_ohm(taken.mean_ohm - null.ohm)} without the "
        f"leads, {_signed(deviation)} ({percent:+.2f} %) off; {why}",
    )


def foreseen(resistor: KnownResistor, table: MeterTable) -> str:
    """Say which resistor to take where this one cannot prove the meter; empty where it can.

    Before anything is read: only the last digit is uncertain then.
    """
    found = table.range_for(resistor.ohm, None)
    if found is None:
        return "it is past the ranges of the meter: take a smaller one"
    stated = limit_ohm(found, resistor.ohm)
    random = math.hypot(1, 1) * found.resolution_ohm / _SQRT12
    case = _Case(resistor.ohm, resistor.tolerance, stated, random, found)
    return "" if case.missed <= MISSED else case.better()


def of_resistors(checks: Sequence[ResistorCheck]) -> list[tuple[Outcome, str]]:
    """Sum up what the resistors say, for `overall`.

    One that is as it should be and too weak to prove anything takes nothing away from
    another that proves it.
    """
    if not checks:
        return [(Outcome.UNDECIDED, "no known resistor was read: accuracy is not proved")]
    proved = any(check.outcome is Outcome.ACCEPTED for check in checks)
    return [
        (Outcome.ACCEPTED if proved and _only_weak(check) else check.outcome, check.why)
        for check in checks
    ]


def overall(parts: Sequence[tuple[Outcome, str]]) -> tuple[Outcome, tuple[str, ...]]:
    """Sum up: refused where one part is, accepted where all are, else undecided."""
    outcomes = [outcome for outcome, _ in parts]
    reasons = tuple(why for _, why in parts if why)
    if Outcome.REFUSED in outcomes:
        return Outcome.REFUSED, reasons
    if outcomes and all(outcome is Outcome.ACCEPTED for outcome in outcomes):
        return Outcome.ACCEPTED, reasons
    return Outcome.UNDECIDED, reasons


def substituted(
    standard_ohm: float,
    u_standard_ohm: float,
    ratio: float,
    u_ratio: float,
    *,
    less_ohm: float = 0.0,
    u_less_ohm: float = 0.0,
) -> tuple[float, float]:
    """Measure by substitution: two readings of one meter, whose gain cancels in their ratio.

    ``R_X = R_S r - dR`` (EA-4/02 M:2022, S3.1), the inputs independent.

    Parameters
    ----------
    standard_ohm, u_standard_ohm
        The known resistance and its standard uncertainty.
    ratio, u_ratio
        Reading of the other over the reading of the known one.
    less_ohm, u_less_ohm
        What is to be taken off.

    Returns
    -------
    tuple
        The other resistance and its standard uncertainty, in ohm.

    """
    u_squared = (ratio * u_standard_ohm) ** 2 + (standard_ohm * u_ratio) ** 2 + u_less_ohm**2
    return standard_ohm * ratio - less_ohm, math.sqrt(u_squared)


def gain_factor(check: ResistorCheck) -> tuple[float, float]:
    """Factor that the readings of the meter would have to be multiplied with, and its u.

    By substitution: a reading of one ohm in the place of the resistor's.

    Raises
    ------
    ValueError
        When the resistor read nothing: no factor makes its value of that.

    """
    read = check.resistor.ohm + check.deviation_ohm
    if read <= 0:
        message = f"a reading of {read:g} ohm has no gain"
        raise ValueError(message)
    return substituted(
        check.resistor.ohm, check.resistor_ohm / _SQRT3, 1 / read, check.random_ohm / read**2
    )


@dataclass(frozen=True, slots=True)
class _Case:
    """One resistor of a tolerance, as a fraction, on a range that states a limit there."""

    ohm: float
    tolerance: float
    stated_ohm: float
    random_ohm: float
    found: RangeFigures | None

    @property
    def allowed_ohm(self) -> float:
        """Limit of the resistor."""
        return self.tolerance * self.ohm

    @property
    def u_ohm(self) -> float:
        """Standard uncertainty of the deviation, all parts together."""
        limits = math.hypot(self.stated_ohm, self.allowed_ohm) / _SQRT3
        return math.hypot(limits, self.random_ohm)

    @property
    def together_ohm(self) -> float:
        """What meter, resistor and chance together explain."""
        return self.stated_ohm + self.allowed_ohm + SIGMAS * self.random_ohm

    @property
    def missed(self) -> float:
        """Chance of accepting a meter that is off by `POWER` times what it states."""
        if self.found is None:
            return 1.0
        off = POWER * _gain_limit(self.found) * self.ohm
        reach = min(_COVERAGE * self.u_ohm, self.together_ohm) + SIGMAS * self.random_ohm
        if not self.allowed_ohm:
            return float(reach >= off)
        return min(max((reach - off + self.allowed_ohm) / (2 * self.allowed_ohm), 0.0), 1.0)

    def decide(self, deviation: float, e_n: float) -> tuple[Outcome, str]:
        """Decide, and say why."""
        if self.found is None:
            return Outcome.UNDECIDED, "past the ranges of the meter: take a smaller resistor"
        parts = (
            f"the meter states {format_ohm(self.stated_ohm)}, the resistor "
            f"{format_ohm(self.allowed_ohm)}"
        )
        if abs(deviation) > self.together_ohm:
            return Outcome.REFUSED, f"more than both explain ({parts})"
        if self.missed > MISSED:
            return Outcome.UNDECIDED, (
                f"it proves nothing: of meters {POWER:g} times further off than they state, "
                f"{100 * self.missed:.0f} % would pass here ({parts}); {self.better()}"
            )
        if abs(e_n) > 1:
            return Outcome.UNDECIDED, (
                f"E_n {e_n:+.2f}: neither confirmed nor refused ({parts}); take a resistor of "
                "closer tolerance"
            )
        return Outcome.ACCEPTED, f"E_n {e_n:+.2f} ({parts})"

    def better(self) -> str:
        """Say which resistor would decide."""
        for tolerance in TOLERANCES:
            if self._with(self.ohm, tolerance).missed <= MISSED:
                return f"take one of {100 * tolerance:g} % or less"
        top = 0.0 if self.found is None else _NEAR_END * self.found.full_scale_ohm
        for tolerance in TOLERANCES:
            if top > self.ohm and self._with(top, tolerance).missed <= MISSED:
                return (
                    f"take one of {100 * tolerance:g} % or less, between "
                    f"{_up(self._least(tolerance, top))} and {format_ohm(top)}"
                )
        return "its readings scatter too much to tell"

    def _with(self, ohm: float, tolerance: float) -> _Case:
        stated = 0.0 if self.found is None else limit_ohm(self.found, ohm)
        return _Case(ohm, tolerance, stated, self.random_ohm, self.found)

    def _least(self, tolerance: float, top: float) -> float:
        """Find the smallest resistor that decides, by halving."""
        low, high = self.ohm, top
        for _ in range(_STEPS):
            middle = (low + high) / 2
            if self._with(middle, tolerance).missed <= MISSED:
                high = middle
            else:
                low = middle
        return high


def _gain_limit(found: RangeFigures) -> float:
    """Limit of error in the middle of a range, as a fraction of the reading there."""
    return found.fraction + found.floor_ohm / (found.full_scale_ohm / 2)


def _only_weak(check: ResistorCheck) -> bool:
    """Whether a resistor reads as it should, and cannot prove anything."""
    undecided = check.outcome is Outcome.UNDECIDED and check.meter_ohm > 0
    return undecided and check.missed > MISSED and abs(check.e_n) <= 1


def _up(ohm: float) -> str:
    """Write a resistance with two digits, rounded up."""
    scale = 10.0 ** (math.floor(math.log10(ohm)) - 1)
    return format_ohm(math.ceil(ohm / scale) * scale)


def _signed(ohm: float) -> str:
    return f"{'+' if ohm >= 0 else '-'}{format_ohm(abs(ohm))}"
