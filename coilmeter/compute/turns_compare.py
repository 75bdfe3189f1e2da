"""Coils of one head against each other at one tone, and against a reference coil.

Compared are X (which is to L as f is to one) and the loss R/X, one over Q: it stays finite
where R is not told from zero.  An error that two coils share bears the same key in both, and
cancels as far as it acts on both alike (JCGM 100:2008, 5.2.2; ISO 13528:2022, 9.7).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from coilmeter.compute.matching import Deviations, match_zones
from coilmeter.compute.verdict import UNDECIDED, interval_probability
from coilmeter.values import MATCH_ZONES, Match
from coilmeter.values.impedances import Impedance

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Beside:
    """A coil beside others: ratio of X and of Q, how probable a collapse of Q and a rise of R.

    Parameters
    ----------
    l_ratio, u_l_ratio
        Inductance over the others', and its standard uncertainty.
    q_ratio, u_q_ratio
        Q over the others', and its standard uncertainty; None where R was not measured.
    below_q
        Probability that the ratio of Q is below the limit; None as above.
    r_up
        Probability that R is above the others'; None as above.
    loss_limit
        Loss of this coil from which on the probability would reach the confidence.
    loss
        Loss R/X of the others.

    """

    l_ratio: float
    u_l_ratio: float
    q_ratio: float | None = None
    u_q_ratio: float | None = None
    below_q: float | None = None
    r_up: float | None = None
    loss_limit: float | None = None
    loss: float | None = None


@dataclass(frozen=True, slots=True)
class _Errors:
    """Value of each coil, and what each error does to it: shape (n,) and (errors, n)."""

    values: Floats
    moves: Floats


def beside(
    coil: Impedance,
    others: Sequence[Impedance],
    *,
    q_below: float,
    confidence: float,
) -> Beside:
    """Compare a coil with the median of others.

    Parameters
    ----------
    coil, others
        At one frequency.
    q_below
        Limit of the ratio of Q.
    confidence
        Probability that will decide.

    """
    whole = [coil, *others]
    x = _reactances(whole)
    ratio, u_ratio = _ratio(x)
    if any(each.r_assumed for each in whole):
        return Beside(ratio, u_ratio)
    loss = _losses(whole)
    weight = _median_weights(loss.values[1:])
    middle = float(weight @ loss.values[1:])
    # Q below the limit: loss x limit above the others' loss.  Linear, so that it holds
    # where a loss is not told from zero.
    excess = q_below * loss.values[0] - middle
    move = q_below * loss.moves[:, 0] - loss.moves[:, 1:] @ weight
    u_excess = float(np.sqrt(move @ move))
    r = _resistances(whole)
    r_weight = _median_weights(r.values[1:])
    r_rise = float(r.values[0] - r_weight @ r.values[1:])
    r_move = r.moves[:, 0] - r.moves[:, 1:] @ r_weight
    q_ratio, u_q_ratio = _inverse(loss, weight, middle)
    z = float(-_deviate(1 - confidence))
    return Beside(
        ratio,
        u_ratio,
        q_ratio,
        u_q_ratio,
        _above_zero(excess, u_excess),
        _above_zero(r_rise, float(np.sqrt(r_move @ r_move))),
        (middle + z * u_excess) / q_below,
        middle,
    )


def deviations_of(coils: Sequence[Impedance]) -> Deviations:
    """Deviation of each inductance from the median of all, as for resistances.

    A coil that alone is the median keeps what is its own (see `coilmeter.compute.matching`).
    """
    x = _reactances(coils)
    weight = _median_weights(x.values)
    median = float(weight @ x.values)
    slope = (np.eye(len(coils)) - np.outer(x.values / median, weight)) / median
    variance = np.sum((x.moves @ slope.T) ** 2, axis=0)
    alone = np.count_nonzero(x.moves, axis=1) == 1
    own = np.sum(x.moves[alone] ** 2, axis=0)
    variance += np.where(weight == 1, own / median**2, 0.0)
    return Deviations(x.values / median - 1, np.sqrt(variance))


def matches_of(
    found: Deviations, noticeable: float, mismatched: float, confidence: float
) -> list[Match]:
    """How each inductance stands, by the rule that holds for resistances."""
    zones = match_zones(found, noticeable, mismatched, confidence)
    return [Match.UNDECIDED if z == UNDECIDED else MATCH_ZONES[z] for z in zones.tolist()]


def certainly_low(ratio: float, u: float, limit: float, confidence: float) -> bool:
    """Whether a ratio is below one by more than `limit`, at the confidence."""
    return _above_zero(1 - limit - ratio, u) >= confidence


def median_of(coils: Sequence[Impedance]) -> complex:
    """R + jX of the coil that stands for several: medians of both."""
    return complex(
        float(np.median([each.r_ohm for each in coils])),
        float(np.median([each.x_ohm for each in coils])),
    )


def _ratio(found: _Errors) -> tuple[float, float]:
    """First over the median of the others, with its standard uncertainty."""
    weight = _median_weights(found.values[1:])
    middle = float(weight @ found.values[1:])
    ratio = float(found.values[0]) / middle
    move = (found.moves[:, 0] - ratio * (found.moves[:, 1:] @ weight)) / middle
    return ratio, float(np.sqrt(move @ move))


def _inverse(loss: _Errors, weight: Floats, middle: float) -> tuple[float | None, float | None]:
    """Ratio of Q: the others' loss over the first's; None where that is not above zero."""
    first = float(loss.values[0])
    if first <= 0 or middle <= 0:
        return None, None
    ratio = middle / first
    move = (loss.moves[:, 1:] @ weight - ratio * loss.moves[:, 0]) / first
    return ratio, float(np.sqrt(move @ move))


def _errors(
    coils: Sequence[Impedance], values: Sequence[float], moves: list[Floats]
) -> _Errors:
    """Gather what each error does to each coil by its key."""
    rows: dict[str, Floats] = {}
    for number, (coil, of_parts) in enumerate(zip(coils, moves, strict=True)):
        for part, move in zip(coil.parts, of_parts, strict=True):
            row = rows.setdefault(part.key, np.zeros(len(coils)))
            row[number] += move
    table = np.array(list(rows.values())) if rows else np.zeros((0, len(coils)))
    return _Errors(np.array(values, float), table)


def _reactances(coils: Sequence[Impedance]) -> _Errors:
    # Frequencies within a per cent count as one: per hertz, they are told apart again.
    per = [1 / coil.frequency_hz for coil in coils]
    moves = [
        np.array([part.x_ohm * each for part in coil.parts])
        for coil, each in zip(coils, per, strict=True)
    ]
    values = [coil.x_ohm * each for coil, each in zip(coils, per, strict=True)]
    return _errors(coils, values, moves)


def _resistances(coils: Sequence[Impedance]) -> _Errors:
    moves = [np.array([part.r_ohm for part in coil.parts]) for coil in coils]
    return _errors(coils, [coil.r_ohm for coil in coils], moves)


def _losses(coils: Sequence[Impedance]) -> _Errors:
    losses = [coil.r_ohm / coil.x_ohm for coil in coils]
    moves = [
        np.array([(part.r_ohm - loss * part.x_ohm) / coil.x_ohm for part in coil.parts])
        for coil, loss in zip(coils, losses, strict=True)
    ]
    return _errors(coils, losses, moves)


def _median_weights(values: Floats) -> Floats:
    """Share of each value in the median; equal values share alike."""
    ranked, n = np.sort(values), len(values)
    weight = np.zeros(n)
    for middle in ((n - 1) // 2, n // 2):
        same = values == ranked[middle]
        weight += 0.5 * same / same.sum()
    return weight


def _above_zero(value: float, u: float) -> float:
    if u <= 0:
        return float(value > 0)
    return float(interval_probability(np.array(-value / u), np.array(math.inf)))


def _deviate(probability: float) -> float:
    from statistics import NormalDist  # noqa: PLC0415 - small, and seldom asked for

    return NormalDist().inv_cdf(probability)
