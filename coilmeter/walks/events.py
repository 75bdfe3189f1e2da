"""What a walk says: one small object for each thing a screen may want to show or sound."""

from __future__ import annotations

from dataclasses import dataclass

from coilmeter.values import Reading, ReadingRow
from coilmeter.walks.steps import Step


@dataclass(frozen=True, slots=True)
class Planned:
    """A walk begins: so many of its readings are left, with so many clips to be moved."""

    left: int
    total: int
    moves: int


@dataclass(frozen=True, slots=True)
class Begun:
    """A step begins: clip these points, `together` the clips to each other before."""

    step: Step
    number: int
    total: int
    together: bool = False


@dataclass(frozen=True, slots=True)
class OnceMore:
    """A coil read OL right behind another OL: nothing showed that the clips were moved."""

    step: Step


@dataclass(frozen=True, slots=True)
class SeenTogether:
    """The clips were held together: they have moved, and can be clipped now."""

    step: Step


@dataclass(frozen=True, slots=True)
class Contact:
    """The clips touch something."""

    step: Step


@dataclass(frozen=True, slots=True)
class StillMoving:
    """The clips have touched for long and the reading does not settle.

    `creeping` tells a one-way drift, which means that the coil is still connected to
    something, from a reading that jumps.
    """

    step: Step
    creeping: bool


@dataclass(frozen=True, slots=True)
class AskBridge:
    """OL for a while: bridge the two points to prove that the clips touch.

    `little` says why the OL will decide little on this range; empty where it decides.
    """

    step: Step
    little: str = ""


@dataclass(frozen=True, slots=True)
class BridgedTooSoon:
    """Near zero for a moment before anybody had asked for a bridge: it does not count."""

    step: Step


@dataclass(frozen=True, slots=True)
class Blinks:
    """The joint of a step drops out again and again with the clips on."""

    step: Step


@dataclass(frozen=True, slots=True)
class MeterSlow:
    """A reading comes only every so many seconds: too rarely to tell what the clips do."""

    every_s: float


@dataclass(frozen=True, slots=True)
class AskRange:
    """OL was typed, and its range is not known: ask for it."""

    step: Step


@dataclass(frozen=True, slots=True)
class NearZeroHeld:
    """Near zero after the question, and held: it may be a tip or a short."""

    step: Step


@dataclass(frozen=True, slots=True)
class Taken:
    """A reading is kept, on disk already."""

    step: Step
    row: ReadingRow


@dataclass(frozen=True, slots=True)
class ReadsLikeACoil:
    """A path reads what a coil does: taken only when a person says that it is the path."""

    step: Step
    row: ReadingRow


@dataclass(frozen=True, slots=True)
class NotKept:
    """A reading that cannot be right was put aside, and the step is taken again."""

    step: Step
    why: str


@dataclass(frozen=True, slots=True)
class Lift:
    """Lift the clips: nothing more is taken from this contact.

    After an open coil the lifting is not seen (`unseen`): one that conducts again before
    the clips have moved would pass for the next one.
    """

    step: Step
    unseen: bool = False


@dataclass(frozen=True, slots=True)
class LiftLonger:
    """The clips are on again after too short a time in the air: nothing is taken yet."""

    step: Step


@dataclass(frozen=True, slots=True)
class Skipped:
    """A step was left out on request."""

    step: Step


@dataclass(frozen=True, slots=True)
class Refused:
    """The meter shows something that must not be judged; `advice` tells which knob to turn."""

    advice: str
    reading: Reading


@dataclass(frozen=True, slots=True)
class LowBattery:
    """The meter says that its battery is low: its readings may be off."""

    reading: Reading


@dataclass(frozen=True, slots=True)
class MeterAway:
    """Nothing that can be read comes from the meter: `what` it is, and `advice`."""

    what: str
    advice: str


@dataclass(frozen=True, slots=True)
class MeterBack:
    """Readings may be expected again; the step that was waiting is begun again."""

    what: str


@dataclass(frozen=True, slots=True)
class Spoilt:
    """Of what the meter has sent so far, so many stretches were no frame."""

    rejected: int
    total: int


@dataclass(frozen=True, slots=True)
class Finished:
    """Nothing is left to do."""

    taken: int
    skipped: int


Event = (
    Planned
    | Begun
    | Contact
    | StillMoving
    | AskBridge
    | BridgedTooSoon
    | OnceMore
    | SeenTogether
    | Blinks
    | MeterSlow
    | AskRange
    | NearZeroHeld
    | Taken
    | NotKept
    | ReadsLikeACoil
    | Lift
    | LiftLonger
    | Skipped
    | Refused
    | LowBattery
    | MeterAway
    | MeterBack
    | Spoilt
    | Finished
)
