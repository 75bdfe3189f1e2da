"""Small sums that tests of a chain need: scope, pickup coil, injected tone, series part.

The figures for heads are derived ones of this project, good to a factor of 3; see
``chain_tests.toml`` for where each is used.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

BIAS_VOLT_A_TURN: Final = 0.2e-3
ERASE_VOLT_A_TURN: Final = 14e-3
PICKUP_HZ: Final = 80e3
"""What a pickup coil gives a turn at the face of a record and of an erase head, at this
frequency (der); in proportion to it at others."""

VOLT_A_AMPERE_TURN: Final = 4.7e-3
"""What the head gives for the current in one wire across its gap: 4.7 uV a mA (der)."""

PART_TOLERANCE: Final = 0.05
READING_TOLERANCE: Final = 0.01
"""Of a resistor in series, and of a reading of a meter nobody described (own)."""

_COVERAGE: Final = 2.0


@dataclass(frozen=True, slots=True)
class Sine:
    """Volts of a sine: peak to peak, peak, and root mean square."""

    peak_to_peak: float

    @property
    def peak(self) -> float:
        """Half of peak to peak."""
        return self.peak_to_peak / 2

    @property
    def rms(self) -> float:
        """Peak over the square root of two."""
        return self.peak / math.sqrt(2)


def scope_hz(divisions: float, second_a_division: float) -> float:
    """Frequency of what fills so many divisions a period (common practice, no source)."""
    return 1 / (divisions * second_a_division)


def scope_sine(divisions: float, volt_a_division: float) -> Sine:
    """Volts of a sine that is so many divisions high."""
    return Sine(divisions * volt_a_division)


def pickup_volt(turns: float, hz: float = PICKUP_HZ) -> tuple[float, float]:
    """Volts that a pickup coil gives for bias and for the erase field (der, factor of 3)."""
    scale = turns * hz / PICKUP_HZ
    return BIAS_VOLT_A_TURN * scale, ERASE_VOLT_A_TURN * scale


def inject_ampere(volt: float, turns: float) -> float:
    """Give the current in turns at the face for so much at the head (der, factor of 3)."""
    return volt / (VOLT_A_AMPERE_TURN * turns)


class Walk(StrEnum):
    """What a reading past a part in series says."""

    AS_IT_SHOULD = "as it should be"
    MORE = "more than the part"
    LESS = "less than the part"


@dataclass(frozen=True, slots=True)
class SeriesWalk:
    """A reading past a part in series, against one before it.

    Parameters
    ----------
    found
        What it says.
    expected_ohm, excess_ohm
        The reading that the part explains, and what was read beyond it, in ohm.
    allowed_ohm
        Expanded uncertainty (k = 2) of that, in ohm.

    """

    found: Walk
    expected_ohm: float
    excess_ohm: float
    allowed_ohm: float


def series_walk(before_ohm: float, past_ohm: float, part_ohm: float) -> SeriesWalk:
    """Tell whether a part in series explains what was read past it.

    Parameters
    ----------
    before_ohm, past_ohm
        Readings before and past the part, in ohm.
    part_ohm
        What the part is marked with, in ohm.

    """
    root3 = math.sqrt(3)
    causes = (
        READING_TOLERANCE * before_ohm / root3,
        READING_TOLERANCE * past_ohm / root3,
        PART_TOLERANCE * part_ohm / root3,
    )
    excess = past_ohm - before_ohm - part_ohm
    allowed = _COVERAGE * math.hypot(*causes)
    found = Walk.AS_IT_SHOULD
    if abs(excess) > allowed:
        found = Walk.MORE if excess > 0 else Walk.LESS
    return SeriesWalk(found, before_ohm + part_ohm, excess, allowed)
