"""Is a meter as accurate as it states?  Its readings of known resistors, against both limits.

A reading y through leads of r_0 of a resistor R with tolerance t, on a meter that states the
limit of error a::

    d = y - r_0 - R                            what is to be explained
    |d| <= a + t R + 3 u_r                     a meter and a resistor within their limits

u_r holds what is random: null, scatter, last digit.  A sound meter with a sound resistor is
refused only when the random part is beyond three standard uncertainties, whatever the shapes
of the limits.  E_n = d / sqrt(U_a^2 + U_t^2 + U_r^2), with U = 2 u and rectangular limits, is
reported beside it (ISO 13528:2022 9.7; GUM 4.3.7).  Where |E_n| > 1 and the limits still
hold, nothing is decided.

A proof must be able to fail: it counts only where a meter whose error is three times what it
states would have been refused.  A resistor whose tolerance is too wide for that decides
nothing, and which would is said.  Substitution against a resistor known better than the meter
cancels its gain (EA-4/02 M:2022, S3): the factor is reported, and never applied silently.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from coilmeter.compute.circumstances import MeterTable
from coilmeter.units import format_ohm
from coilmeter.values.proofs import KnownResistor, Outcome, ResistorCheck, Taken

POWER: Final = 3.0
"""An error of so many times the stated limit must be caught, or a proof counts for nothing."""

SIGMAS: Final = 3.0
HIGHEST_NULL_OHM: Final = 2.0
_SQRT3: Final = math.sqrt(3.0)
_SQRT12: Final = math.sqrt(12.0)
_COVERAGE: Final = 2.0


def mean_u_ohm(taken: Taken) -> float:
    """Give the standard uncertainty of a mean from its scatter and the last digit, in ohm."""
    return math.hypot(taken.scatter_ohm / math.sqrt(taken.count), taken.step_ohm / _SQRT12)


def stated_limit_ohm(table: MeterTable, ohm: float, step_ohm: float) -> float | None:
    """Limit of error a meter states for a reading, in ohm; None past its ranges."""
    if not table.ranges:
        return table.meter.fraction * abs(ohm) + table.counts * step_ohm
    found = table.range_for(ohm, None, step_ohm)
    return None if found is None else found.fraction * abs(ohm) + found.floor_ohm


def check_null(null: Taken, swapped: Taken | None, table: MeterTable) -> tuple[Outcome, str]:
    """Judge the shorted leads: neither below zero, nor of ohms, nor restless, nor one-sided."""
    limit = stated_limit_ohm(table, 0.0, null.step_ohm) or 0.0
    if null.mean_ohm < -limit - SIGMAS * mean_u_ohm(null):
        return Outcome.REFUSED, (
            f"shorted leads read {format_ohm(null.mean_ohm)}, further below zero than "
            f"the meter states ({format_ohm(limit)}): is REL on, or its zero off?"
        )
    if null.mean_ohm > HIGHEST_NULL_OHM:
        return Outcome.REFUSED, (
            f"shorted leads read {format_ohm(null.mean_ohm)}: bad leads, plugs or clips"
        )
    restless = max(limit, SIGMAS * null.step_ohm)
    if null.scatter_ohm > restless:
        return Outcome.REFUSED, (
            f"shorted leads scatter by {format_ohm(null.scatter_ohm)}: a loose plug, or a clip "
            "that is not clean"
        )
    if swapped is None:
        return Outcome.ACCEPTED, ""
    apart = abs(null.mean_ohm - swapped.mean_ohm)
    allowed = SIGMAS * math.hypot(mean_u_ohm(null), mean_u_ohm(swapped)) + restless
    if apart > allowed:
        return Outcome.REFUSED, (
            f"shorted leads read {format_ohm(apart)} apart with the clips swapped: contact or "
            "thermal voltage; let clips and leads come to room temperature"
        )
    return Outcome.ACCEPTED, ""


def check_resistor(
    resistor: KnownResistor, taken: Taken, null: Taken, table: MeterTable
) -> ResistorCheck:
    """Judge one known resistor.

    Parameters
    ----------
    resistor, taken
        The resistor and its readings.
    null
        Readings of the shorted leads.
    table
        What the meter states.

    """
    deviation = taken.mean_ohm - null.mean_ohm - resistor.ohm
    stated = stated_limit_ohm(table, taken.mean_ohm, taken.step_ohm)
    allowed = resistor.tolerance * resistor.ohm
    random = math.hypot(mean_u_ohm(taken), mean_u_ohm(null))
    limit = stated or 0.0
    u = math.sqrt((limit / _SQRT3) ** 2 + (allowed / _SQRT3) ** 2 + random**2)
    e_n = deviation / (_COVERAGE * u) if u > 0 else 0.0
    outcome, why = _decide(resistor.ohm, deviation, stated, allowed, SIGMAS * random, e_n=e_n)
    return ResistorCheck(
        resistor,
        taken,
        deviation,
        limit,
        allowed,
        random,
        e_n,
        outcome,
        f"{resistor.text}: read {format_ohm(taken.mean_ohm - null.mean_ohm)} without the "
        f"leads, {_signed(deviation)} off; {why}",
    )


def overall(parts: Sequence[tuple[Outcome, str]]) -> tuple[Outcome, tuple[str, ...]]:
    """Sum up: refused where one part is, accepted where all are, else undecided."""
    outcomes = [outcome for outcome, _ in parts]
    reasons = tuple(why for _, why in parts if why)
    if Outcome.REFUSED in outcomes:
        return Outcome.REFUSED, reasons
    if outcomes and all(outcome is Outcome.ACCEPTED for outcome in outcomes):
        return Outcome.ACCEPTED, reasons
    return Outcome.UNDECIDED, reasons


def gain_factor(check: ResistorCheck) -> tuple[float, float]:
    """Factor that the readings of the meter would have to be multiplied with, and its u.

    By substitution (EA-4/02 S3): reference over reading; u from the tolerance (rectangular)
    and what is random.
    """
    read = check.resistor.ohm + check.deviation_ohm
    factor = check.resistor.ohm / read
    return factor, factor * math.hypot(check.resistor_ohm / _SQRT3, check.random_ohm) / read


def _decide(
    ohm: float,
    deviation: float,
    stated: float | None,
    allowed: float,
    random: float,
    *,
    e_n: float,
) -> tuple[Outcome, str]:
    if stated is None:
        return Outcome.UNDECIDED, "past the ranges of the meter: take a smaller resistor"
    together = stated + allowed + random
    parts = f"the meter states {format_ohm(stated)}, the resistor {format_ohm(allowed)}"
    if abs(deviation) > together:
        return Outcome.REFUSED, f"more than both explain ({parts})"
    # An error of POWER times the stated limit would have to be seen past the resistor's own.
    room = (POWER - 1) * stated - random
    if allowed > room:
        if room <= 0:
            return Outcome.UNDECIDED, f"the readings scatter too much to tell ({parts})"
        return Outcome.UNDECIDED, (
            f"its tolerance is too wide to prove this meter ({parts}): take one of "
            f"{_percent_below(room / ohm)} % or less"
        )
    if abs(e_n) > 1:
        return (
            Outcome.UNDECIDED,
            f"E_n {e_n:+.2f}: take a resistor of closer tolerance ({parts})",
        )
    return Outcome.ACCEPTED, f"E_n {e_n:+.2f} ({parts})"


def _percent_below(fraction: float) -> str:
    """Write a fraction in per cent with two digits, rounded down."""
    percent = 100 * fraction
    digits = 1 - math.floor(math.log10(percent))
    return f"{math.floor(percent * 10**digits) / 10**digits:g}"


def _signed(ohm: float) -> str:
    return f"{'+' if ohm >= 0 else '-'}{format_ohm(abs(ohm))}"
