"""Leads of a meter that is proved: shorted one way round and the other, and their limits."""

from __future__ import annotations

import math
from typing import Final

from coilmeter.compute.circumstances import MeterTable, RangeFigures
from coilmeter.units import format_ohm
from coilmeter.values.proofs import LeadNull, Outcome, Taken

SIGMAS: Final = 3.0
"""What is random is believed within so many standard uncertainties."""

HIGHEST_NULL_OHM: Final = 2.0
"""More than this between two clips that touch is a fault (tool's own limit)."""

_SQRT3: Final = math.sqrt(3.0)
_SQRT12: Final = math.sqrt(12.0)


def mean_u_ohm(taken: Taken) -> float:
    """Give the standard uncertainty of a mean from its scatter and the last digit, in ohm.

    A single reading says nothing of its scatter: one last digit to either side is taken.
    """
    rounding = taken.step_ohm / (_SQRT12 if taken.count > 1 else _SQRT3)
    return math.hypot(taken.scatter_ohm / math.sqrt(taken.count), rounding)


def limit_ohm(found: RangeFigures, ohm: float) -> float:
    """Limit of error that a range states for a reading."""
    return found.fraction * abs(ohm) + found.floor_ohm


def stated_limit_ohm(table: MeterTable, ohm: float, step_ohm: float) -> float | None:
    """Limit of error a meter states for a reading, in ohm; None past its ranges."""
    found = table.range_for(ohm, None, step_ohm)
    return None if found is None else limit_ohm(found, ohm)


def lead_null(null: Taken, swapped: Taken | None) -> LeadNull:
    """Resistance of the leads, from their readings the one way round and the other.

    The mean of both; half their difference goes into the uncertainty as a limit, since
    nobody asks which way round the leads are later on.
    """
    if swapped is None:
        return LeadNull(null.mean_ohm, mean_u_ohm(null), null.scatter_ohm)
    thermal = (null.mean_ohm - swapped.mean_ohm) / 2
    random = math.hypot(mean_u_ohm(null), mean_u_ohm(swapped)) / 2
    return LeadNull(
        (null.mean_ohm + swapped.mean_ohm) / 2,
        math.hypot(random, thermal / _SQRT3),
        max(null.scatter_ohm, swapped.scatter_ohm),
        thermal,
    )


def check_null(null: Taken, swapped: Taken | None, table: MeterTable) -> tuple[Outcome, str]:
    """Judge the shorted leads: neither below zero, nor of ohms, nor restless, nor one-sided."""
    limit = stated_limit_ohm(table, 0.0, null.step_ohm) or 0.0
    restless = max(limit, SIGMAS * null.step_ohm)
    for taken in (null, swapped) if swapped is not None else (null,):
        why = _wrong_null(taken, limit, restless)
        if why:
            return Outcome.REFUSED, why
    if swapped is None:
        return Outcome.ACCEPTED, ""
    apart = abs(null.mean_ohm - swapped.mean_ohm)
    allowed = SIGMAS * math.hypot(mean_u_ohm(null), mean_u_ohm(swapped)) + restless
    if apart > allowed:
        return Outcome.REFUSED, (
            f"shorted leads read {format_ohm(apart)} apart with the plugs swapped: contact or "
            "thermal voltage; clean plugs and clips, and let all come to room temperature"
        )
    return Outcome.ACCEPTED, ""


def _wrong_null(taken: Taken, limit: float, restless: float) -> str:
    """Say why a reading of shorted leads cannot be; empty where it can."""
    if taken.mean_ohm < -limit - SIGMAS * mean_u_ohm(taken):
        return (
            f"shorted leads read {format_ohm(taken.mean_ohm)}, further below zero than "
            f"the meter states ({format_ohm(limit)}): is REL on, or its zero off?"
        )
    if taken.mean_ohm > HIGHEST_NULL_OHM:
        return f"shorted leads read {format_ohm(taken.mean_ohm)}: bad leads, plugs or clips"
    if taken.scatter_ohm > restless:
        return (
            f"shorted leads scatter by {format_ohm(taken.scatter_ohm)}: a loose plug, or a "
            "clip that is not clean"
        )
    return ""
