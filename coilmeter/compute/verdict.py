"""Zones and their probabilities, and the rule that turns them into a verdict.

A scale of limits l_1 < l_2 < ... cuts the resistances from zero up into zones: below l_1,
between l_1 and l_2, and so on, and above the last.  A value with its uncertainty gives
each zone a probability; a bound only rules zones out.  One zone is the verdict when its
probability reaches the confidence, or when a bound leaves no other.

Source: JCGM 106:2012 clause 7 (conformance probability of a normal distribution), here
truncated at zero because a resistance cannot be negative.  Truncation shifts probability
upward where the uncertainty is of the size of the value; a verdict must therefore hold
without it too, so that knowing less never decides more.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from coilmeter.units import Quantity

CONFIDENCE: Final = 0.95
"""Probability that decides, unless the user asks for another."""

UNDECIDED: Final = -1
Floats = npt.NDArray[np.float64]

_erfc = np.frompyfunc(math.erfc, 1, 1)
_SQRT2: Final = math.sqrt(2.0)


@dataclass(frozen=True, slots=True)
class Zoned:
    """What evidence says of the zones of a scale.

    Parameters
    ----------
    probability
        Probability of each zone, shape (zones, ...); nan where a bound leaves several.
    possible
        Zones that the evidence leaves, shape (zones, ...): for a value, its own zone, the
        most probable ones that together reach the confidence, and all between them.  Where
        none reach it without truncation, all: a value too coarse rules nothing out.
    decided
        Index of the zone that is the verdict, `UNDECIDED` where there is none; shape (...).

    """

    probability: Floats
    possible: npt.NDArray[np.bool_]
    decided: npt.NDArray[np.int_]

    def forget(self, which: Sequence[int]) -> None:
        """Leave every zone open for some of the evidence, of shape (...,): it says nothing."""
        chosen = list(which)
        self.probability[:, chosen] = math.nan
        self.possible[:, chosen] = True
        self.decided[chosen] = UNDECIDED


def zones_of_value(
    value: Quantity, u: Quantity, limits: Quantity, confidence: float = CONFIDENCE
) -> Zoned:
    """Judge a value with its standard uncertainty.

    Parameters
    ----------
    value, u
        Best estimate and standard uncertainty, one value or arrays of shape (...).
    limits
        Limits of the scale, low to high, shape (zones - 1, ...) or (zones - 1,).
    confidence
        Probability that decides, above 0.5 and below 1.

    Raises
    ------
    ValueError
        When a standard uncertainty is zero or negative: no meter is without error.

    """
    y, sigma, edges = (np.asarray(part.m_as("ohm"), float) for part in (value, u, limits))
    if not np.all(sigma > 0):
        message = "a standard uncertainty must be above zero: no meter is without error"
        raise ValueError(message)
    edges = edges.reshape(edges.shape[0], *edges.shape[1:], *([1] * (y.ndim + 1 - edges.ndim)))
    shape = (1, *np.broadcast_shapes(y.shape, edges.shape[1:]))
    floor, ceiling = np.zeros(shape), np.full(shape, np.inf)
    edges = np.concatenate([floor, np.broadcast_to(edges, (len(edges), *shape[1:])), ceiling])
    z = (edges - y) / sigma
    untruncated = interval_probability(z[:-1], z[1:])
    probability = untruncated / np.sum(untruncated, axis=0)
    # What lies below zero counts for no zone but the lowest, which truncation lowers anyway.
    sure = np.minimum(probability, untruncated)
    sure[0] = probability[0]
    decided = np.where(np.max(sure, axis=0) >= confidence, np.argmax(sure, axis=0), UNDECIDED)
    left = _likeliest(sure, confidence) | _holding(np.maximum(y, 0.0), edges)
    return Zoned(probability, left, decided)


def zones_above(bound: Quantity, limits: Quantity) -> Zoned:
    """Judge a lower bound (an overload, or a silent beeper).

    Only zones that reach past the bound remain; `bound` and `limits` as in
    `zones_of_value`.
    """
    b, edges = _aligned(bound, limits)
    top = np.concatenate([edges > b, np.ones((1, *b.shape), bool)])
    return _zones_left(top)


def zones_below(bound: Quantity, limits: Quantity) -> Zoned:
    """Judge an upper bound (a beep): only zones that begin below the bound remain."""
    b, edges = _aligned(bound, limits)
    bottom = np.concatenate([np.ones((1, *b.shape), bool), edges < b])
    return _zones_left(bottom)


def interval_probability(lower: Floats | float, upper: Floats | float) -> Floats:
    """Probability of a standard normal variable between `lower` and `upper`.

    Taken from the tail that is nearer, so that a small probability keeps its digits.
    """
    low, high = np.broadcast_arrays(lower, upper)
    flip = low > 0
    a, b = np.where(flip, -high, low), np.where(flip, -low, high)
    return np.asarray(_below(b) - _below(a), float)


def _below(z: Floats) -> Floats:
    """Give the standard normal distribution function; -inf and inf give 0 and 1."""
    return np.asarray(_erfc(-z / _SQRT2), float) / 2


def _aligned(bound: Quantity, limits: Quantity) -> tuple[Floats, Floats]:
    b, edges = np.asarray(bound.m_as("ohm"), float), np.asarray(limits.m_as("ohm"), float)
    edges = edges.reshape(edges.shape[0], *edges.shape[1:], *([1] * (b.ndim + 1 - edges.ndim)))
    return np.broadcast_to(b, np.broadcast_shapes(b.shape, edges.shape[1:])), edges


def _zones_left(possible: npt.NDArray[np.bool_]) -> Zoned:
    left = possible.sum(axis=0)
    decided = np.where(left == 1, possible.argmax(axis=0), UNDECIDED)
    probability = np.where(possible, np.where(left == 1, 1.0, np.nan), 0.0)
    return Zoned(probability, possible, decided)


def _likeliest(probability: Floats, confidence: float) -> npt.NDArray[np.bool_]:
    """Mark the fewest zones that together reach the confidence, and what lies between them."""
    order = np.argsort(-probability, axis=0, kind="stable")
    ranked = np.take_along_axis(probability, order, axis=0)
    before: Any = np.cumsum(ranked, axis=0) - ranked
    needed = before < confidence
    marks = np.zeros(probability.shape, bool)
    np.put_along_axis(marks, order, needed, axis=0)
    upward = np.logical_or.accumulate(marks, axis=0)
    downward = np.logical_or.accumulate(marks[::-1], axis=0)[::-1]
    return np.asarray(upward & downward, bool)


def _holding(ohm: Floats, edges: Floats) -> npt.NDArray[np.bool_]:
    """Mark the zone in which a value lies."""
    return np.asarray((edges[:-1] <= ohm) & (ohm < edges[1:]), bool)
