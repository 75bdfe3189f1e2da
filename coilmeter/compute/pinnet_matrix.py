"""From the resistances between all pairs of points to the conductances between them.

For the points of one connected network of resistors, R is the matrix of the resistances read
between each two of them (diagonal zero), and L the Laplacian: minus the conductance of the
link between i and j off the diagonal.  Then::

    R_ij = L+_ii + L+_jj - 2 L+_ij                               forward, L+ the pseudo-inverse
    L = -2 (R^-1 - R^-1 1 1^T R^-1 / (1^T R^-1 1))               back
    dL = 1/2 L dR L                                              to first order

Sources: D. J. Klein and M. Randic, Resistance distance, J. Math. Chem. 12 (1993) 81-95;
M. Fiedler, Matrices and Graphs in Geometry, 2011; R. B. Bapat, Resistance matrix of a weighted
graph, MATCH 50 (2004) 73-82.  JCGM 100:2008 (GUM) 5.1.2 and 5.2.2 for the propagation: what is
each reading's own adds in quadrature, what readings share adds with its sign.

SI floats: resistances in ohm, conductances in siemens.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from coilmeter.compute.verdict import Floats

_LEAST_POINTS: Final = 2


@dataclass(frozen=True, slots=True)
class Conductances:
    """What was recovered.

    Parameters
    ----------
    siemens
        Conductance of the link of each pair (i, j) with i < j, in the order of
        `numpy.triu_indices`, shape (p,).
    covariance
        Their covariance, siemens squared, shape (p, p).

    """

    siemens: Floats
    covariance: Floats

    @property
    def u_siemens(self) -> Floats:
        """Standard uncertainty of each, in the same order."""
        return np.asarray(np.sqrt(np.diag(self.covariance)), float)


def conductances(
    resistance_ohm: Floats, own_ohm: Floats, shared_ohm: Sequence[Floats] = ()
) -> Conductances:
    """Recover the links of a connected network from the resistance between each two points.

    Parameters
    ----------
    resistance_ohm
        Symmetric matrix of shape (n, n), n at least 2, with a diagonal of zero and nothing
        else that is zero: points joined by a dead short are one point.
    own_ohm
        Standard uncertainty that each reading has by itself; the same shape.
    shared_ohm
        For each cause that readings share, such as the gain of a range or the lead null, what
        it does to each of them, with its sign; the same shape.

    Raises
    ------
    ValueError
        When the matrix is of another shape, or singular: no network of resistors has it.

    """
    if resistance_ohm.ndim != 2 or len(resistance_ohm) < _LEAST_POINTS:  # noqa: PLR2004 - a matrix
        message = f"a square matrix of two points or more, not {resistance_ohm.shape}"
        raise ValueError(message)
    laplacian = laplacian_of(resistance_ohm)
    upper = np.triu_indices(len(laplacian), 1)
    i, j = upper[0][:, None], upper[1][:, None]
    k, m = upper[0][None, :], upper[1][None, :]
    # The link i-j moves with the reading k-m, which stands twice in a symmetric matrix.
    slope = -0.5 * (laplacian[i, k] * laplacian[m, j] + laplacian[i, m] * laplacian[k, j])
    causes = [np.diag(own_ohm[upper]), *(shared[upper][:, None] for shared in shared_ohm)]
    moved = slope @ np.hstack(causes)
    return Conductances(-laplacian[upper], np.asarray(moved @ moved.T, float))


def laplacian_of(resistance_ohm: Floats) -> Floats:
    """Laplacian of the network that has these resistances between its points.

    Raises
    ------
    ValueError
        When no network has them, because the matrix is singular.

    """
    try:
        inverse = np.linalg.inv(resistance_ohm)
    except np.linalg.LinAlgError as error:
        message = "a singular matrix: two points are one, or no network has these resistances"
        raise ValueError(message) from error
    sums = inverse.sum(axis=1)
    laplacian = -2 * (inverse - np.outer(sums, sums) / sums.sum())
    if not np.all(np.isfinite(laplacian)):
        message = "a matrix without a bordered inverse: no network has these resistances"
        raise ValueError(message)
    return np.asarray((laplacian + laplacian.T) / 2, float)


def resistances(siemens: Floats) -> Floats:
    """Resistance between each two points of a network; infinite where nothing connects them.

    Parameters
    ----------
    siemens
        Conductance of each link, symmetric, shape (n, n); zero where there is none.

    """
    count = len(siemens)
    result = np.full((count, count), np.inf)
    np.fill_diagonal(result, 0.0)
    for part in _parts(siemens):
        inner = siemens[np.ix_(part, part)]
        laplacian = np.diag(inner.sum(axis=1)) - inner
        # The same number everywhere takes the singularity away, and falls out of R: a
        # pseudo-inverse would have to guess which eigenvalue is zero.
        inverse = np.linalg.inv(
            laplacian + np.trace(laplacian) / len(part) ** 2 + (len(part) == 1)
        )
        diagonal = np.diag(inverse)
        result[np.ix_(part, part)] = diagonal[:, None] + diagonal[None, :] - 2 * inverse
    return np.asarray(np.maximum(result, 0.0), float)


def _parts(siemens: Floats) -> list[list[int]]:
    """Points of each connected part."""
    left, parts = set(range(len(siemens))), []
    while left:
        part, edge = [], [min(left)]
        left.discard(edge[0])
        while edge:
            point = edge.pop()
            part.append(point)
            near = [other for other in left if siemens[point, other] > 0]
            left.difference_update(near)
            edge += near
        parts.append(sorted(part))
    return parts
