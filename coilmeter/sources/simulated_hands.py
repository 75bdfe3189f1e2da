"""The hands at the simulated bench: what the clips touch, and a script that moves them."""

from __future__ import annotations

import math
import threading
from bisect import bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from coilmeter.errors import InputError
from coilmeter.sources.clock import Clock
from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.sources.simulated_thread import BenchThread

TIP_OHM: Final = 0.03
"""Contact resistance of a metal tip across two pins, in ohm (invented, plausible)."""

BOUNCE_OHM: Final = (0.5, 500.0)
"""Smallest and largest contact resistance while a clip bounces (invented, plausible)."""


@dataclass(frozen=True, slots=True)
class _Contact:
    """What the clips do: resistance between them, and how the contact bounced at first."""

    pins: tuple[str, str] | None
    between_ohm: float
    since_s: float
    until_s: tuple[float, ...]
    series_ohm: tuple[float, ...]
    tip: bool = False


class Hands:
    """What the two clips are doing now.  May be used from several threads at once.

    Parameters
    ----------
    head
        The head on the bench; assign `head` to switch a fault while the meter runs.
    clock
        The bench clock.
    bounce_s
        For how long after each contact it is not clean, in seconds: open and some random
        ohms in turn.  Zero for a clean contact at once.
    tip_ohm
        Contact resistance of the metal tip, in ohm.
    seed
        Seed of the bounce; the same seed and the same moves bounce alike.

    """

    def __init__(
        self,
        head: SimulatedHead,
        clock: Clock,
        *,
        bounce_s: float = 0.25,
        tip_ohm: float = TIP_OHM,
        seed: int = 0,
    ) -> None:
        self.clock = clock
        self.bounce_s = bounce_s
        self.tip_ohm = tip_ohm
        self._head = head
        self._random = np.random.default_rng(seed)
        self._lock = threading.Lock()
        self._contact: _Contact | None = None

    @property
    def head(self) -> SimulatedHead:
        """The head on the bench.

        Raises
        ------
        InputError
            On assignment, when the new head has no such pins as are clipped now.

        """
        return self._head

    @head.setter
    def head(self, head: SimulatedHead) -> None:
        """Put another head under the clips where they are."""
        with self._lock:
            contact = self._contact
            if contact is not None and contact.pins is not None:
                between_ohm = head.resistance_between(*contact.pins)
                self._contact = replace(contact, between_ohm=between_ohm)
            self._head = head

    def clip(self, a: str, b: str) -> None:
        """Put the clips on two pins (or a pin and ``case``); the contact bounces first.

        Raises
        ------
        InputError
            When the head has no such pin.

        """
        with self._lock:
            self._touch((a, b), self._head.resistance_between(a, b))

    def short_leads(self) -> None:
        """Put the clips together, as for a lead null; the contact bounces first."""
        with self._lock:
            self._touch(None, 0.0)

    def lift(self) -> None:
        """Take the clips, and the metal tip, away."""
        with self._lock:
            self._contact = None

    def bridge(self, *, on: bool) -> None:
        """Lay a metal tip across the two clipped pins, or take it away.

        With the clips lifted it changes nothing: that is what tells an open coil from clips
        that do not touch.
        """
        with self._lock:
            if self._contact is not None:
                self._contact = replace(self._contact, tip=on)

    def resistance(self, now: float) -> float:
        """Give what the clips see at `now` (seconds of the bench clock), without the leads.

        Returns
        -------
        float
            In ohm; infinite when lifted, or when nothing connects the clips.

        """
        with self._lock:
            contact = self._contact
        if contact is None:
            return math.inf
        phase = bisect_right(contact.until_s, now - contact.since_s)
        series_ohm = contact.series_ohm[phase] if phase < len(contact.series_ohm) else 0.0
        between_ohm = contact.between_ohm
        if contact.tip:
            between_ohm = 1 / (1 / between_ohm + 1 / self.tip_ohm) if between_ohm else 0.0
        return series_ohm + between_ohm

    def _touch(self, pins: tuple[str, str] | None, between_ohm: float) -> None:
        """Make contact, and draw how it will bounce: open and some ohms in turn."""
        half = int(self._random.integers(2, 5))
        cuts = np.sort(self._random.uniform(0.0, self.bounce_s, 2 * half - 1))
        ohms = np.geomspace(*BOUNCE_OHM, 1000)[self._random.integers(0, 1000, half)]
        self._contact = _Contact(
            pins,
            between_ohm,
            self.clock.now(),
            (*cuts.tolist(), self.bounce_s),
            tuple(ohm for contact in ohms.tolist() for ohm in (math.inf, contact)),
        )


