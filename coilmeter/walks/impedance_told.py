"""What a walk over AC volts says: one small object for each thing to show or sound."""

from __future__ import annotations

from dataclasses import dataclass

from coilmeter.values.impedance_rows import ImpedanceRow
from coilmeter.walks.events import Finished, LowBattery, MeterAway, MeterBack, Refused
from coilmeter.walks.impedance_steps import ToneStep


@dataclass(frozen=True, slots=True)
class TonesPlanned:
    """So many of the voltages are left."""

    left: int
    total: int


@dataclass(frozen=True, slots=True)
class ToneBegun:
    """A step begins: touch these points; the `number`-th of `total`."""

    step: ToneStep
    number: int
    total: int


@dataclass(frozen=True, slots=True)
class ToneTouched:
    """The probes touch something."""

    step: ToneStep


@dataclass(frozen=True, slots=True)
class ToneMoving:
    """The probes have touched for long and the voltage does not settle."""

    step: ToneStep


@dataclass(frozen=True, slots=True)
class ToneQuiet:
    """Nothing that could be a tone has come for a while; `flows` where the tone was seen."""

    step: ToneStep
    flows: bool = False


@dataclass(frozen=True, slots=True)
class ToneStillOn:
    """The probes have not been lifted from what was taken."""

    step: ToneStep


@dataclass(frozen=True, slots=True)
class ToneTaken:
    """A voltage is kept, on disk already."""

    step: ToneStep
    row: ImpedanceRow


@dataclass(frozen=True, slots=True)
class ToneMade:
    """All voltages of a coil at a tone are taken: `text` says what they make."""

    step: ToneStep
    text: str


@dataclass(frozen=True, slots=True)
class ToneAgain:
    """The voltages of a coil at a tone cannot belong together: they are taken again."""

    step: ToneStep
    why: str


@dataclass(frozen=True, slots=True)
class ToneCaution:
    """Something a person should know now; what was taken stays."""

    text: str


@dataclass(frozen=True, slots=True)
class ToneSkipped:
    """A coil at a tone was left out on request."""

    step: ToneStep


ToneEvent = (
    TonesPlanned
    | ToneBegun
    | ToneTouched
    | ToneMoving
    | ToneQuiet
    | ToneStillOn
    | ToneTaken
    | ToneMade
    | ToneAgain
    | ToneCaution
    | ToneSkipped
    | Refused
    | LowBattery
    | MeterAway
    | MeterBack
    | Finished
)
