"""Coils of one head against each other.

The deviation of a coil is its resistance over the median of the siblings', minus one.
What all siblings share (the meter's gain, the lead null, the temperature of the sitting)
acts on coil and median alike and cancels to first order; only counts, rounding and scatter
remain.  So a mismatch of a few per cent is seen with a meter of one per cent.  The middle
one of an odd number keeps what is its own: it must not be its own measure.

No test of an outlier among two to four coils is used: with so few, such tests fire on
sound groups or can hardly fire at all.

Sources: JCGM 100:2008 (GUM) 5.2.2 and 5.2.4 (shared components); ISO 13528:2022 9.7 for
comparing with the shared part of the uncertainty left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from coilmeter.compute.verdict import CONFIDENCE, UNDECIDED, Floats, interval_probability
from coilmeter.units import Quantity


@dataclass(frozen=True, slots=True)
class Shared:
    """A cause of uncertainty that several siblings have in common.

    Parameters
    ----------
    u
        What it contributes to the standard uncertainty of each coil, shape (..., n).
    group
        Which coils share one and the same cause: equal numbers, from 0 up, share;
        shape (..., n).

    """

    u: Quantity
    group: npt.NDArray[np.int_]


@dataclass(frozen=True, slots=True)
class Deviations:
    """Deviation of each sibling from the median, as fractions, shape (..., n)."""

    deviation: Floats
    u: Floats


def deviations(resistance: Quantity, own_u: Quantity, shared: Sequence[Shared]) -> Deviations:
    """Compare the siblings along the last axis.

    Parameters
    ----------
    resistance
        Resistance of each sibling, shape (..., n), n at least 2.
    own_u
        Standard uncertainty that is each coil's own, same shape.
    shared
        Causes in common.

    Raises
    ------
    ValueError
        When a median is not above zero: there is no deviation from nothing.

    """
    r = np.asarray(resistance.m_as("ohm"), float)
    own = np.asarray(own_u.m_as("ohm"), float)
    n = r.shape[-1]
    weight = _median_weights(r)
    median = np.sum(weight * r, axis=-1, keepdims=True)
    if not np.all(median > 0):
        message = "the median of the siblings must be above zero"
        raise ValueError(message)
    # slope[..., i, j] is the change of deviation i with resistance j
    slope = (np.eye(n) - (r / median)[..., :, None] * weight[..., None, :]) / median[..., None]
    variance = np.sum((slope * own[..., None, :]) ** 2, axis=-1)
    # A coil that alone is the median cancels against itself, but to first order only (GUM
    # 5.1.2 needs a smooth function, and that median is none): its own part stays.
    variance += np.where(weight == 1, own / median, 0.0) ** 2
    for cause in shared:
        each = np.asarray(cause.u.m_as("ohm"), float)
        for number in range(int(cause.group.max()) + 1):
            part = np.where(cause.group == number, each, 0.0)
            variance += np.sum(slope * part[..., None, :], axis=-1) ** 2
    return Deviations(r[...] / median - 1, np.sqrt(variance))


def match_zones(
    found: Deviations,
    noticeable_above: Any,
    mismatched_above: Any,
    confidence: float = CONFIDENCE,
) -> npt.NDArray[np.int_]:
    """Index into `coilmeter.values.MATCH_ZONES` of each coil, `UNDECIDED` where none is sure.

    Parameters
    ----------
    found
        Deviations and their standard uncertainties.
    noticeable_above, mismatched_above
        Limits of the size of the deviation, as fractions (float or array).
    confidence
        Probability that decides.

    """
    size = np.abs(found.deviation)
    certain = found.u == 0
    u = np.where(certain, 1.0, found.u)

    def below(limit: Any) -> Floats:
        """Probability that the deviation, on the side where it was found, is below a limit."""
        sure = (size < limit).astype(float)
        return np.where(certain, sure, interval_probability(-np.inf, (limit - size) / u))

    # Matched counts both sides; the others only the side where the deviation was found, so
    # that a wide uncertainty alone is no mismatch.
    far_side = np.where(
        certain, 0.0, interval_probability(-np.inf, (-noticeable_above - size) / u)
    )
    noticeable, mismatched = below(noticeable_above), below(mismatched_above)
    zones = np.stack([noticeable - far_side, mismatched - noticeable, 1 - mismatched])
    return np.where(zones.max(axis=0) >= confidence, zones.argmax(axis=0), UNDECIDED)


def _median_weights(r: Floats) -> Floats:
    """Share of each value in the median along the last axis; equal values share alike."""
    ranked = np.sort(r, axis=-1)
    n = r.shape[-1]
    weight = np.zeros_like(r)
    for middle in ((n - 1) // 2, n // 2):
        same = r == ranked[..., middle : middle + 1]
        weight += 0.5 * same / same.sum(axis=-1, keepdims=True)
    return weight
