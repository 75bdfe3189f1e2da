"""Which of the links that were recovered are there, and which differ from none by error only.

A link is kept when its conductance differs from zero by more than its uncertainty allows.
All that are left out must be consistent with zero together, too: one very low link makes each
link beside it uncertain, and two of these may then be left out one by one although they
cannot both be missing.  With g the conductances left out and C their covariance,
g^T C^-1 g follows chi-squared where all are zero; while it is too large, the link whose
return lowers it the most is taken back.  What is kept is then recovered once more with those
left out held at zero.

Sources: JCGM 100:2008 (GUM) 5.2.2 for the covariance; Wald's test of several parameters, A.
Gelman and others, Bayesian Data Analysis, 3rd edition, and E. B. Wilson and M. M. Hilferty,
PNAS 17 (1931) 684-688, for the quantile of chi-squared (both from memory, not verified; the
second compared with SciPy in `tests/test_pinnet_links.py`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import Final, TypeAlias

import numpy as np
import numpy.typing as npt

from coilmeter.compute.pinnet_matrix import Conductances
from coilmeter.compute.verdict import Floats

Mask: TypeAlias = npt.NDArray[np.bool_]

HALF: Final = 0.5
"""Of the error allowed, each of the two tests, one by one and together, is given a half."""

CLEAR_SIGMAS: Final = 2.0
"""A link kept that differs from none by less leaves open which links there are."""

NO_NETWORK: Final = 1e-6
"""Where no choice of links explains the readings but by such a chance, they contradict."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """Links that are there, in the order of the conductances they were chosen from.

    Parameters
    ----------
    kept
        Whether each is there.
    siemens, u_siemens
        Conductance of those kept and its standard uncertainty, the others held at zero; of
        those left out, what each would be by itself.
    explains
        False where not even these links explain the readings.

    """

    kept: Mask
    siemens: Floats
    u_siemens: Floats
    explains: bool

    @property
    def clear(self) -> bool:
        """Whether each link kept differs from none by itself, the others held at zero."""
        here = self.kept
        return bool(np.all(self.siemens[here] > CLEAR_SIGMAS * self.u_siemens[here]))


def choose(found: Conductances, error: float) -> Chosen:
    """Choose the links that are there.

    Parameters
    ----------
    found
        All links, as they were recovered.
    error
        Probability with which a link may be invented among all of them.

    """
    kept = _one_by_one(found, error * HALF)
    while not kept.all():
        left = np.flatnonzero(~kept)
        inner = _inverse(found.covariance[np.ix_(left, left)])
        pull = inner @ found.siemens[left]
        total = float(found.siemens[left] @ pull)
        if total <= chi_squared(1 - error * HALF, len(left)):
            break
        own = np.diag(inner)
        alone = np.divide(pull, own, out=np.zeros_like(pull), where=own > 0)
        gain = np.where(alone > 0, pull * alone, 0.0)
        if not gain.any():
            return _restricted(found, kept, explains=not _refuted(total, len(left)))
        kept[left[int(gain.argmax())]] = True
    return _restricted(found, kept, explains=True)


def chi_squared(probability: float, freedom: int) -> float:
    """Quantile of chi-squared with so many degrees of freedom (Wilson and Hilferty)."""
    spread = 2 / (9 * freedom)
    z = NormalDist().inv_cdf(probability)
    return freedom * max(1 - spread + z * math.sqrt(spread), 0.0) ** 3


def sigmas(error: float, count: int) -> float:
    """Give the standard uncertainties by which one of `count` links must differ from none."""
    return NormalDist().inv_cdf(1 - error * HALF / max(count, 1))


def _one_by_one(found: Conductances, error: float) -> Mask:
    least = NormalDist().inv_cdf(1 - error / len(found.siemens)) * found.u_siemens
    return np.asarray(found.siemens > least)


def _inverse(covariance: Floats) -> Floats:
    """Inverse of a covariance, the pseudo-inverse where it has none."""
    try:
        return np.asarray(np.linalg.inv(covariance), float)
    except np.linalg.LinAlgError:
        return np.asarray(np.linalg.pinv(covariance, hermitian=True), float)


def _refuted(total: float, freedom: int) -> bool:
    return total > chi_squared(1 - NO_NETWORK, freedom)


def _restricted(found: Conductances, kept: Mask, *, explains: bool) -> Chosen:
    """Give the links kept with those left out held at zero, and each of those by itself."""
    siemens, u_siemens = found.siemens.copy(), found.u_siemens.copy()
    left, here = np.flatnonzero(~kept), np.flatnonzero(kept)
    if left.size:
        inner = _inverse(found.covariance[np.ix_(left, left)])
        across = found.covariance[np.ix_(here, left)]
        siemens[here] -= across @ inner @ found.siemens[left]
        lower = np.diag(found.covariance)[here] - np.einsum(
            "ij,jk,ik->i", across, inner, across
        )
        u_siemens[here] = np.sqrt(np.maximum(lower, 0.0))
        own = np.diag(inner)
        pull = inner @ found.siemens[left]
        siemens[left] = np.divide(pull, own, out=np.zeros_like(pull), where=own > 0)
        u_siemens[left] = np.divide(
            1.0, np.sqrt(own), out=np.full_like(own, np.inf), where=own > 0
        )
    return Chosen(kept, siemens, u_siemens, explains)
