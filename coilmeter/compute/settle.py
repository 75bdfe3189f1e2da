"""A stream of readings to "still moving" or "settled", without a hand on the meter.

Values are SI floats in ohm, infinity for an overload; times are seconds that only grow.
Nothing but `SettleRule.slow_above_ohm` depends on the unit: with that infinite, AC volts
settle by the same rule, and what says ohm below is volt.
"""

from __future__ import annotations

import itertools
import math
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Generic, TypeVar

ItemT = TypeVar("ItemT")

CREEP_LEAST: Final = 8
"""So many readings must move one way before it is called a creep."""

CREEP_SPAN_S: Final = 4.0
CREEP_SHARE: Final = 0.5
"""Share of all ups and downs that must be left over as one way: a creep seen with the last
digits flickering has it, and a reading that jumps to and fro has not."""


DRIFT_STEPS: Final = 2.0
DRIFT_FRACTION: Final = 0.0015
DRIFT_SHARE: Final = 0.8
"""A run that has moved by more than so many last digits (or, where these are not known, so much
of itself), nearly all of it one way, drifts: its mean is not what it will come to."""

BOUNCE_S: Final = 1.0
"""What a contact reads in its first second says nothing of a drift."""

CREPT_AFTER_S: Final = 3.0
CREPT_WINDOW_S: Final = 8.0
CREPT_STEPS: Final = 1.0
"""After a drift that lasted so long, a run must be so long and move by no more than so many
digits: a capacitor may go on charging for a minute; a slow meter is done sooner."""


COARSE_STEP_OHM: Final = 100.0
FEW_STEPS: Final = 20.0
GROWN_STEPS: Final = 0.5
"""A value of fewer digits, of 100 ohm or more each, is watched for as long as a high one, and
must not grow: three digits are most of it, and on a high range a charge begins so."""

STILL_SHARE: Final = 0.25
"""Of a way that is gone evenly half is gone in the second half of the time; a meter that has
come to rest goes less."""


@dataclass(frozen=True, slots=True)
class SettleRule:
    """When a run of readings counts as settled.

    Parameters
    ----------
    window_s, least
        The run lasts at least so long and has at least so many readings.
    fraction, steps
        Its readings lie within the larger of this fraction of their mean and so many last
        digits.
    slow_above_ohm, slow_window_s
        Above this resistance the run must last longer: meters take seconds there (published
        meter manuals, PROVENANCE.md J1, J5).

    """

    window_s: float = 0.8
    least: int = 4
    fraction: float = 0.005
    steps: float = 3.0
    slow_above_ohm: float = 1e6
    slow_window_s: float = 2.0


@dataclass(frozen=True, slots=True)
class Settled(Generic[ItemT]):
    """A settled run: mean and standard deviation in ohm, and the readings it is made of.

    `crept` where the readings before it went one way for seconds.
    """

    mean_ohm: float
    scatter_ohm: float
    items: tuple[ItemT, ...]
    crept: bool = False

    @property
    def count(self) -> int:
        """How many readings."""
        return len(self.items)


