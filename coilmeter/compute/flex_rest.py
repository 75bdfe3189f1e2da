"""What a joint reads at rest: its level, and what the meter scatters by itself."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from coilmeter.compute.flex_scan import FlexPoint

REST_LEAST: Final = 12
"""Readings at rest from which the meter's own scatter is taken, at least."""

_SURE: Final = -3.0902
"""Standard normal quantile of 0.001."""

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Rest:
    """What the joint read at rest.

    Parameters
    ----------
    level_ohm, step_ohm, end_ohm
        Median, its last digit, and the end of its range (None where not told).
    scatter_ohm
        Standard deviation about a straight line, so that warmth is no scatter; None where
        nothing was read at rest.
    upper_ohm
        What it is not above, but in one of a thousand such stretches.

    """

    level_ohm: float
    step_ohm: float
    end_ohm: float | None = None
    scatter_ohm: float | None = None
    upper_ohm: float = 0.0


def rest_of(points: Sequence[FlexPoint]) -> Rest:
    """Take the meter's own scatter from readings at rest, none of them open.

    Raises
    ------
    ValueError
        With fewer than `REST_LEAST` readings, or open ones.

    Source: the upper limit is that of a normal sample's variance, with the quantile of
    chi-squared by Wilson and Hilferty, PNAS 17 (1931) 684.

    """
    at, ohm = columns(points)
    if len(points) < REST_LEAST or not np.isfinite(ohm).all():
        raise ValueError("at rest there must be enough readings, and none of them open")
    away = at - at.mean()
    squares = float(away @ away)
    slope = float(away @ ohm) / squares if squares > 0 else 0.0
    left = ohm - ohm.mean() - slope * away
    freedom = len(points) - 2
    scatter = math.sqrt(float(left @ left) / freedom)
    upper = scatter * math.sqrt(freedom / chi_squared_low(freedom))
    return Rest(float(np.median(ohm)), _usual_step(points), points[-1].end_ohm, scatter, upper)


def restless(points: Sequence[FlexPoint]) -> Rest:
    """Take only the level, from finite readings that may have been moved already."""
    _, ohm = columns(points)
    return Rest(float(np.median(ohm)), _usual_step(points), points[-1].end_ohm)


def chi_squared_low(freedom: int) -> float:
    """Quantile of 0.001 of chi-squared (Wilson and Hilferty)."""
    part = 2 / (9 * freedom)
    return freedom * float((1 - part + _SURE * math.sqrt(part)) ** 3)


def columns(points: Sequence[FlexPoint]) -> tuple[Floats, Floats]:
    """Give times and values as arrays."""
    at = np.array([point.at for point in points], float)
    return at, np.array([point.ohm for point in points], float)


def _usual_step(points: Sequence[FlexPoint]) -> float:
    steps = [point.step_ohm for point in points]
    return max(set(steps), key=steps.count)
