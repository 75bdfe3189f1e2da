"""From the errors of voltages and resistors to those of an impedance.

Each input has its elementary errors, and each error a key: the same key means one and the
same error, wherever it turns up.  To first order (JCGM 100:2008, 5.1.2 and 5.2.2) an error
moves R and X by the slope of the formula times its standard uncertainty; the moves of one
key are added before anything is squared, so that what is shared cancels where the formula
lets it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from coilmeter.values.impedances import Part

Floats = npt.NDArray[np.float64]
SQRT3: Final = math.sqrt(3.0)
_STEP: Final = 1e-6
"""Share of an input by which it is moved to find a slope; central, so that what is left is of
the order of its square."""


@dataclass(frozen=True, slots=True)
class Error:
    """One elementary error of one input.

    Parameters
    ----------
    key, cause, rectangular, dof, block
        As in `coilmeter.values.impedances.Part`.
    u
        Standard uncertainty in the unit of the input; its sign tells which way inputs that
        share the key go together.

    """

    key: str
    cause: str
    u: float
    rectangular: bool = True
    dof: float = math.inf
    block: str = ""


@dataclass(frozen=True, slots=True)
class Input:
    """One input of a formula: its value in SI units and its errors."""

    value: float
    errors: tuple[Error, ...] = ()
    scale: float = 0.0
    """Size from which the step of the slope is taken, where the value may be zero."""


def propagated(
    formula: Callable[[Floats], complex], inputs: Sequence[Input]
) -> tuple[complex, tuple[Part, ...]]:
    """Value of a complex formula and the parts of its uncertainty.

    Parameters
    ----------
    formula
        From the values of the inputs to R + jX in ohm; smooth around them.
    inputs
        The inputs, in the order of the formula.

    """
    values = np.array([each.value for each in inputs], float)
    z = complex(formula(values))
    moves: dict[str, list[complex]] = {}
    about: dict[str, Error] = {}
    for index, each in enumerate(inputs):
        if not any(error.u for error in each.errors):
            continue
        slope = _slope(formula, values, index, each.scale or abs(each.value))
        for error in each.errors:
            moves.setdefault(error.key, []).append(slope * error.u)
            about.setdefault(error.key, error)
    parts = []
    for key, each_move in moves.items():
        move, error = sum(each_move, 0j), about[key]
        parts.append(
            Part(
                key,
                error.cause,
                move.real,
                move.imag,
                error.rectangular,
                error.dof,
                error.block,
            )
        )
    return z, tuple(parts)


def _slope(
    formula: Callable[[Floats], complex], values: Floats, index: int, size: float
) -> complex:
    step = _STEP * size
    up, down = values.copy(), values.copy()
    up[index] += step
    down[index] -= step
    return (complex(formula(up)) - complex(formula(down))) / (2 * step)


def repeated(sets: npt.ArrayLike, block: str) -> tuple[list[float], list[tuple[Error, ...]]]:
    """Means of quantities read together several times, and their errors with all correlations.

    Parameters
    ----------
    sets
        Shape (sets, quantities), two sets at least; each row was read at one time.
    block
        Key of this block.

    Returns
    -------
    means, errors
        Mean of each quantity, and its errors.  Row i of the square root L of the covariance
        of the means (L L^T = C) makes quantity i: column k is one error that all share.

    Source: JCGM 100:2008 (GUM) 4.2.3, 5.2.3 and H.2.

    """
    table: Any = np.asarray(sets, float)
    count = len(table)
    covariance = np.atleast_2d(np.cov(table, rowvar=False, ddof=1)) / count
    # By eigenvalues and not by Cholesky: few sets give a matrix that is not of full rank.
    sizes, directions = np.linalg.eigh(covariance)
    roots = directions * np.sqrt(np.clip(sizes, 0.0, None))
    errors = [
        tuple(
            Error(f"{block}/{k}", "scatter", float(roots[i, k]), False, count - 1.0, block)  # noqa: FBT003
            for k in range(len(sizes))
        )
        for i in range(table.shape[1])
    ]
    return [float(mean) for mean in table.mean(axis=0)], errors
