"""How wide an interval must be: coverage factors, degrees of freedom, figures of a coil.

A sum of few errors with hard limits is not normal: one alone needs a factor of 1.65 for 95 %
and not 1.96.  The factor is therefore taken from the distribution of the very sum: the
characteristic functions of the rectangular parts and of a normal one, multiplied.

Sources: JCGM 100:2008 (GUM) 5.1.2, 4.3.7 and G.4.1 (effective degrees of freedom, rounded to a
tenth and then truncated to the next lower integer); EA-4/02 M:2022 supplements S9 and S10 for
dominating rectangular parts; E. C. Fieller, Some problems in interval estimation, J. R. Stat.
Soc. B 16 (1954) 175, for a ratio.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Sequence
from typing import Final

import numpy as np

from coilmeter.values.impedances import TURN, Figure, Figures, Impedance, Part

CONFIDENCE: Final = 0.95
_POINTS: Final = 1000
_LARGEST_T: Final = 100.0
_FIRST: Final = 1.8
_ROUNDS: Final = 40
_LEAST_SLOPE: Final = 0.02
_LARGEST_MOVE: Final = 0.3
_STILL: Final = 1e-7
_TRACE: Final = 0.02
_MOST_DOF: Final = 1e6
Weigh = Callable[[Part], float]
"""What a part does to the figure that is asked for."""


def effective_dof(parts: Sequence[Part], weigh: Weigh) -> float:
    """Effective degrees of freedom by Welch and Satterthwaite.

    The formula asks for independent contributions: parts of one block, which come from the
    same sets of readings, are added first and count as one contribution.
    """
    blocks: dict[str, list[float]] = defaultdict(list)
    dof: dict[str, float] = {}
    total = math.fsum(weigh(part) ** 2 for part in parts)
    for part in parts:
        if math.isfinite(part.dof):
            name = part.block or part.key
            blocks[name].append(weigh(part) ** 2)
            dof[name] = part.dof
    below = math.fsum(math.fsum(squares) ** 2 / dof[name] for name, squares in blocks.items())
    return total**2 / below if below > 0 and total**2 / below < _MOST_DOF else math.inf


def coverage_factor(
    parts: Sequence[Part], weigh: Weigh, confidence: float = CONFIDENCE
) -> float:
    """Half-width of the interval in standard uncertainties.

    Parameters
    ----------
    parts
        The causes; `weigh` gives what each does to the figure, in any one unit.
    confidence
        Probability that the interval is to have.

    """
    variance = math.fsum(weigh(part) ** 2 for part in parts)
    if variance <= 0:
        return normal_factor(confidence)
    u = math.sqrt(variance)
    hard = [abs(weigh(part)) / u for part in parts if part.rectangular]
    hard = [share for share in hard if share > 1e-3]  # noqa: PLR2004 - no digit of k sees less
    normal = math.sqrt(max(1 - math.fsum(share**2 for share in hard), 0.0))
    k = _factor(tuple(hard), normal, confidence)
    dof = effective_dof(parts, weigh)
    if math.isfinite(dof):
        k *= _student(confidence, max(math.floor(round(dof, 1)), 1)) / normal_factor(confidence)
    return k


def normal_factor(confidence: float) -> float:
    """Half-width in standard deviations of a normal distribution."""
    from statistics import NormalDist  # noqa: PLC0415 - small, and seldom asked for

    return NormalDist().inv_cdf(0.5 + confidence / 2)


def _student(confidence: float, dof: int) -> float:
    from scipy.stats import t  # noqa: PLC0415 - heavy, and only for repeated readings

    return float(t.ppf(0.5 + confidence / 2, dof))


def _factor(hard: tuple[float, ...], normal: float, confidence: float) -> float:
    """Factor of a sum of rectangular parts of these standard deviations and a normal one."""
    if not hard:
        return normal_factor(confidence)
    if len(hard) == 1 and normal < 1e-3:  # noqa: PLR2004 - as above
        return confidence * math.sqrt(3.0)
    # A trace of the normal keeps the integral short; what it adds is taken off at the end.
    spread = max(normal, _TRACE)
    t = (np.arange(_POINTS) + 0.5) * (_LARGEST_T / _POINTS)
    phi = np.exp(-0.5 * (spread * t) ** 2)
    for share in hard:
        phi = phi * np.sinc(share * math.sqrt(3.0) * t / math.pi)
    step = _LARGEST_T / _POINTS * (2 / math.pi)
    k = _FIRST
    for _ in range(_ROUNDS):
        # Probability within +/- k (Gil-Pelaez, for a symmetric distribution), and its slope.
        within = float(np.sum(phi * np.sin(k * t) / t)) * step
        slope = float(np.sum(phi * np.cos(k * t))) * step
        move = (confidence - within) / max(slope, _LEAST_SLOPE)
        k += min(max(move, -_LARGEST_MOVE), _LARGEST_MOVE)
        if abs(move) < _STILL:
            break
    return k / math.sqrt(1 + spread**2 - normal**2)


def figure(
    value: float, parts: Sequence[Part], weigh: Weigh, confidence: float = CONFIDENCE
) -> Figure:
    """One figure with its interval, symmetric about the value."""
    u = math.sqrt(math.fsum(weigh(part) ** 2 for part in parts))
    k = coverage_factor(parts, weigh, confidence)
    dof = effective_dof(parts, weigh)
    return Figure(value, u, value - k * u, value + k * u, dof, k)


def figures(found: Impedance, confidence: float = CONFIDENCE) -> Figures:
    """|Z|, R, X, L and Q of an impedance, each with its uncertainty and interval."""
    r, x, parts = found.r_ohm, found.x_ohm, found.parts
    z = math.hypot(r, x)
    turn = TURN * found.frequency_hz
    (rr, rx), (_, xx) = found.covariance_ohm2
    of_x = figure(x, parts, lambda part: part.x_ohm, confidence)
    return Figures(
        z=figure(z, parts, lambda part: (r * part.r_ohm + x * part.x_ohm) / z, confidence),
        r=figure(r, parts, lambda part: part.r_ohm, confidence),
        x=of_x,
        l=_scaled(of_x, 1 / turn),
        q=_quality(found, confidence),
        r_x_correlation=rx / math.sqrt(rr * xx) if rr > 0 and xx > 0 else 0.0,
    )


def _scaled(of_x: Figure, factor: float) -> Figure:
    """L is X in another unit: the same figure, times a number that is known."""
    low, high = of_x.low, of_x.high
    return Figure(
        of_x.value * factor,
        of_x.u * factor,
        None if low is None else low * factor,
        None if high is None else high * factor,
        of_x.dof,
        of_x.k,
    )


def _quality(found: Impedance, confidence: float) -> Figure:
    """Q by Fieller's interval: where R may be zero, Q has no upper end."""
    q, parts = found.q, found.parts
    (rr, rx), (_, xx) = found.covariance_ohm2
    r, x = found.r_ohm, found.x_ohm
    weigh: Weigh = lambda part: part.x_ohm - (q if math.isfinite(q) else 0.0) * part.r_ohm  # noqa: E731 - one line
    if not math.isfinite(q):
        # R is not above zero: only a lower limit of Q is left, from the end of R.
        weigh = lambda part: part.r_ohm  # noqa: E731 - as above
    k = coverage_factor(parts, weigh, confidence)
    dof = effective_dof(parts, weigh)
    u = math.sqrt(math.fsum(weigh(part) ** 2 for part in parts)) / abs(r) if r else math.inf
    low, high = fieller(x, r, xx=xx, rx=rx, rr=rr, k=k)
    if found.r_assumed:
        low = None
    return Figure(q, u, low, high, dof, k)


def fieller(
    x: float, r: float, *, xx: float, rx: float, rr: float, k: float
) -> tuple[float | None, float | None]:
    """Give the ends of the interval of x / r, of variances `xx` and `rr`, covariance `rx`.

    It has all q with (x - q r)^2 <= k^2 (xx - 2 q rx + q^2 rr).  None stands for an end that is
    not there: the denominator may be zero.
    """
    a = r * r - k * k * rr
    b = x * r - k * k * rx
    c = x * x - k * k * xx
    inside = b * b - a * c
    if inside < 0:
        return None, None
    root = math.sqrt(inside)
    if a > 0:
        return (b - root) / a, (b + root) / a
    if c <= 0 or b + root <= 0:
        return None, None
    # r may be zero and x is not: from the positive end upward, without an end.
    return c / (b + root), None
