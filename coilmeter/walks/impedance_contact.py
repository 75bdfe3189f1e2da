"""What the probes do on AC volts, told from the stream alone: touch, settle, lift.

Probes in the air read a few millivolts of hum at most, and no overload, so that a voltage
above a floor is a contact, and one that fell well below what was taken is a lift.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import Enum, auto
from typing import Final

from coilmeter.compute.settle import Settled, Settler, SettleRule
from coilmeter.values import Reading

VOLTS_SETTLE: Final = SettleRule(window_s=1.2, least=4, slow_above_ohm=math.inf)
"""AC volts take a little longer than ohms: a meter averages over some tenths of a second."""


@dataclass(frozen=True, slots=True)
class VoltsRule:
    """When what happens; seconds and volts.

    Parameters
    ----------
    settle
        When a run counts as settled.
    floor_volt
        Below it, nothing is taken for a tone.
    lift_share
        Below this share of what was taken, the probes are lifted.
    lift_s
        For so long it must be so.
    moving_s
        How long a contact may go without settling before something is said.
    quiet_s
        How long nothing may come before something is said.
    same_s
        How long the probes may stay on what was taken before something is said.
    gap_s
        A stream silent for so long says nothing of what the probes did in between.

    """

    settle: SettleRule = field(default_factory=lambda: VOLTS_SETTLE)
    floor_volt: float = 0.005
    lift_share: float = 0.5
    lift_s: float = 0.35
    moving_s: float = 8.0
    quiet_s: float = 8.0
    same_s: float = 6.0
    gap_s: float = 2.5


class VoltsState(Enum):
    """What the watcher is waiting for."""

    LIFTING = auto()
    WAITING = auto()
    SETTLING = auto()


class Told(Enum):
    """What happened, where it is no settled run."""

    TOUCHED = auto()
    MOVING = auto()
    QUIET = auto()
    STILL_ON = auto()


class VoltsWatcher:
    """Watches the probes through one step.

    Parameters
    ----------
    rule
        When what happens.
    taken_volt
        What was taken before, where the probes may still sit there; None where they do not.

    """

    def __init__(self, rule: VoltsRule, taken_volt: float | None = None) -> None:
        self.rule = rule
        self.state = VoltsState.WAITING if taken_volt is None else VoltsState.LIFTING
        self._taken_volt = taken_volt or 0.0
        self._since: float | None = None
        self._low_since: float | None = None
        self._fed: float | None = None
        self._settler: Settler[Reading] | None = None
        self._told = False

    def feed(self, at: float, volt: float, reading: Reading) -> Settled[Reading] | Told | None:
        """Take one voltage; answer with what it means, None for nothing new."""
        before, self._fed = self._fed, at
        if before is not None and at - before > self.rule.gap_s:
            self.interrupt()
        if self._since is None:
            self._since = at
        match self.state:
            case VoltsState.LIFTING:
                return self._lifting(at, volt)
            case VoltsState.WAITING:
                return self._waiting(at, volt, reading)
            case VoltsState.SETTLING:
                return self._settling(at, volt, reading)

    def lifted(self) -> None:
        """Take the probes for lifted: a person says that they are on the next points."""
        if self.state is VoltsState.LIFTING:
            self._enter(VoltsState.WAITING, self._fed)

    def interrupt(self) -> None:
        """Forget what was half settled."""
        self._settler = None
        self._low_since = None
        if self.state is VoltsState.SETTLING:
            self._enter(VoltsState.WAITING, None)

    def _enter(self, state: VoltsState, at: float | None) -> None:
        self.state, self._since, self._told = state, at, False
        self._low_since = None

    def _for_s(self, at: float) -> float:
        return at - (at if self._since is None else self._since)

    def _is_low(self, at: float, volt: float, limit: float) -> bool:
        """Whether it has been below a limit for long enough."""
        if volt >= limit:
            self._low_since = None
            return False
        if self._low_since is None:
            self._low_since = at
        return at - self._low_since >= self.rule.lift_s

    def _lifting(self, at: float, volt: float) -> Told | None:
        limit = max(self.rule.lift_share * self._taken_volt, self.rule.floor_volt / 2)
        if self._is_low(at, volt, limit):
            self._enter(VoltsState.WAITING, at)
            return None
        if self._for_s(at) >= self.rule.same_s and not self._told:
            self._told = True
            return Told.STILL_ON
        return None

    def _waiting(self, at: float, volt: float, reading: Reading) -> Told | None:
        if volt >= self.rule.floor_volt:
            self._enter(VoltsState.SETTLING, at)
            self._settler = Settler(self.rule.settle)
            self._settler.feed(at, volt, reading.resolution or 0.0, reading)
            return Told.TOUCHED
        if self._for_s(at) >= self.rule.quiet_s and not self._told:
            self._told = True
            return Told.QUIET
        return None

    def _settling(
        self, at: float, volt: float, reading: Reading
    ) -> Settled[Reading] | Told | None:
        if self._is_low(at, volt, self.rule.floor_volt):
            self._settler = None
            self._enter(VoltsState.WAITING, at)
            return None
        if self._settler is None:
            self._settler = Settler(self.rule.settle)
        settled = self._settler.feed(at, volt, reading.resolution or 0.0, reading)
        if settled is not None:
            return settled
        if self._for_s(at) >= self.rule.moving_s and not self._told:
            self._told = True
            return Told.MOVING
        return None
