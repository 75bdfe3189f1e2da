"""What the stream tells of one contact, as the watcher of the clips hands it to the walk."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from coilmeter.compute.settle import Settled
from coilmeter.values import Reading
from coilmeter.walks.events import (
    AskBridge,
    BridgedTooSoon,
    Contact,
    Event,
    LiftLonger,
    MeterSlow,
    NearZeroHeld,
    StillMoving,
)
from coilmeter.walks.steps import Step


@dataclass(frozen=True, slots=True)
class Touched:
    """The clips touch something."""


@dataclass(frozen=True, slots=True)
class Moving:
    """The contact is old and not settled."""

    creeping: bool


@dataclass(frozen=True, slots=True)
class QuietlyOpen:
    """OL for a while: time to ask."""


@dataclass(frozen=True, slots=True)
class BackTooSoon:
    """A value again after OL too short to be a lift."""


@dataclass(frozen=True, slots=True)
class Held:
    """Near zero after the question, for longer than a tip is held."""


@dataclass(frozen=True, slots=True)
class Blinking:
    """The joint drops out again and again with the clips on.

    `before` where the clips still sit on the step that was taken before; `ohm` is what it
    reads in between.
    """

    before: bool
    ohm: float = math.nan


@dataclass(frozen=True, slots=True)
class TipTooSoon:
    """A tip, or clips that met, before anybody had asked: it proves nothing."""


@dataclass(frozen=True, slots=True)
class SlowMeter:
    """Readings come so rarely that nothing is known of the clips in between."""

    every_s: float


@dataclass(frozen=True, slots=True)
class ValueSettled:
    """A settled value."""

    run: Settled[Reading]


@dataclass(frozen=True, slots=True)
class OpenProved:
    """OL, with the clips proved to touch."""

    readings: tuple[Reading, ...]


Told = (
    Touched
    | Moving
    | QuietlyOpen
    | BackTooSoon
    | Held
    | Blinking
    | TipTooSoon
    | SlowMeter
    | ValueSettled
    | OpenProved
)

Plain = Touched | Moving | QuietlyOpen | BackTooSoon | Held | TipTooSoon | SlowMeter
"""What needs no more of the walk than its step."""

_OF_A_STEP: Final[dict[type, Callable[[Step], Event]]] = {
    Touched: Contact,
    BackTooSoon: LiftLonger,
    Held: NearZeroHeld,
    TipTooSoon: BridgedTooSoon,
}


def as_event(what: Plain, step: Step, little: str) -> Event:
    """Give what was told as an event of the walk.

    Parameters
    ----------
    what
        What was told.
    step
        The step that waits.
    little
        Why an OL would say little now; empty where it says enough.

    """
    match what:
        case Moving(creeping=creeping):
            return StillMoving(step, creeping)
        case QuietlyOpen():
            return AskBridge(step, little)
        case SlowMeter(every_s=every_s):
            return MeterSlow(every_s)
        case _:
            return _OF_A_STEP[type(what)](step)
