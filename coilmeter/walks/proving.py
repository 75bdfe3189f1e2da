"""The walk that proves a meter: clips together, swapped, apart, and on known resistors.

Readings in, events out, like the walk over a head.  Nothing is judged here.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum, auto
from typing import Final, TypeAlias

from coilmeter.compute.settle import Settled, Settler, SettleRule
from coilmeter.errors import ReadingTextError
from coilmeter.units import Form, format_ohm, parse_reading
from coilmeter.values import Flag, Reading
from coilmeter.values.proofs import KnownResistor, Taken
from coilmeter.walks.evidence import RangeOf
from coilmeter.walks.refusals import why_not

RULE: Final = SettleRule(window_s=2.0, least=10, slow_window_s=4.0)
"""Ten readings at least, so that their scatter says something."""

LIFT_S: Final = 0.6
OPEN_S: Final = 3.0
DOUBT_S: Final = 1.0
"""A contact may bounce for so long before what it reads is spoken of."""

MOVING_S: Final = 8.0
SHORTED_BELOW_OHM: Final = 5.0
RESISTOR_WITHIN: Final = 0.2
"""A reading further from the nominal value than this is asked about: another resistor?"""

REL_IS_ON: Final = "REL is on: switch it off, the leads are measured here"


class Part(Enum):
    """What a step is about."""

    SHORT = auto()
    SWAPPED = auto()
    OPEN = auto()
    RESISTOR = auto()


@dataclass(frozen=True, slots=True)
class ProofStep:
    """One step of a proof."""

    part: Part
    resistor: KnownResistor | None = None

    @property
    def what(self) -> str:
        """What to do, in words."""
        if self.resistor is not None:
            return f"clip the resistor, {self.resistor.text}"
        return {
            Part.SHORT: "clip the two clips together",
            Part.SWAPPED: "swap the two plugs at the meter, and clip the clips together again",
            Part.OPEN: "hold the clips apart, touching nothing",
        }[self.part]


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
class ProofAdvice:
    """Something keeps the step from being read, or the clips have to be lifted first."""

    text: str


@dataclass(frozen=True, slots=True)
class ProofDone:
    """Every step was read or left out."""


ProofEvent: TypeAlias = ProofBegun | ProofTaken | ProofAdvice | ProofDone
LIFT: Final = ProofAdvice("lift the clips")


def proof_steps(resistors: Sequence[KnownResistor]) -> list[ProofStep]:
    """List the steps of a proof, in their order."""
    first = [ProofStep(part) for part in (Part.SHORT, Part.SWAPPED, Part.OPEN)]
    return [*first, *(ProofStep(Part.RESISTOR, resistor) for resistor in resistors)]


class ProofWalk:
    """Walks the steps of a proof.

    Parameters
    ----------
    resistors
        The known resistors.
    range_of
        End in ohm of the range a reading was taken on, None where it cannot be told.

    """

    def __init__(
        self, resistors: Sequence[KnownResistor], range_of: RangeOf = lambda _: None
    ) -> None:
        self._range_of = range_of
        self.steps = proof_steps(resistors)
        self.results: dict[ProofStep, ProofTaken] = {}
        self.lifting = False
        self._index = 0
        self._keep_next = False
        self._said = ""
        self._settler: Settler[Reading] = Settler(RULE)
        self._touched: float | None = None
        self._doubted: float | None = None
        self._open_since: float | None = None

    @property
    def step(self) -> ProofStep | None:
        """The step that is waiting; None at the end."""
        return self.steps[self._index] if self._index < len(self.steps) else None

    @property
    def finished(self) -> bool:
        """Whether nothing is left."""
        return self.step is None

    def start(self) -> list[ProofEvent]:
        """Begin the first step."""
        return self._begin(lifting=False)

    def feed(self, at: float, reading: Reading) -> list[ProofEvent]:
        """Take one reading, at seconds that only grow."""
        step = self.step
        if step is None:
            return []
        advice = why_not(reading) or (REL_IS_ON if Flag.RELATIVE in reading.flags else "")
        if advice:
            self._forget()
            return self._advise(advice)
        if reading.overload or reading.value is None:
            return self._over(at, step, reading)
        self._open_since = None
        if self.lifting:
            return []
        return self._value(at, step, reading, reading.value)

    def interrupted(self) -> None:
        """Begin what was half settled anew: the meter was away."""
        self._forget()

    def keep_it(self) -> list[ProofEvent]:
        """Believe that the clips are on what the step names, whatever it reads."""
        self._keep_next = True
        return []

    def skip(self) -> list[ProofEvent]:
        """Leave this step out."""
        if self.step is None:
            return []
        self._index += 1
        return self._begin(lifting=self._touched is not None)

    def type(self, text: str) -> list[ProofEvent]:
        """Take a reading that a person typed.

        Raises
        ------
        ReadingTextError
            When it is not a number of ohms, or for open leads not an OL.

        """
        step = self.step
        if step is None:
            return []
        reading = parse_reading(text, milli=step.resistor is None)
        if step.part is Part.OPEN:
            if reading.form is not Form.OVERLOAD:
                raise ReadingTextError(text, "OL, which open leads read: 'OL 40 Mohm'")
            return self._take(ProofTaken(step, None, reading.ohm), lifting=False)
        if reading.form is not Form.NUMBER or reading.ohm is None:
            raise ReadingTextError(text, "what the meter shows in ohms, such as '0.2 ohm'")
        taken = Taken(reading.ohm, step_ohm=reading.step_ohm or 0.0)
        return self._take(ProofTaken(step, taken), lifting=False)

    def _over(self, at: float, step: ProofStep, reading: Reading) -> list[ProofEvent]:
        """OL: the clips are lifted, or held apart as they should be."""
        self._touched, self._settler, self._doubted = None, Settler(RULE), None
        if self._open_since is None:
            self._open_since = at
        lasted = at - self._open_since
        if self.lifting and lasted >= LIFT_S:
            self.lifting, self._open_since = False, at
            return []
        if step.part is Part.OPEN and not self.lifting and lasted >= OPEN_S:
            return self._take(ProofTaken(step, None, self._range_of(reading)), lifting=False)
        return []

    def _value(
        self, at: float, step: ProofStep, reading: Reading, ohm: float
    ) -> list[ProofEvent]:
        doubt = "" if self._keep_next else self._doubt(step, ohm)
        if doubt:
            self._touched, self._settler = None, Settler(RULE)
            self._doubted = at if self._doubted is None else self._doubted
            return self._advise(doubt) if at - self._doubted >= DOUBT_S else []
        self._doubted = None
        if self._touched is None:
            self._touched, self._said = at, ""
        settled = self._settler.feed(at, ohm, reading.resolution or 0.0, reading)
        if settled is None:
            late = at - self._touched >= MOVING_S
            return (
                self._advise("it does not settle: clean the clips, hold still") if late else []
            )
        return self._take(ProofTaken(step, _taken(settled)), lifting=True)

    def _doubt(self, step: ProofStep, ohm: float) -> str:
        """Say why a value cannot be what the step asks for; empty where it can."""
        if step.part is Part.OPEN:
            return f"open leads read {format_ohm(ohm)}: hold the clips apart, hands off"
        if step.resistor is None:
            if abs(ohm) <= SHORTED_BELOW_OHM:
                return ""
            return f"{format_ohm(ohm)}: are the clips together? Press k if they are"
        if math.isclose(ohm, step.resistor.ohm, rel_tol=RESISTOR_WITHIN):
            return ""
        return (
            f"{format_ohm(ohm)} is far from {step.resistor.text}: another resistor? "
            "Press k if it is the one"
        )

    def _take(self, event: ProofTaken, *, lifting: bool) -> list[ProofEvent]:
        self.results[event.step] = event
        self._index += 1
        then = self._begin(lifting=lifting)
        return [event, *([LIFT] if lifting and not self.finished else []), *then]

    def _begin(self, *, lifting: bool) -> list[ProofEvent]:
        self.lifting, self._keep_next, self._said = lifting, False, ""
        self._forget()
        step = self.step
        if step is None:
            return [ProofDone()]
        return [ProofBegun(step, self._index + 1, len(self.steps))]

    def _forget(self) -> None:
        self._settler = Settler(RULE)
        self._touched = self._open_since = self._doubted = None

    def _advise(self, text: str) -> list[ProofEvent]:
        """Say it once, until something else is to be said."""
        if text == self._said:
            return []
        self._said = text
        return [ProofAdvice(text)]


def _taken(settled: Settled[Reading]) -> Taken:
    last = settled.items[-1]
    return Taken(
        settled.mean_ohm,
        settled.scatter_ohm,
        settled.count,
        last.resolution or 0.0,
        last.raw.hex(" "),
    )
