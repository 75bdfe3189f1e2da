"""A band from coils that are known to be good: a normal tolerance interval.

The interval is meant to hold a share of all such coils, and not the coils measured; so it is
wide where they are few.  Errors that all the readings share (gain of the meter, leads,
temperature) do not show in their spread: the limits are moved out by them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from coilmeter.compute.budget import PARTS
from coilmeter.compute.tolerance import two_sided_factor
from coilmeter.errors import InputError
from coilmeter.values import CoilResult

FEWEST_COILS: Final = 5
_SHARED: Final = ("gain", "leads", "temperature")
_SHARED_COVERAGE: Final = 2.0


@dataclass(frozen=True, slots=True)
class KnownCoil:
    """One known-good coil.

    Parameters
    ----------
    head, coil
        Which it is.
    ohm
        Resistance at 20 degC in ohm.
    u_own_ohm, u_shared_ohm
        Standard uncertainty in ohm from what is this reading's own, and from what all
        readings of one meter and sitting share.

    """

    head: str
    coil: str
    ohm: float
    u_own_ohm: float
    u_shared_ohm: float

    @property
    def name(self) -> str:
        """Head and coil, as options name it."""
        return f"{self.head}:{self.coil}"

    @classmethod
    def of(cls, head: str, result: CoilResult) -> KnownCoil | None:
        """Make one of a judged coil; None where it has no value."""
        if result.resistance_20c_ohm is None or not result.parts_ohm:
            return None
        parts = dict(zip(PARTS, result.parts_ohm, strict=True))
        shared = math.hypot(*(parts[name] for name in _SHARED))
        own = math.hypot(*(parts[name] for name in PARTS if name not in _SHARED))
        return cls(head, result.coil, result.resistance_20c_ohm, own, shared)


@dataclass(frozen=True, slots=True)
class Learnt:
    """What good coils say of their kind.

    Parameters
    ----------
    coils, heads
        How many coils of how many heads.
    mean_ohm, s_ohm
        Mean and spread; where the readings cannot resolve the spread, what they can resolve.
    factor
        Factor k of the two-sided interval.
    coverage, confidence
        Share of such coils that lies within, and with what probability it does.
    shared_ohm
        By how much either limit was moved out for errors that all readings share.
    low_ohm, high_ohm
        The limits.

    """

    coils: int
    heads: int
    mean_ohm: float
    s_ohm: float
    factor: float
    coverage: float
    confidence: float
    shared_ohm: float
    low_ohm: float
    high_ohm: float


def learn(coils: Sequence[KnownCoil], coverage: float, confidence: float) -> Learnt:
    """Learn the limits of a band from known-good coils.

    Parameters
    ----------
    coils
        The coils, five at least.
    coverage, confidence
        As in `two_sided_factor`.

    Raises
    ------
    InputError
        When the coils are too few, or so unlike each other that the interval reaches zero.

    """
    count = len(coils)
    if count < FEWEST_COILS:
        raise InputError(
            f"saw {count} known-good coils with a value, expected {FEWEST_COILS} at least"
            + _how_wide(coils, coverage, confidence),
            hint="measure more good heads of this kind first.",
        )
    nothing = [coil for coil in coils if coil.ohm <= 0]
    if nothing:
        raise InputError(
            f"saw {nothing[0].ohm:g} ohm of head {nothing[0].head!r}, expected a good coil: "
            "each has a resistance",
            hint="leave that reading out.",
        )
    found = _interval(coils, coverage, confidence)
    if found.low_ohm <= 0:
        raise InputError(
            f"the interval reaches from {found.low_ohm:.4g} to {found.high_ohm:.4g} ohm: the "
            "coils are too few for how unlike they are",
            hint="leave out what does not belong, ask for less, or measure more good heads.",
        )
    return found


def _interval(coils: Sequence[KnownCoil], coverage: float, confidence: float) -> Learnt:
    values = np.array([coil.ohm for coil in coils], float)
    mean = float(values.mean())
    own = math.sqrt(float(np.mean([coil.u_own_ohm**2 for coil in coils])))
    # Rounded to the same digit, different coils read alike: no spread is finer than the
    # readings.
    spread = max(float(values.std(ddof=1)), own)
    factor = two_sided_factor(len(coils), coverage, confidence)
    shared = _SHARED_COVERAGE * max(coil.u_shared_ohm / coil.ohm for coil in coils) * mean
    reach = factor * spread + shared
    return Learnt(
        coils=len(coils),
        heads=len({coil.head for coil in coils}),
        mean_ohm=mean,
        s_ohm=spread,
        factor=factor,
        coverage=coverage,
        confidence=confidence,
        shared_ohm=shared,
        low_ohm=mean - reach,
        high_ohm=mean + reach,
    )


def _how_wide(coils: Sequence[KnownCoil], coverage: float, confidence: float) -> str:
    """Say how little so few coils would tell; empty where that cannot be computed."""
    if len(coils) < 2 or any(coil.ohm <= 0 for coil in coils):  # noqa: PLR2004 - no spread
        return ""
    found = _interval(coils, coverage, confidence)
    return (
        f": from so few the limits would be {found.factor:.1f} times their spread, "
        f"{found.low_ohm:.4g} to {found.high_ohm:.4g} ohm, which says little"
    )
