"""The walk that proves a meter: clips together, swapped, apart, and on known resistors.

Readings in, events out, like the walk over a head.  It judges nothing itself: whoever drives
it tells which reading speaks against the meter, and such a one counts only when a second
contact reads the same.  A clip that is not clean must not condemn a meter.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Final, TypeAlias

from coilmeter.compute.settle import Settler, SettleRule
from coilmeter.errors import ReadingTextError
from coilmeter.units import Form, format_ohm, parse_reading
from coilmeter.values import Flag, Reading
from coilmeter.values.proofs import KnownResistor, Taken
from coilmeter.walks.evidence import RangeOf
from coilmeter.walks.proving_taken import same_reading, settled_reading, typed_reading
from coilmeter.walks.proving_told import (
    AskDisplay,
    Part,
    ProofAdvice,
    ProofAgain,
    ProofBegun,
    ProofDone,
    ProofEvent,
    ProofLift,
    ProofStep,
    ProofTaken,
    proof_steps,
)
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
UNSTEADY: Final = "it does not settle: clean the clips, hold still"
OL_AUTO: Final = frozenset({"ol auto", "0l auto"})
"""OL of a meter that chooses its range by itself."""

KEY_K: Final = " Press k if it is so"

Against: TypeAlias = Callable[[ProofStep, Taken, Mapping[ProofStep, ProofTaken]], str]
"""Says what a reading, after those taken before, has against the meter; empty for nothing."""


LastDigit: TypeAlias = Callable[[float], float]


def _nothing(step: ProofStep, taken: Taken, before: Mapping[ProofStep, ProofTaken]) -> str:  # noqa: ARG001 - as `Against`
    return ""


class ProofWalk:
    """Walks the steps of a proof.

    Parameters
    ----------
    resistors
        The known resistors.
    range_of
        End in ohm of the range a reading was taken on, None where it cannot be told.
    last_digit
        Last digit in ohm of the range that a reading is on, where the bytes do not tell it.
    against
        Tells which readings speak against the meter.
    ask_display
        Whether a person is asked if the display of the meter shows the same: once with the
        clips together, once on a resistor.

    Attributes
    ----------
    results
        What was taken, by step.
    display_agrees
        What a person said of the display, by step.
    lifting
        Whether the clips have to come off before anything is taken.
    asking
        The step whose reading is to be compared with the display; None for none.

    """

    def __init__(
        self,
        resistors: Sequence[KnownResistor],
        range_of: RangeOf = lambda _: None,
        *,
        last_digit: LastDigit = lambda _: 0.0,
        against: Against = _nothing,
        ask_display: bool = False,
    ) -> None:
        self._range_of = range_of
        self._last_digit = last_digit
        self._against = against
        self._ask_display = ask_display
        self.steps = proof_steps(resistors)
        self.results: dict[ProofStep, ProofTaken] = {}
        self.display_agrees: dict[ProofStep, bool] = {}
        self.lifting = False
        self.asking: ProofStep | None = None
        self._index = 0
        self._keep_next = False
        self._said = ""
        self._before: Taken | None = None
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
        if step is None or self.asking is not None:
            return []
        advice = why_not(reading) or (REL_IS_ON if Flag.RELATIVE in reading.flags else "")
        if advice:
            self._forget()
            return self._advise(advice)
        if reading.overload or reading.value is None or not math.isfinite(reading.value):
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

    def answer(self, *, agrees: bool) -> list[ProofEvent]:
        """Note whether the display shows the same; where it does not, all is over."""
        step = self.asking
        if step is None:
            return []
        self.asking = None
        self.display_agrees[step] = agrees
        if not agrees:
            self._index = len(self.steps)
            return [ProofDone()]
        return self._go_on(lifting=True)

    def skip(self) -> list[ProofEvent]:
        """Leave this step out, or the question about the display."""
        if self.asking is not None:
            self.asking = None
            return self._go_on(lifting=True)
        if self.step is None:
            return []
        return self._go_on(lifting=self._touched is not None)

    def redo(self) -> list[ProofEvent]:
        """Return to the step before this one, to take it again."""
        self.asking = None
        self._index = max(self._index - 1, 0)
        step = self.steps[self._index]
        self.results.pop(step, None)
        self.display_agrees.pop(step, None)
        return self._begin(lifting=True)

    def type(self, text: str) -> list[ProofEvent]:
        """Take a reading that a person typed, or several with a semicolon between them.

        Raises
        ------
        ReadingTextError
            When it is not a number of ohms, or for open leads not an OL.

        """
        step = self.step
        if step is None:
            return []
        if step.part is Part.OPEN:
            if text.strip().lower() in OL_AUTO:
                return self._take(ProofTaken(step, None, math.inf), lifting=False)
            reading = parse_reading(text)
            if reading.form is not Form.OVERLOAD:
                raise ReadingTextError(text, "OL, which open leads read: 'OL 40 Mohm'")
            return self._take(ProofTaken(step, None, reading.ohm), lifting=False)
        taken = typed_reading(text, milli=step.resistor is None)
        why = self._doubt(step, taken.mean_ohm) or self._against(step, taken, self.results)
        return self._weigh(step, taken, why, lifting=False)

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
            return self._advise(f"{doubt}{KEY_K}") if at - self._doubted >= DOUBT_S else []
        self._doubted = None
        if self._touched is None:
            self._touched, self._said = at, ""
        digit = reading.resolution or self._last_digit(ohm)
        settled = self._settler.feed(at, ohm, digit, reading)
        if settled is None:
            return self._advise(UNSTEADY) if at - self._touched >= MOVING_S else []
        taken = settled_reading(settled, digit)
        return self._weigh(step, taken, self._against(step, taken, self.results), lifting=True)

    def _doubt(self, step: ProofStep, ohm: float) -> str:
        """Say why a value cannot be what the step asks for; empty where it can."""
        if step.part is Part.OPEN:
            return f"open leads read {format_ohm(ohm)}: hold the clips apart, hands off"
        if step.resistor is None:
            if abs(ohm) <= SHORTED_BELOW_OHM:
                return ""
            return f"{format_ohm(ohm)}: are the clips together?"
        if math.isclose(ohm, step.resistor.ohm, rel_tol=RESISTOR_WITHIN):
            return ""
        return f"{format_ohm(ohm)} is far from {step.resistor.text}: another resistor?"

    def _weigh(
        self, step: ProofStep, taken: Taken, why: str, *, lifting: bool
    ) -> list[ProofEvent]:
        """Take a reading; one that speaks against the meter only the second time."""
        before, self._before = self._before, taken
        if why and (before is None or not same_reading(before, taken)):
            self.lifting = lifting
            self._forget()
            return [ProofAgain(step, why)]
        return self._take(ProofTaken(step, taken), lifting=lifting)

    def _take(self, event: ProofTaken, *, lifting: bool) -> list[ProofEvent]:
        step, taken = event.step, event.taken
        self.results[step] = event
        if lifting and self._ask_display and taken is not None and self._to_compare(step):
            self.asking = step
            return [event, AskDisplay(step, taken)]
        return [event, *self._go_on(lifting=lifting)]

    def _to_compare(self, step: ProofStep) -> bool:
        """Whether the display is to be compared here: shorted once, and on one resistor."""
        done = {each.part for each in self.display_agrees}
        return step.part in {Part.SHORT, Part.RESISTOR} and step.part not in done

    def _go_on(self, *, lifting: bool) -> list[ProofEvent]:
        self._index += 1
        then = self._begin(lifting=lifting)
        return [*([ProofLift()] if lifting and not self.finished else []), *then]

    def _begin(self, *, lifting: bool) -> list[ProofEvent]:
        self.lifting, self._keep_next, self._said = lifting, False, ""
        self._before = None
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
