"""What is said while a joint is moved: one small object for each thing to show or sound."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, StrEnum, auto

from coilmeter.walks.events import MeterAway, MeterBack, Refused


class FlexState(Enum):
    """What is waited for, for a screen."""

    WAITING = auto()
    """The clips are in the air."""
    RESTING = auto()
    """The joint is to be held still."""
    MOVING = auto()
    """The joint is to be moved."""
    OPEN = auto()
    """It reads OL."""
    ASKED = auto()
    """It has read OL for long: are the clips lifted?"""
    ENDED = auto()


class End(StrEnum):
    """Why it ended."""

    TIME = "the time is over"
    KEY = "ended by key"
    LIFTED = "the clips were lifted"
    UNANSWERED = "OL, and nobody answered"
    STOPPED = "stopped"
    FILE = "the end of the file"


@dataclass(frozen=True, slots=True)
class ClipOn:
    """Put the clips on."""


@dataclass(frozen=True, slots=True)
class HoldStill:
    """The clips touch: hold still, so that the meter's own scatter shows."""


@dataclass(frozen=True, slots=True)
class MoveNow:
    """Move the joint now.

    Parameters
    ----------
    level_ohm
        What it reads at rest.
    jump_limit_ohm
        A change above this will count.
    rested
        Whether it was at rest before; else the last digit stands for the meter's scatter.

    """

    level_ohm: float
    jump_limit_ohm: float
    rested: bool


@dataclass(frozen=True, slots=True)
class DroppedOut:
    """It is open now, for the `count`-th time."""

    count: int


@dataclass(frozen=True, slots=True)
class CameBack:
    """It conducts again, after so long."""

    open_s: float


@dataclass(frozen=True, slots=True)
class Changed:
    """The level has changed by so much, for the `count`-th time."""

    jump_ohm: float
    count: int


@dataclass(frozen=True, slots=True)
class Creeps:
    """It goes one way, slowly."""

    drift_ohm: float


@dataclass(frozen=True, slots=True)
class AskLifted:
    """It has read OL for so long: the clips may be lifted, or the joint open."""

    open_s: float


@dataclass(frozen=True, slots=True)
class Answered:
    """A person said what the OL is."""

    lifted: bool


@dataclass(frozen=True, slots=True)
class Ended:
    """Nothing more is read."""

    why: End


FlexEvent = (
    ClipOn
    | HoldStill
    | MoveNow
    | DroppedOut
    | CameBack
    | Changed
    | Creeps
    | AskLifted
    | Answered
    | Refused
    | MeterAway
    | MeterBack
    | Ended
)
