"""What is slow in a stream, and how far it scatters."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from coilmeter.compute.flex_rest import Floats
from coilmeter.compute.flex_rule import FlexRule

_TO_SIGMA: Final = 1.4826
"""Standard deviation of a normal distribution over its median absolute deviation
(Iglewicz & Hoaglin, as in the NIST/SEMATECH e-Handbook 1.3.5.17: 1/0.6745)."""

_SLICE_S: Final = 1.0
_LEAST_SLICES: Final = 4


@dataclass(frozen=True, slots=True)
class Drift:
    """What is slow in a stream, in ohm.

    Parameters
    ----------
    ohm, first_ohm, last_ohm
        From the first second to the last, with its sign, and those two.
    wander_ohm, wanders
        From the lowest second to the highest, and whether that is more than warmth.
    creeping
        Whether it goes one way, smoothly, by more than warmth: a charging capacitor does so,
        and a joint does not.

    """

    ohm: float = 0.0
    first_ohm: float = 0.0
    last_ohm: float = 0.0
    wander_ohm: float = 0.0
    wanders: bool = False
    creeping: bool = False


def robust_scatter(values: Floats) -> float:
    """Give 1.4826 times the median absolute deviation from the median."""
    return _TO_SIGMA * float(np.median(np.abs(values - np.median(values))))


def _slices(at: Floats, ohm: Floats) -> Floats:
    """Medians of each second, but for those with much fewer readings than the others."""
    if not len(at):
        return at
    number = np.floor((at - at[0]) / _SLICE_S).astype(int)
    parts = np.split(ohm, np.flatnonzero(np.diff(number)) + 1)
    usual = float(np.median([len(part) for part in parts]))
    return np.array([np.median(part) for part in parts if len(part) >= usual / 2])


def drift_of(at: Floats, ohm: Floats, scale_ohm: float, rule: FlexRule) -> Drift:
    """Find what is slow: the drift from the first to the last second, and if it is a creep.

    Parameters
    ----------
    at, ohm
        Times and finite values.
    scale_ohm
        What warmth, digits and scatter can make.
    rule
        The limits.

    """
    slices = _slices(at, ohm)
    if len(slices) < _LEAST_SLICES:
        return Drift()
    drift = float(slices[-1] - slices[0])
    ways = float(np.abs(np.diff(slices)).sum())
    # The middle of three: one damaged frame is no step.
    middle = np.median(np.stack([ohm[:-2], ohm[1:-1], ohm[2:]]), axis=0)
    step = float(np.abs(np.diff(middle)).max())
    wander = float(slices.max() - slices.min())
    return Drift(
        drift,
        float(slices[0]),
        float(slices[-1]),
        wanders=wander > scale_ohm,
        wander_ohm=wander,
        creeping=abs(drift) > scale_ohm
        and abs(drift) >= rule.one_way * ways
        and step <= rule.smooth * abs(drift),
    )
