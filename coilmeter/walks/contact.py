"""What the clips do, told from the stream alone: touch, settle, lift, or read OL for good.

An open coil and lifted clips both read OL.  After some seconds of OL the person is asked to
bridge the two points with a metal tip: a short near-zero reading between two OLs proves that
the clips touch, so that the OL after it is the coil's own.

What is near zero is never taken by itself, because a tip that is held and a shorted coil look
the same: a person must say that no tip is across the points.  It proves a contact only after
the question, and only where it lasts as long as a tip on purpose does: clips that brush
against each other in the air read near zero too.  A shorted coil that is clipped after the
question and lifted again as quickly as a tip is not told from a tip.
"""

from __future__ import annotations

import math
from enum import Enum, auto
from typing import Final

from coilmeter.compute.settle import Settler
from coilmeter.values import Flag, Reading
from coilmeter.walks.blinking import LEAST, Blinks
from coilmeter.walks.contact_rule import ContactRule
from coilmeter.walks.told import (
    BackTooSoon,
    Blinking,
    Held,
    Moving,
    OpenProved,
    QuietlyOpen,
    SlowMeter,
    TipTooSoon,
    Told,
    Touched,
    ValueSettled,
)

_ALIKE: Final = 0.1
_GAPS_LEAST: Final = 2


class State(Enum):
    """What the watcher is waiting for."""

    LIFTING = auto()
    WAITING = auto()
    SETTLING = auto()
    NEAR_ZERO = auto()
    TIP = auto()
    AFTER_TIP = auto()


