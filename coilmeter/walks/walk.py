"""The hands-free walk over the steps of a head: readings and commands in, events out.

It knows no screen, no clock, no port and no store.  Whoever drives it feeds it readings
with their times, hands it what the person asks for, and shows the events.  Evidence goes to
a keeper, which has it on disk before the event says that it is taken.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from typing import Final

from coilmeter.compute.settle import Settled
from coilmeter.errors import InputError, ReadingTextError
from coilmeter.units import Form, parse_reading
from coilmeter.values import Purpose, Reading, ReadingRow
from coilmeter.values.notes import BLINKED, CREPT, UNMOVED
from coilmeter.walks.contact import ContactWatcher, State
from coilmeter.walks.contact_rule import ContactRule
from coilmeter.walks.doubts import Doubts
from coilmeter.walks.events import (
    AskRange,
    Begun,
    Blinks,
    Event,
    Finished,
    Lift,
    MeterAway,
    MeterBack,
    NotKept,
    OnceMore,
    Planned,
    ReadsLikeACoil,
    SeenTogether,
    Skipped,
    Taken,
)
from coilmeter.walks.evidence import RangeOf, noted, row_of, value_text
from coilmeter.walks.itinerary import Itinerary
from coilmeter.walks.keeping import Aside, Keeper
from coilmeter.walks.refusals import why_not
from coilmeter.walks.steps import Step, moves_between
from coilmeter.walks.told import (
    Blinking,
    Held,
    OpenProved,
    Told,
    ValueSettled,
    as_event,
)

KEY_PROOF: Final = "key"
BRIDGE_PROOF: Final = "bridged"


class Walk(Itinerary):
    """A walk over steps, each taken, skipped or typed.

    Parameters
    ----------
    steps
        What to measure, in order.
    template
        What every row has in common: head, kind, meter, temperature and the like.
    keeper
        Where rows go before they count.
    range_of
        End in ohm of the range a reading was taken on, None where it cannot be told.
    done
        Keys of steps that were taken in an earlier run.
    rule
        How long things take.
    path_good_ohm
        An overload on a lower range than this says too little of an isolation path.
    digit_of
        Last digit in ohm that the meter shows of a value, for frames that do not tell it.

    """

    def __init__(
        self,
        steps: Sequence[Step],
        template: ReadingRow,
        keeper: Keeper,
        *,
        range_of: RangeOf = lambda _: None,
        done: Collection[str] = (),
        rule: ContactRule | None = None,
        path_good_ohm: float = 0.0,
        digit_of: Callable[[float], float] = lambda _: 0.0,
    ) -> None:
        super().__init__(steps, done)
        self.last_reading: Reading | None = None
        self._template = template
        self._keeper = keeper
        self._range_of = range_of
        self._rule = rule or ContactRule()
        self._digit_of = digit_of
        self.aside = Aside(keeper)
        self._doubts = Doubts(path_good_ohm)
        self._away = False
        self._clipped: tuple[str, ...] = ()
        self._watcher: ContactWatcher | None = None

    @property
    def watcher(self) -> ContactWatcher | None:
        """What the clips do in this step, for a screen."""
        return self._watcher

    def start(self) -> list[Event]:
        """Say how much there is to do, and begin the first step that is not done yet.

        On going on with an earlier run the clips may still sit on what was taken last: they
        must be lifted first.
        """
        left = [step for step in self.steps if step.key not in self.taken]
        moves = sum(step.moves for step in left)
        planned: list[Event] = [Planned(len(left), len(self.steps), moves)] if left else []
        return [*planned, *self._go_on(lifted=not self.taken)]

    def feed(self, at: float, reading: Reading) -> list[Event]:
        """Take one reading of the meter.

        Parameters
        ----------
        at
            When its last byte arrived, in seconds that only grow.
        reading
            What the frame says.

        """
        self.last_reading, self._away = reading, False
        step, watcher = self.step, self._watcher
        if step is None or watcher is None:
            return []
        end = self._range_of(reading) if reading.overload else None
        refused, said = self._doubts.about(step, reading, end, asked=watcher.asked)
        if refused:
            watcher.interrupt()
            return said
        told = watcher.feed(at, reading)
        if watcher.state is not State.LIFTING:
            # Whoever says now that it is so, says it of other points.
            self.aside.put()
        return said + [event for what in told for event in self._say(step, what)]

    def interrupted(self, what: str, advice: str) -> list[Event]:
        """Take note that nothing comes from the meter, so that nothing is known of the clips.

        What is half settled or half proved is forgotten; what is taken stays.  Steps may be
        typed and skipped meanwhile.  `what` and `advice` are handed to the screen.
        """
        self.last_reading, self._away = None, True
        self._doubts.forget()
        self._begin_again()
        return [MeterAway(what, advice)]

    def resumed(self, what: str) -> list[Event]:
        """Begin the step that was waiting again: `what` tells that the meter is back."""
        return [MeterBack(what), *self._begin_again()]

    def confirm_open(self) -> list[Event]:
        """Take the OL that the meter shows: a person says that the clips touch the pins."""
        reading = self.last_reading
        if self.step is None or self._watcher is None or reading is None:
            return []
        if why_not(reading) or not (reading.overload and self._watcher.waiting):
            return []
        return self._take_open(self.step, (reading,), KEY_PROOF)

    def keep_it(self) -> list[Event]:
        """Take what looked doubtful: a person says that it is what it is.

        A path that reads like a coil, before the clips are lifted; or what is near zero, as
        the coil's own, and only while the meter shows it: a tip is soon taken for a short.
        """
        held = self.aside.confirmed()
        if held is not None:
            return self._kept(*held, lifted=self._no_meter)
        step, watcher = self.step, self._watcher
        if step is None or watcher is None or self._wants_together(step):
            return []
        if watcher.near_zero:
            watcher.believe_near_zero()
        return []

    def type(self, text: str, range_ohm: float | None = None) -> list[Event]:
        """Take a reading that a person typed.

        Answers with `AskRange` for an OL whose range is not known.

        Raises
        ------
        ReadingTextError
            When the text is no reading.

        """
        step = self.step
        if step is None:
            return []
        reading = parse_reading(text, milli=step.purpose is Purpose.LEAD_NULL)
        if reading.form is Form.OVERLOAD and reading.ohm is None and range_ohm is None:
            return [AskRange(step)]
        row = replace(self._row(step), reading=reading, range_ohm=range_ohm)
        # While a person types nobody looks at the meter: the clips may sit there still.
        return self._checked(step, row, lifted=self._no_meter)

    def skip(self) -> list[Event]:
        """Leave this step out."""
        step = self.step
        if step is None:
            return []
        if step.key not in self.taken:
            self.skipped.add(step.key)
        self.doubted.pop(step.key, None)
        return [Skipped(step), *self._go_on(lifted=self._in_the_air)]

    @property
    def _no_meter(self) -> bool:
        return self.last_reading is None and not self._away

    @property
    def _in_the_air(self) -> bool:
        """Whether no meter shows that the clips still touch what this step was about."""
        if self.last_reading is None or self._watcher is None:
            return not self._away
        return self.last_reading.overload and self._watcher.waiting

    def _say(self, step: Step, what: Told) -> list[Event]:
        match what:
            case ValueSettled(run=run):
                return self._take_value(step, run)
            case OpenProved(readings=readings):
                return self._take_open(step, readings, BRIDGE_PROOF)
            case Held() if self._wants_together(step):
                self._seen_together = True
                return [SeenTogether(step)]
            case Blinking(before=before, ohm=ohm):
                return self._blinking(step, before=before or self._reads_like_last(step, ohm))
            case _:
                return [as_event(what, step, self._doubts.standing)]

    def _take_value(self, step: Step, run: Settled[Reading]) -> list[Event]:
        try:
            reading = parse_reading(value_text(run, self._digit_of(run.mean_ohm)))
        except ReadingTextError as error:
            # A frame may carry more than any resistance can be.
            return [NotKept(step, error.message), *self._begin(lifted=False)]
        row = replace(self._row(step, run.items), reading=reading, scatter_ohm=run.scatter_ohm)
        doubts = [CREPT if run.crept else "", BLINKED if self._blinked(step) else ""]
        return self._checked(step, noted(row, *doubts), lifted=False)

    def _blinked(self, step: Step) -> bool:
        watcher = self._watcher
        return step.purpose is not Purpose.LEAD_NULL and watcher is not None and watcher.blinked

    def _blinking(self, step: Step, *, before: bool) -> list[Event]:
        """Say it of the step whose points the clips are on, and note it where that is taken."""
        at = self.steps[self._last] if before and self._last is not None else step
        row = self.taken.get(at.key)
        if row is not None and before and row.purpose is not Purpose.LEAD_NULL:
            self._note_blinks(at, row)
        return [] if at.purpose is Purpose.LEAD_NULL else [Blinks(at)]

    def _note_blinks(self, step: Step, row: ReadingRow) -> None:
        """Keep a row that was taken once more, with what was seen since."""
        row = self.taken[step.key] = noted(row, BLINKED)
        self._keeper.keep(row)

    def _take_open(self, step: Step, readings: Sequence[Reading], proof: str) -> list[Event]:
        row = replace(self._row(step, readings), reading=parse_reading("OL"), proof=proof)
        if proof == BRIDGE_PROOF and self._unmoved(step):
            row = noted(row, UNMOVED)
        # The clips still sit on it, and their lifting will not show: OL before, OL after.
        return self._kept(step, row, lifted=False, unseen=True)

    def _row(self, step: Step, readings: Sequence[Reading] = ()) -> ReadingRow:
        return row_of(self._template, step, readings, self._range_of)

    def _checked(self, step: Step, row: ReadingRow, *, lifted: bool) -> list[Event]:
        """Keep a row, but ask first where a path reads like a coil."""
        ohm = row.reading.ohm
        is_value = row.reading.form is Form.NUMBER
        if is_value and ohm is not None and step.reads_like_a_coil(ohm):
            again = self._begin(lifted=lifted)
            self.aside.hold(step, row)
            return [ReadsLikeACoil(step, row), *again]
        return self._kept(step, row, lifted=lifted)

    def _kept(
        self, step: Step, row: ReadingRow, *, lifted: bool, unseen: bool = False
    ) -> list[Event]:
        self.aside.put()
        try:
            self._keeper.keep(row)
        except InputError as error:
            return [NotKept(step, error.message), *self._begin(lifted=lifted)]
        self._clipped = step.points
        self._note_taken(step, row)
        then = self._go_on(lifted=lifted)
        after: list[Event] = [] if lifted else [Lift(step, unseen and not self.finished)]
        return [Taken(step, row), *after, *then]

    def _begin_again(self) -> list[Event]:
        """Begin the step anew, the clips being where they were as far as anybody knows."""
        step, watcher = self.step, self._watcher
        if step is None or watcher is None:
            return []
        still_on = watcher.state is State.LIFTING
        return [*self._begin(lifted=not still_on), *([Lift(step)] if still_on else [])]

    def _begin(self, *, lifted: bool) -> list[Event]:
        self.aside.put()
        step = self.step
        if step is None:
            self._watcher = None
            return [Finished(len(self.taken), len(self.skipped))]
        self._watcher = ContactWatcher(
            self._rule,
            near_zero_ohm=step.near_zero_ohm,
            shorted_expected=step.purpose is Purpose.LEAD_NULL,
            lifted=lifted,
        )
        again = step.key in self.doubted
        if again or (self._index and self.steps[self._index - 1].key in self.skipped):
            step = replace(step, moves=moves_between(self._clipped, step.points))
        why: list[Event] = [OnceMore(step)] if again else []
        together = self._wants_together(step)
        return [*why, Begun(step, self._index + 1, len(self.steps), together)]
