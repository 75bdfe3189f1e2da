"""The steps of a proof, and what its walk says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum, auto
from typing import TypeAlias

from coilmeter.values.proofs import KnownResistor, Taken


class Part(Enum):
    """What a step is about."""

    SHORT = auto()
    SWAPPED = auto()
    OPEN = auto()
    RESISTOR = auto()


_WHAT = {
    Part.SHORT: "clip the two clips together",
    Part.SWAPPED: "swap the two plugs at the meter, and clip the clips together again",
    Part.OPEN: "hold the clips apart, touching nothing",
}
_NAME = {
    Part.SHORT: "leads together",
    Part.SWAPPED: "leads together, swapped",
    Part.OPEN: "leads open",
}


@dataclass(frozen=True, slots=True)
class ProofStep:
    """One step of a proof; two resistors of one value are told apart by their number."""

    part: Part
    resistor: KnownResistor | None = None
    number: int = 0

    @property
    def what(self) -> str:
        """What to do, in words."""
        if self.resistor is not None:
            return f"clip the resistor, {self.resistor.text}"
        return _WHAT[self.part]

    @property
    def name(self) -> str:
        """What was read, in words."""
        return _NAME[self.part] if self.resistor is None else self.resistor.text


@dataclass(frozen=True, slots=True)
class ProofBegun:
    """A step begins."""

    step: ProofStep
    number: int
    total: int


@dataclass(frozen=True, slots=True)
class ProofTaken:
    """A step was read; an OL has no `taken`, and the end of its range where that is told."""

    step: ProofStep
    taken: Taken | None = None
    range_ohm: float | None = None


@dataclass(frozen=True, slots=True)
class ProofBack:
    """What was taken counts no more: the step is taken again."""

    was: ProofTaken


@dataclass(frozen=True, slots=True)
class ProofAdvice:
    """Something keeps the step from being read, or has become of the connection."""

    text: str


@dataclass(frozen=True, slots=True)
class ProofLift:
    """Lift the clips: nothing more is taken from this contact."""


@dataclass(frozen=True, slots=True)
class ProofAgain:
    """A reading speaks against the meter: a contact is made anew before that counts."""

    step: ProofStep
    why: str
    taken: Taken


@dataclass(frozen=True, slots=True)
class AskDisplay:
    """A person is to say whether the display shows this too, with the clips as they are."""

    step: ProofStep
    taken: Taken


@dataclass(frozen=True, slots=True)
class ProofDone:
    """Every step was read or left out, or the display shows something else."""


ProofEvent: TypeAlias = (
    ProofBegun
    | ProofTaken
    | ProofBack
    | ProofAdvice
    | ProofLift
    | ProofAgain
    | AskDisplay
    | ProofDone
)


def ended(text: str) -> str:
    """End a sentence, where no sign ends it yet."""
    return text if text.endswith((".", "?", "!")) else f"{text}."


def proof_steps(resistors: Sequence[KnownResistor]) -> list[ProofStep]:
    """List the steps of a proof, in their order."""
    first = [ProofStep(part) for part in (Part.SHORT, Part.SWAPPED, Part.OPEN)]
    return [
        *first,
        *(ProofStep(Part.RESISTOR, each, number) for number, each in enumerate(resistors, 1)),
    ]