class ContactWatcher:
    """Watches the contact of one step.

    Parameters
    ----------
    rule
        How long things take.
    near_zero_ohm
        Below this a reading may be a tip across the points.
    shorted_expected
        Whether near zero is what the step wants (a lead null).
    lifted
        False where the clips still sit on the step before.

    """

    def __init__(
        self, rule: ContactRule, *, near_zero_ohm: float, shorted_expected: bool, lifted: bool
    ) -> None:
        self.rule = rule
        self.state = State.WAITING if lifted else State.LIFTING
        self.asked = False
        self._near_zero_ohm = near_zero_ohm
        self._believe_near_zero = shorted_expected
        self._shorted_expected = shorted_expected
        self._fed: float | None = None
        self._interval_s = math.inf
        self._state_since: float | None = None
        self._open_since: float | None = None
        self._open_run: list[Reading] = []
        self._near_zero_since = self._near_zero_last = 0.0
        self._near_zero_count = 0
        self._tip_asked = False
        self._settler: Settler[Reading] | None = None
        self._relative = False
        self._value_ohm = math.nan
        self._told_moving = False
        self._told_question = False
        self._held = False
        self._dropped = False
        self._back_since: float | None = None
        self._told_back = False
        self._blinks = Blinks(rule.lift_s)
        self._gaps = 0

    @property
    def blinked(self) -> bool:
        """Whether the joint dropped out on its way to what settled, more than clips bounce."""
        return self._blinks.count >= LEAST

    @property
    def waiting(self) -> bool:
        """Whether the clips are taken to be in the air, or on something that reads OL."""
        return self.state in {State.WAITING, State.AFTER_TIP}

    @property
    def near_zero(self) -> bool:
        """Whether the clips read near zero: a tip, or a short."""
        return self.state in {State.NEAR_ZERO, State.TIP}

    def interrupt(self) -> None:
        """Forget a contact half settled: what came in between was no resistance."""
        self._settler = self._open_since = self._back_since = None
        self._dropped = False
        if self.state is not State.LIFTING:
            self._enter(State.WAITING, None)

    def believe_near_zero(self) -> None:
        """Treat what is near zero as the coil's own from now on."""
        self._believe_near_zero = True

    def feed(self, at: float, reading: Reading) -> list[Told]:
        """Take one resistance reading and say what it means."""
        before, self._fed = self._fed, at
        told: list[Told] = []
        if before is not None:
            self._interval_s = min(self._interval_s, at - before)
            gap = at - before > self.rule.gap_s
            self._gaps = self._gaps + 1 if gap else 0
            if gap:
                self.interrupt()
            if self._gaps == _GAPS_LEAST:
                told.append(SlowMeter(at - before))
        if self._state_since is None:
            self._state_since = at
        still_on = self.state is State.LIFTING
        if not self._is_tip(reading) and self._blinks.feed(at, overload=reading.overload):
            told.append(Blinking(still_on, self._value_ohm))
        return told + self._judged(at, reading)

    def _is_tip(self, reading: Reading) -> bool:
        """Whether a reading may be a tip across the points: laid on again, no joint blinks."""
        ohm = reading.value
        near_zero = ohm is not None and abs(ohm) <= self._near_zero_ohm
        return near_zero and not reading.overload and not self._believe_near_zero

    def _judged(self, at: float, reading: Reading) -> list[Told]:
        if reading.overload:
            return self._open(at, reading)
        self._open_since = None
        if reading.value is None or not math.isfinite(reading.value):
            # Neither a resistance nor an overload: nothing can be told from it.
            self.interrupt()
            return []
        return self._touching(at, reading.value, reading)

    def _enter(self, state: State, at: float | None) -> None:
        self.state = state
        self._state_since = at
        self._told_question = False

    def _in_state(self, at: float) -> float:
        return at - (at if self._state_since is None else self._state_since)

    def _open(self, at: float, reading: Reading) -> list[Told]:
        if self._open_since is None:
            self._open_since = at
        lasted = at - self._open_since
        match self.state:
            case State.LIFTING:
                self._lifting(at, lasted)
            case State.SETTLING:
                self._settler = None
                if lasted >= self.rule.drop_s:
                    self._enter(State.WAITING, at)
            case State.NEAR_ZERO:
                self._enter(State.WAITING, at)
            case State.TIP:
                self._held |= self._tip_lasted(at) >= self.rule.tip_s
                self._enter(State.AFTER_TIP, at)
                self._open_run = [reading]
            case State.AFTER_TIP:
                self._open_run.append(reading)
                if self._in_state(at) >= self.rule.after_tip_s:
                    return self._after_tip(at)
            case State.WAITING if self._in_state(at) >= self.rule.ask_s:
                return self._ask()
            case _:
                pass
        return []

    def _lifting(self, at: float, lasted: float) -> None:
        self._dropped, self._back_since = True, None
        if lasted >= self.rule.lift_s:
            self._enter(State.WAITING, at)
            self._blinks = Blinks(self.rule.lift_s)

    def _ask(self) -> list[Told]:
        if self._shorted_expected or self._told_question:
            return []
        self.asked = self._told_question = True
        return [QuietlyOpen()]

    def _tip_lasted(self, at: float) -> float:
        """How long it was near zero, now that it no longer is.

        Of the time since the last near-zero reading only what is more than the way from one
        reading to the next counts: a slow meter must not make a short touch a long one.
        """
        since_last = at - self._near_zero_last
        unseen = max(since_last - self._interval_s, 0.0)
        return self._near_zero_last - self._near_zero_since + unseen

    def _after_tip(self, at: float) -> list[Told]:
        self._enter(State.WAITING, at)
        held, self._held = self._held, False
        if held or self._shorted_expected:
            # Near zero for longer than a tip is held: it may have been a shorted coil.
            return []
        if not self._tip_asked:
            # It may have been clips that met on their way.
            return [TipTooSoon()]
        return [OpenProved(tuple(self._open_run))]

    def _touching(self, at: float, ohm: float, reading: Reading) -> list[Told]:
        near_zero = self._is_tip(reading)
        if self.state is State.LIFTING:
            return self._still_on(at)
        if near_zero:
            return self._near_zero(at)
        told: list[Told] = []
        if self.state is not State.SETTLING:
            self._enter(State.SETTLING, at)
            self._settler, self._told_moving = None, False
            told.append(Touched())
        elif abs(ohm - self._value_ohm) <= _ALIKE * abs(ohm):
            # Two alike are a contact, and no meter on its way down to a tip: what was asked
            # before it was asked of clips that may have been elsewhere.
            self.asked = False
        self._value_ohm = ohm
        relative = Flag.RELATIVE in reading.flags
        if self._settler is None or relative is not self._relative:
            # With the leads taken off from here on, or no longer: not one and the same value.
            self._settler, self._relative = Settler(self.rule.settle), relative
        settled = self._settler.feed(at, ohm, reading.resolution or 0.0, reading)
        if settled is not None:
            return [*told, ValueSettled(settled)]
        if self._in_state(at) >= self.rule.moving_s and not self._told_moving:
            self._told_moving = True
            told.append(Moving(self._settler.creeping))
        return told

    def _still_on(self, at: float) -> list[Told]:
        """Say it once where the clips came off for too short a time, and are on again."""
        if not self._dropped or self._told_back:
            return []
        if self._back_since is None:
            self._back_since = at
        if at - self._back_since < self.rule.back_s:
            return []
        self._told_back = True
        return [BackTooSoon()]

    def _near_zero(self, at: float) -> list[Told]:
        """Tell a tip from a short: only a short is held.

        A short on a joint that drops out reads like a tip laid on again and again, so that the
        time counts from the first of them on.
        """
        if self.state not in {State.NEAR_ZERO, State.TIP, State.AFTER_TIP}:
            self._enter(State.NEAR_ZERO, at)
            self._settler = None
            self._near_zero_since, self._near_zero_count = at, 0
            self._tip_asked = self.asked
        self._near_zero_count += 1
        self._near_zero_last = at
        lasted = at - self._near_zero_since
        if self._near_zero_count >= self.rule.tip_least and lasted >= self.rule.tip_least_s:
            self.state = State.TIP
        if lasted >= self.rule.tip_s and not self._held:
            self._held = True
            return [Held()]
        return []