class Settler(Generic[ItemT]):
    """Watches one contact, from its first finite reading on.

    Parameters
    ----------
    rule
        When a run counts as settled.

    """

    def __init__(self, rule: SettleRule) -> None:
        self.rule = rule
        self._run: deque[tuple[float, float, ItemT]] = deque()
        self._history: deque[tuple[float, float]] = deque(maxlen=64 * CREEP_LEAST)
        self._first_at = math.inf
        self._drift_since: float | None = None
        self._crept = False

    def feed(
        self, at: float, ohm: float, step_ohm: float, item: ItemT
    ) -> Settled[ItemT] | None:
        """Take one finite reading; answer with the settled run once there is one.

        Parameters
        ----------
        at
            Time in seconds.
        ohm, step_ohm
            The reading and its last digit, in ohm.
        item
            What to hand back with the run (the reading itself).

        """
        self._first_at = min(self._first_at, at)
        self._history.append((at, ohm))
        self._run.append((at, ohm, item))
        window = self._window(ohm, step_ohm)
        while len(self._run) > self.rule.least and at - self._run[1][0] >= window:
            self._run.popleft()
        values = [value for _, value, _ in self._run]
        mean = math.fsum(values) / len(values)
        allowed = max(self.rule.fraction * abs(mean), self.rule.steps * step_ohm)
        spread = max(values) - min(values)
        if spread > allowed:
            self._run = deque([self._run[-1]])
            self._note_drift(at, drifts=self._drifted_before(at, step_ohm))
            return None
        if len(values) < self.rule.least or at - self._run[0][0] < window:
            return None
        if self._drifts(at, values, step_ohm):
            return None
        squares = math.fsum((value - mean) ** 2 for value in values)
        scatter = math.sqrt(squares / (len(values) - 1))
        items = tuple(item for _, _, item in self._run)
        return Settled(mean, scatter, items, self._crept)

    @property
    def creeping(self) -> bool:
        """Whether the last seconds went one way, as a charging capacitor makes them go.

        The L/R time of a coil is below a millisecond: a slow creep is never the coil.
        """
        if len(self._history) < CREEP_LEAST:
            return False
        now = self._history[-1][0]
        recent = sum(now - at <= CREEP_SPAN_S for at, _ in self._history)
        values = [ohm for _, ohm in self._history][-max(recent, CREEP_LEAST) :]
        ways = math.fsum(abs(b - a) for a, b in itertools.pairwise(values))
        grown = abs(values[-1] - values[0])
        return grown > self.rule.fraction * abs(values[-1]) and grown >= CREEP_SHARE * ways

    def _drifts(self, at: float, values: list[float], step_ohm: float) -> bool:
        """Whether a run that lies close together still goes one way."""
        grown = abs(values[-1] - values[0])
        ways = math.fsum(abs(b - a) for a, b in itertools.pairwise(values))
        step = step_ohm or DRIFT_FRACTION / DRIFT_STEPS * abs(values[-1])
        if self._crept:
            return grown > CREPT_STEPS * step
        here = grown > DRIFT_STEPS * step and grown >= DRIFT_SHARE * ways
        few = _is_few(values[-1], step_ohm) and _grows(values, step_ohm)
        return self._note_drift(at, drifts=here or few or self._drifted_before(at, step))

    def _note_drift(self, at: float, *, drifts: bool) -> bool:
        if not drifts:
            self._drift_since = None
            return False
        if self._drift_since is None:
            self._drift_since = at
        self._crept |= at - self._drift_since >= CREPT_AFTER_S
        return True

    def _drifted_before(self, at: float, step_ohm: float) -> bool:
        """Whether the seconds before, the first of the contact left out, went one way.

        It tells a creep in coarse digits, that stand still for as long as a run.
        """
        # A slow meter sends too few readings within the span to tell a creep by.
        since = min(at - CREEP_SPAN_S, self._history[-min(CREEP_LEAST, len(self._history))][0])
        begun = self._first_at + BOUNCE_S
        recent = [ohm for when, ohm in self._history if when >= max(begun, since)]
        if len(recent) < CREEP_LEAST:
            return False
        steps = [abs(b - a) for a, b in itertools.pairwise(recent)]
        ways, grown = math.fsum(steps), abs(recent[-1] - recent[0])
        least = max(self.rule.fraction * abs(recent[-1]), DRIFT_STEPS * step_ohm)
        # One jump is another contact, or another thing clipped, and no creep.
        at_once = max(steps) > grown / 2
        lately = abs(recent[-1] - recent[len(recent) // 2])
        still = lately >= STILL_SHARE * grown
        return grown > least and grown >= DRIFT_SHARE * ways and still and not at_once

    def _window(self, ohm: float, step_ohm: float) -> float:
        if self._crept:
            return CREPT_WINDOW_S
        if _is_few(ohm, step_ohm) or abs(ohm) > self.rule.slow_above_ohm:
            return self.rule.slow_window_s
        return self.rule.window_s


def _is_few(ohm: float, step_ohm: float) -> bool:
    """Whether a value is a few coarse digits only."""
    return step_ohm >= COARSE_STEP_OHM and abs(ohm) < FEW_STEPS * step_ohm


def _grows(values: Sequence[float], step: float) -> bool:
    """Whether the second half of a run lies above the first by half a digit."""
    half = len(values) // 2
    first, second = values[:half], values[-half:]
    return math.fsum(second) / half - math.fsum(first) / half > GROWN_STEPS * step
