"""Values that stand out of a large enough group of good ones, named before anything is learnt.

Neither test is used on the two to four coils of one head: there the modified z-score fires on
more than one clean group in six, and Grubbs' test can hardly fire at all.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

FEWEST_FOR_Z: Final = 10
FEWEST_FOR_GRUBBS: Final = 6
Z_LIMIT: Final = 3.5
"""Iglewicz & Hoaglin, How to Detect and Handle Outliers, ASQC 1993 (as in the NIST/SEMATECH
e-Handbook 1.3.5.17)."""

_TO_SIGMA: Final = 0.6745
SIGNIFICANCE: Final = 0.05


@dataclass(frozen=True, slots=True)
class Outlier:
    """One value that stands out: its place in the group, and the figure that says so."""

    index: int
    why: str


def modified_z(values: Sequence[float]) -> np.ndarray:
    """Give the modified z-score of each value: 0.6745 (x - median) / MAD.

    Zero for all where half of the values are equal: then the deviation tells nothing.
    """
    array = np.asarray(values, float)
    away = array - np.median(array)
    mad = float(np.median(np.abs(away)))
    return _TO_SIGMA * away / mad if mad > 0 else np.zeros_like(array)


def grubbs(values: Sequence[float]) -> tuple[int, float]:
    """Index of the value farthest from the mean, and Grubbs' statistic G of it."""
    array = np.asarray(values, float)
    away = np.abs(array - array.mean())
    spread = float(array.std(ddof=1))
    index = int(away.argmax())
    return index, float(away[index]) / spread if spread > 0 else 0.0


def grubbs_limit(count: int, significance: float = SIGNIFICANCE) -> float:
    """Critical value of the two-sided test for `count` values (ISO 5725-2:2019, table 5)."""
    from scipy import stats  # noqa: PLC0415 - only where a distribution is needed

    t = float(stats.t.ppf(1 - significance / (2 * count), count - 2))
    return (count - 1) / math.sqrt(count) * math.sqrt(t * t / (count - 2 + t * t))


def outliers(values: Sequence[float]) -> list[Outlier]:
    """Values that stand out, the farthest first; none where the group is too small to say."""
    count = len(values)
    found: dict[int, str] = {}
    if count >= FEWEST_FOR_GRUBBS:
        index, statistic = grubbs(values)
        limit = grubbs_limit(count)
        if statistic > limit:
            found[index] = f"Grubbs G = {statistic:.2f}, above {limit:.2f}"
    if count >= FEWEST_FOR_Z:
        scores = modified_z(values)
        for index in np.flatnonzero(np.abs(scores) > Z_LIMIT).tolist():
            found.setdefault(index, f"modified z = {scores[index]:+.1f}, beyond {Z_LIMIT}")
    median = float(np.median(np.asarray(values, float))) if count else 0.0
    order = sorted(found, key=lambda index: -abs(values[index] - median))
    return [Outlier(index, found[index]) for index in order]
