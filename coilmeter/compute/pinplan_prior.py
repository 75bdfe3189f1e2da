"""How likely two pins belong together, given which pairs have been ruled out.

The pins of a sound head of independent coils are paired off.  With a weight for each pair,
the probability of a pairing is the product of the weights of its pairs; a pin that is left
alone (a broken coil, a pin without use) has a small weight of its own.  The probability that
i and j are partners is then::

    P(i, j) = w_ij Z(all without i and j) / Z(all)

where Z sums over all pairings of a set.  Z of every subset of 16 pins comes from one pass.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from typing import Final

import numpy as np

from coilmeter.compute.verdict import Floats
from coilmeter.values.pinmaps import PinField

ALONE: Final = 0.1
"""Weight of a pin that is left alone: two of them together weigh one part in a hundred of a
pair without prior knowledge (own default)."""

IN_ROW: Final = 16.0
IN_COLUMN: Final = 6.0
ASLANT: Final = 2.0
"""How much more likely than any other pair neighbours in a row, in a column, and across a
corner are (own defaults; a row a track is common practice, no source)."""


class Prior(StrEnum):
    """What is expected before anything is read."""

    NEIGHBOURS = "neighbours"
    UNIFORM = "uniform"


def weights(field: PinField, prior: Prior) -> Floats:
    """Weight of each pair of pins, symmetric, in the order of the field; diagonal zero."""
    pins, places = field.pins, field.places()
    matrix = np.ones((len(pins), len(pins)))
    if prior is Prior.NEIGHBOURS:
        for i, one in enumerate(pins):
            for j, other in enumerate(pins):
                down = abs(places[one][0] - places[other][0])
                across = abs(places[one][1] - places[other][1])
                matrix[i, j] = _NEAR.get((down, across), 1.0)
    np.fill_diagonal(matrix, 0.0)
    return matrix


_NEAR: Final = {(0, 1): IN_ROW, (1, 0): IN_COLUMN, (1, 1): ASLANT}


def partners(weight: Floats, alone: float = ALONE) -> Floats:
    """Probability that two pins are partners, for every two of them.

    Parameters
    ----------
    weight
        Weight of each pair of the pins that are still without partner, symmetric; zero where
        a pair is ruled out.
    alone
        Weight of a pin that is left alone.

    """
    count = len(weight)
    sums = pairing_sums(weight, alone)
    whole = len(sums) - 1
    bits = 1 << np.arange(count)
    without = sums[whole ^ (bits[:, None] | bits[None, :])]
    return np.asarray(weight * without / sums[whole], float)


def pairing_sums(weight: Floats, alone: float) -> Floats:
    """Sum over all pairings of each subset of pins; a subset is the number of its bits.

    The highest pin of a subset is left alone, or paired with each of the others in turn.
    """
    count = len(weight)
    sums = np.ones(1 << count)
    for top in range(count):
        size = 1 << top
        lower, upper = sums[:size], sums[size : 2 * size]
        upper[:] = alone * lower
        for other in range(top):
            if weight[top, other] > 0:
                halves = (-1, 2, 1 << other)
                with_other = upper.reshape(halves)[:, 1]
                with_other += weight[top, other] * lower.reshape(halves)[:, 0]
    return sums


def ranked(
    probability: Floats, pairs: Sequence[tuple[int, int]]
) -> list[tuple[float, tuple[int, int]]]:
    """Pairs with their probability, equal ones made equal: rounding must not rank them."""
    return [(round(float(probability[pair]), _DIGITS), pair) for pair in pairs]


_DIGITS: Final = 9
