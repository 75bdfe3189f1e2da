"""Moves of the hands at the simulated bench, and what performs them one after the other."""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from coilmeter.errors import InputError
from coilmeter.sources.simulated_hands import Hands
from coilmeter.sources.simulated_thread import BenchThread


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
