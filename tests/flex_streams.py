"""Streams of a coil whose joint is moved, with a display that flickers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from coilmeter.compute.flex import flex
from coilmeter.compute.flex_scan import FlexPoint
from coilmeter.values import FlexResult

Floats: TypeAlias = npt.NDArray[np.float64]
Shape: TypeAlias = Callable[[Floats], npt.NDArray[np.floating]]
"""Resistance in ohm as a function of the seconds since it was moved."""

STEP_OHM = 0.1
REST_S = 2.4


def at_rest(level: float, *, end_ohm: float | None = None) -> list[FlexPoint]:
    """Make readings of a joint at rest, without any flicker."""
    return [FlexPoint(n / 10, level, STEP_OHM, end_ohm) for n in range(24)]


def points(
    shape: Shape,
    *,
    seconds: float = 20.0,
    rate_hz: float = 10.0,
    noise: float = 0.3,
    start: float = REST_S + 0.1,
    seed: int | np.random.SeedSequence = 7,
) -> list[FlexPoint]:
    """Make readings of what a joint does, with a normal flicker of so many last digits."""
    random = np.random.default_rng(seed)
    at = np.arange(round(seconds * rate_hz)) / rate_hz
    shown = np.round(shape(at) / STEP_OHM + noise * random.standard_normal(len(at))) * STEP_OHM
    return [
        FlexPoint(start + t, ohm, STEP_OHM)
        for t, ohm in zip(at.tolist(), shown.tolist(), strict=True)
    ]


def stream(
    shape: Shape,
    *,
    rested: bool = True,
    seed: int | np.random.SeedSequence = 7,
    rate_hz: float = 10.0,
    noise: float = 0.3,
    seconds: float = 20.0,
) -> FlexResult:
    """Judge what a joint does, after some seconds of rest."""
    of_rest, of_moving = (
        seed.spawn(2) if isinstance(seed, np.random.SeedSequence) else (seed, seed + 1)
    )
    rest_s = max(REST_S, 12 / rate_hz)
    still = points(
        lambda t: shape(t - rest_s),
        seconds=rest_s,
        rate_hz=rate_hz,
        noise=noise,
        start=0.0,
        seed=of_rest,
    )
    moved = points(
        shape, seconds=seconds, rate_hz=rate_hz, noise=noise, start=rest_s, seed=of_moving
    )
    return flex(moved, still if rested else ())


def gap_after(
    before: Sequence[FlexPoint], after: Sequence[FlexPoint], seconds: float
) -> list[FlexPoint]:
    """Move points so that they come after others, with a pause between."""
    later = before[-1].at + seconds - after[0].at
    return [replace(point, at=point.at + later) for point in after]


def FLAKY(seed: int) -> Shape:  # noqa: N802 - reads as a kind of shape
    """Open at ten random times in 20 s, for 0.15 s each."""
    begun = np.random.default_rng(seed).uniform(0.0, 19.8, 10)

    def shape(at: Floats) -> Floats:
        is_open = ((at[:, None] >= begun) & (at[:, None] < begun + 0.15)).any(axis=1)
        return np.where(is_open, np.inf, 171.3)

    return shape
