"""Factors of normal tolerance intervals: mean +/- k s holds a share of a population.

Exact factors and the usual approximation of the two-sided one.  Sources: ISO 16269-6:2014
(two-sided exact by integration over the mean; one-sided by the noncentral t); W. G. Howe,
"Two-sided tolerance limits for normal populations", J. Am. Stat. Assoc. 64 (1969) 610-620;
NIST/SEMATECH e-Handbook of Statistical Methods 7.2.6.3.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from coilmeter.errors import InputError

FEWEST: Final = 2
_NODES: Final = 160
_FARTHEST_Z: Final = 9.0
"""Beyond so many standard deviations of the mean, nothing is left to integrate."""


def two_sided_factor(count: int, coverage: float, confidence: float) -> float:
    """Exact factor k of ``mean +/- k s`` from `count` values of a normal population.

    Parameters
    ----------
    count
        How many values mean and s were computed from, 2 at least.
    coverage
        Share of the population that lies within, above 0 and below 1.
    confidence
        Probability that so much lies within, above 0 and below 1.

    Raises
    ------
    InputError
        When a parameter is outside its range.

    """
    from scipy import optimize, stats  # noqa: PLC0415 - only where a distribution is needed

    _check(count, coverage, confidence)
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    z = (nodes + 1) / 2 * _FARTHEST_Z
    density = weights * _FARTHEST_Z * stats.norm.pdf(z)
    # Half the width that holds the coverage when the mean is off by z / sqrt(n).
    squared = stats.ncx2.ppf(coverage, 1, z**2 / count)
    degrees = count - 1

    def excess(log_k: float) -> float:
        within = stats.chi2.sf(degrees * squared / math.exp(2 * log_k), degrees)
        return float(density @ within) - confidence

    return math.exp(float(optimize.brentq(excess, -5.0, 16.0, xtol=1e-12)))


def howe_factor(count: int, coverage: float, confidence: float) -> float:
    """Howe's approximation of the two-sided factor; parameters as `two_sided_factor`."""
    from scipy import stats  # noqa: PLC0415 - only where a distribution is needed

    _check(count, coverage, confidence)
    z = float(stats.norm.ppf((1 + coverage) / 2))
    degrees = count - 1
    low = float(stats.chi2.ppf(1 - confidence, degrees))
    return z * math.sqrt(degrees * (1 + 1 / count) / low)


def one_sided_factor(count: int, coverage: float, confidence: float) -> float:
    """Exact factor k of ``mean + k s`` or ``mean - k s``, one of them at a time.

    Parameters as `two_sided_factor`; from the noncentral t distribution.
    """
    from scipy import stats  # noqa: PLC0415 - only where a distribution is needed

    _check(count, coverage, confidence)
    root = math.sqrt(count)
    noncentral = float(stats.norm.ppf(coverage)) * root
    return float(stats.nct.ppf(confidence, count - 1, noncentral)) / root


def _check(count: int, coverage: float, confidence: float) -> None:
    if count < FEWEST:
        raise InputError(
            f"a spread from {count} values", hint=f"it takes {FEWEST} at the very least."
        )
    for name, value in (("coverage", coverage), ("confidence", confidence)):
        if not 0 < value < 1:
            raise InputError(f"{name}: saw {value:g}, expected above 0 and below 1")