@dataclass(frozen=True, slots=True)
class Move:
    """One move of the hands.

    Parameters
    ----------
    wait_s
        Seconds of the bench clock between the move before (or the start) and this one.
    action
        What the hands do.
    note
        The move in words.

    """

    wait_s: float
    action: Callable[[Hands], None]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Touch:
    """One pair to be read, in order.

    Parameters
    ----------
    pins
        The two pins, or None to put the clips together for a lead null.
    bridge
        Whether the pair reads OL, so that the pins are bridged for a moment.
    hold_s
        How long to hold the clips before lifting (or before bridging), in seconds; None for
        the script's own.

    """

    pins: tuple[str, str] | None
    bridge: bool = False
    hold_s: float | None = None


def script_for(
    touches: Iterable[Touch],
    *,
    lifted_s: float = 1.0,
    hold_s: float = 2.5,
    ol_hold_s: float = 7.0,
    bridge_s: float = 0.6,
    after_bridge_s: float = 3.0,
) -> tuple[Move, ...]:
    """Write the moves that read `touches` one after the other.

    Parameters
    ----------
    touches
        The pairs.
    lifted_s
        How long the clips are in the air before each, in seconds.
    hold_s
        How long a pair that reads a value is held.
    ol_hold_s
        How long a pair that reads OL is held before the pins are bridged.
    bridge_s, after_bridge_s
        How long the tip lies on the pins, and how long the clips stay on after it.

    Returns
    -------
    tuple of Move
        Clip, hold, lift for each; for a pair that reads OL: clip, hold, bridge, take the
        tip off, hold, lift.

    """
    moves: list[Move] = []
    for touch in touches:
        moves.append(_contact_move(lifted_s, touch.pins))
        if touch.bridge:
            held_s = ol_hold_s if touch.hold_s is None else touch.hold_s
            moves.append(Move(held_s, lambda hands: hands.bridge(on=True), "bridge the pins"))
            moves.append(Move(bridge_s, lambda hands: hands.bridge(on=False), "tip off"))
            moves.append(Move(after_bridge_s, Hands.lift, "lift"))
        else:
            held_s = hold_s if touch.hold_s is None else touch.hold_s
            moves.append(Move(held_s, Hands.lift, "lift"))
    return tuple(moves)


def _contact_move(wait_s: float, pins: tuple[str, str] | None) -> Move:
    """Clip two pins, or the clips together."""
    if pins is None:
        return Move(wait_s, Hands.short_leads, "clips together")
    a, b = pins
    return Move(wait_s, lambda hands: hands.clip(a, b), f"clip {a} and {b}")


class Performer(BenchThread):
    """Moves the hands by a script, on a thread of its own, against the bench clock.

    Use it as a context manager: the script starts on entry, or when `cue` is set; on exit
    what is left of it is dropped and the thread joined.  An error of a move, such as a pin
    that is not there, comes out on exit.

    Parameters
    ----------
    hands
        The hands to move.
    script
        The moves, in order.
    cue
        An event to wait for first, such as `SimulatedBench.started`.

    """

    def __init__(
        self, hands: Hands, script: Sequence[Move], *, cue: threading.Event | None = None
    ) -> None:
        super().__init__("coilmeter-hands", hands.clock)
        for move in script:
            if not 0 <= move.wait_s < math.inf:
                raise InputError(f"a move was told to wait {move.wait_s} s, expected 0 or more")
        self._hands = hands
        self._script = tuple(script)
        self._cue = cue

    def work(self) -> None:
        """Make the moves, each when its time has come."""
        while self._cue is not None and not self._cue.wait(0.02):
            if self.stopping:
                return
        due_s = self.clock.now()
        for move in self._script:
            due_s += move.wait_s
            if not self.wait_until(due_s):
                return
            move.action(self._hands)
