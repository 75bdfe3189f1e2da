"""The walk that proves a meter: clips together, swapped, apart, and on known resistors.

Readings in, events out, like the walk over a head.  It judges nothing itself: whoever drives
it tells which reading speaks against the meter, and such a one counts only when a second
contact reads the same.  A clip that is not clean must not condemn a meter.

Shorted leads that were left out are asked for once more at the end, where anything else was
read: it is weighed by them then, and asked again where it speaks against the meter.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Final, TypeAlias

from coilmeter.compute.settle import Settler, SettleRule
from coilmeter.values import Flag, Reading
from coilmeter.values.proofs import KnownResistor, Taken
from coilmeter.walks.evidence import RangeOf
from coilmeter.walks.proving_taken import (
    Against,
    doubt_of,
    same_reading,
    settled_reading,
    typed_overload,
    typed_reading,
    weighed_late,
)
from coilmeter.walks.proving_told import (
    AskDisplay,
    Part,
    ProofAdvice,
    ProofAgain,
    ProofBack,
    ProofBegun,
    ProofDone,
    ProofEvent,
    ProofLift,
    ProofStep,
    ProofTaken,
    ended,
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
REL_IS_ON: Final = "REL is on: switch it off, the leads are measured here"
UNSTEADY: Final = "it does not settle: clean the clips, hold still"
KEY_K: Final = "Press k if it is so"
NOTHING_WITHOUT: Final = (
    "without the leads together nothing is proved: they are asked for once more at the end"
)
NOTHING_ASKED: Final = "nothing was asked about: type what the meter shows"

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
    doubted
        What was read once, speaks against the meter and was not confirmed, by step.
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
        self.doubted: dict[ProofStep, ProofAgain] = {}
        self.display_agrees: dict[ProofStep, bool] = {}
        self.lifting = False
        self.asking: ProofStep | None = None
        self._index = 0
        self._keep_next = False
        self._said = ""
        self._confirmed: set[ProofStep] = set()
        self._leads_again = False
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

    def confirm(self) -> list[ProofEvent]:
        """Take the reading that was asked about: a person says that it reads the same again."""
        step = self.step
        asked = None if step is None else self.doubted.get(step)
        if step is None or asked is None:
            return [ProofAdvice(NOTHING_ASKED)]
        self._confirmed.add(step)
        return self._take(ProofTaken(step, asked.taken), lifting=False)

    def skip(self) -> list[ProofEvent]:
        """Leave this step out, or the question about the display."""
        if self.asking is not None:
            self.asking = None
            return self._go_on(lifting=True)
        step, last = self.step, self._leads_again
        if step is None:
            return []
        told = self._go_on(lifting=self._touched is not None)
        warns = step.part is Part.SHORT and not last and not self.finished
        return [*told, ProofAdvice(NOTHING_WITHOUT)] if warns else told

    def redo(self) -> list[ProofEvent]:
        """Return to the step that was taken last, to take it again."""
        if self.asking is None:
            self._index = max(self._index - 1, 0)
        self.asking = None
        step = self.steps[self._index]
        taken = self.results.pop(step, None)
        self.display_agrees.pop(step, None)
        self._confirmed.discard(step)
        return [*([ProofBack(taken)] if taken else []), *self._begin(lifting=True)]

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
            return self._take(ProofTaken(step, None, typed_overload(text)), lifting=False)
        taken = typed_reading(text, milli=step.resistor is None)
        why = doubt_of(step, taken.mean_ohm) or self._against(step, taken, self.results)
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
        doubt = "" if self._keep_next else doubt_of(step, ohm)
        if doubt:
            self._touched, self._settler = None, Settler(RULE)
            self._doubted = at if self._doubted is None else self._doubted
            told = f"{ended(doubt)} {KEY_K}"
            return self._advise(told) if at - self._doubted >= DOUBT_S else []
        self._doubted = None
        if self._touched is None:
            self._touched, self._said = at, ""
        digit = reading.resolution or self._last_digit(ohm)
        settled = self._settler.feed(at, ohm, digit, reading)
        if settled is None:
            return self._advise(UNSTEADY) if at - self._touched >= MOVING_S else []
        taken = settled_reading(settled, digit)
        return self._weigh(step, taken, self._against(step, taken, self.results), lifting=True)

    def _weigh(
        self, step: ProofStep, taken: Taken, why: str, *, lifting: bool
    ) -> list[ProofEvent]:
        """Take a reading; one that speaks against the meter only the second time."""
        before = self.doubted.get(step)
        if why and (before is None or not same_reading(before.taken, taken)):
            self.lifting = lifting
            self._forget()
            self.doubted[step] = ProofAgain(step, why, taken)
            return [self.doubted[step]]
        if why:
            self._confirmed.add(step)
        return self._take(ProofTaken(step, taken), lifting=lifting)

    def _take(self, event: ProofTaken, *, lifting: bool) -> list[ProofEvent]:
        step, taken = event.step, event.taken
        self.results[step] = event
        self.doubted.pop(step, None)
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
        again = self._at_the_end() if self.finished else []
        then = [*again, *self._begin(lifting=lifting)]
        return [*([ProofLift()] if lifting and not self.finished else []), *then]

    def _at_the_end(self) -> list[ProofEvent]:
        """Ask once more for leads left out; then for what speaks against the meter by them."""
        if not self._leads_again:
            leads = ProofStep(Part.SHORT)
            if self.results and leads not in self.results:
                self._leads_again = True
                self.steps.append(leads)
            return []
        late = weighed_late(self.results, self._confirmed, self._against)
        if late is None:
            return []
        self.steps.append(late.step)
        self.doubted[late.step] = late
        return [ProofBack(self.results.pop(late.step)), late]

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
