"""The walk that watches one coil while its joint is moved: readings in, events out.

It knows no screen, no clock, no port and no store.  First it waits for a contact, then the
joint is held still for some seconds, then it is moved.  What a person does to end it must
not pass for a fault, nor a fault for the end: OL for long is asked about.  Clips that were
lifted can be touched together then, which nothing but lifted clips can do.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from coilmeter.compute.circumstances import MeterTable
from coilmeter.compute.flex import OPEN_OHM, Flexed
from coilmeter.compute.flex_rule import FlexRule
from coilmeter.compute.flex_scan import FlexPoint, Mark, Meaning
from coilmeter.values import Flag, FlexResult, Reading
from coilmeter.walks.events import MeterAway, MeterBack, Refused
from coilmeter.walks.flexing_rest import RestWatcher, point_of
from coilmeter.walks.flexing_time import MovingTime
from coilmeter.walks.flexing_told import (
    Answered,
    AskLifted,
    CameBack,
    Changed,
    ClipOn,
    Creeps,
    DroppedOut,
    End,
    Ended,
    FlexEvent,
    FlexState,
    MoveNow,
)
from coilmeter.walks.refusals import why_not
from coilmeter.walks.steps import NEAR_ZERO_MOST_OHM

TOUCH_LEAST: Final = 2
TOUCH_LEAST_S: Final = 0.25
TOUCH_SHARE: Final = 0.25
"""Clips that touch each other read less than this share of the coil."""

LOOK_EVERY_S: Final = 1.0
LOOK_RARER: Final = 1.25
LIFTED: Final = (
    "OL was left out because you said that the clips were lifted. If they sat on the pins, the "
    "joint is open: read the coil again."
)
LOW_BATTERY: Final = "The meter reported a low battery: change it and flex the coil again."


class Flexing:
    """Watches one coil.

    Parameters
    ----------
    meter
        Tells the range and the last digit of a reading, where the frame does not.
    rule
        The limits.
    open_ohm
        A value above this is as good as open.
    for_s
        Seconds of moving after which it ends; None for never.  It goes on where too little
        was watched in them, as `coilmeter.compute.flex.Flexed.suffices` says.

    Attributes
    ----------
    last_reading
        What the meter shows now.
    finest
        The reading with the finest last digit so far.
    time
        How long it has been moved.

    """

    def __init__(
        self,
        meter: MeterTable,
        *,
        rule: FlexRule | None = None,
        open_ohm: float = OPEN_OHM,
        for_s: float | None = None,
    ) -> None:
        self.last_reading: Reading | None = None
        self.finest: Reading | None = None
        self.time = MovingTime(for_s)
        self.end_reason: End | None = None
        self._meter = meter
        self._rule = rule or FlexRule()
        self._open_ohm = open_ohm
        self._resting = RestWatcher(open_ohm, self._rule)
        self._flexed: Flexed | None = None
        self._touching: list[FlexPoint] = []
        self._asked = False
        self._relative: bool | None = None
        self._refused = ""
        self._look_at = 0.0
        self._crept = False
        self._low_battery = False
        self._on_word = False

    @property
    def ended(self) -> bool:
        """Whether nothing more is taken."""
        return self.end_reason is not None

    @property
    def state(self) -> FlexState:
        """What is waited for."""
        if self.ended:
            return FlexState.ENDED
        if self._flexed is None:
            return FlexState.RESTING if self._resting.touching else FlexState.WAITING
        run = self._flexed.scanner.run
        if run is None or not run.opens:
            return FlexState.MOVING
        return FlexState.ASKED if self._asked else FlexState.OPEN

    @property
    def dropouts(self) -> int:
        """How often it was open, one that goes on included."""
        if self._flexed is None:
            return 0
        runs = self._flexed.scanner.runs
        going_on = self._flexed.scanner.run
        counted = {Meaning.DROPOUT, Meaning.DOUBTFUL}
        return sum(
            run.meaning(self._rule) in counted or (run is going_on and not self._asked)
            for run in runs
            if run.opens
        )

    def start(self) -> list[FlexEvent]:
        """Say what to do first."""
        return [ClipOn()]

    def feed(self, at: float, reading: Reading) -> list[FlexEvent]:
        """Take one reading of the meter.

        Parameters
        ----------
        at
            When its last byte arrived, in seconds that never go back.
        reading
            What the frame says.

        """
        self.last_reading = reading
        if self.ended:
            return []
        self.time.read(at)
        advice = why_not(reading)
        told, self._refused = self._refused == advice, advice
        if advice:
            self._interrupt()
            return [] if told else [Refused(advice, reading)]
        if not reading.overload and (reading.value is None or not math.isfinite(reading.value)):
            self._interrupt()
            return []
        relative = Flag.RELATIVE in reading.flags
        if self._relative not in {None, relative}:
            # With the leads taken off from here on, or no longer: not one and the same value.
            self._interrupt()
        self._relative = relative
        self._low_battery |= Flag.LOW_BATTERY in reading.flags
        self._note_finest(reading)
        point = point_of(at, reading, self._meter)
        if self._flexed is None:
            return self._before(point)
        happened = self._moved(self._flexed, point)
        return happened + self._time_over(self._flexed, at)

    def interrupted(self, what: str, advice: str) -> list[FlexEvent]:
        """Take note that nothing comes from the meter: the clips may be moved meanwhile."""
        self.last_reading = None
        self._interrupt()
        self.time.interrupt()
        return [MeterAway(what, advice)]

    def resumed(self, what: str) -> list[FlexEvent]:
        """Go on: `what` tells that the meter is back."""
        return [MeterBack(what)]

    def still_on(self) -> list[FlexEvent]:
        """Count the OL as a drop-out: a person says that the clips sit on the pins."""
        return self._answer(Meaning.DROPOUT)

    def lifted(self) -> list[FlexEvent]:
        """Leave the OL out: a person says that the clips were lifted."""
        told = self._answer(Meaning.LIFTED)
        self._on_word |= bool(told)
        return told

    def end(self, why: End) -> list[FlexEvent]:
        """End it; who ends it by a key while it reads OL has lifted the clips."""
        if self.ended:
            return []
        told: list[FlexEvent] = []
        if why is End.KEY:
            told = self.lifted()
        self._feed_touching()
        self.end_reason = why
        return [*told, Ended(why)]

    def result(self) -> FlexResult | None:
        """Judge what was read; None where it was never moved."""
        if self._flexed is None or not self._flexed.scanner.points:
            return None
        found = self._flexed.result()
        if self._on_word:
            found = replace(found, notes=(*found.notes, LIFTED))
        if self._low_battery:
            found = replace(found, notes=(*found.notes, LOW_BATTERY))
        return found

    def flexed(self) -> Flexed | None:
        """Give the stream itself, for a picture; None where it was never moved."""
        return self._flexed

    def _interrupt(self) -> None:
        self._resting.interrupt()
        self._touching.clear()
        if self._flexed is not None:
            self._flexed.scanner.interrupt()

    def _note_finest(self, reading: Reading) -> None:
        if reading.value is not None and (
            self.finest is None
            or (reading.resolution or math.inf) < (self.finest.resolution or math.inf)
        ):
            self.finest = reading

    def _before(self, point: FlexPoint) -> list[FlexEvent]:
        """Wait for a contact, and for rest; then begin."""
        told = self._resting.feed(point)
        rest = self._resting.found
        if rest is None:
            return told
        at_rest = tuple(self._resting.points)
        self._flexed = Flexed(
            rest,
            at_rest,
            rule=self._rule,
            open_ohm=self._open_ohm,
            breaks=self._resting.breaks,
        )
        self.time.begin(point.at)
        self._look_at = point.at + LOOK_EVERY_S
        limit = self._flexed.scanner.jump_limit_ohm
        return [*told, MoveNow(rest.level_ohm, limit, rested=bool(at_rest))]

    def _moved(self, flexed: Flexed, point: FlexPoint) -> list[FlexEvent]:
        run = flexed.scanner.run
        if run is not None and self._asked and self._touches(point, run.level_ohm):
            self._touching.append(point)
            lasted = point.at - self._touching[0].at
            if len(self._touching) < TOUCH_LEAST or lasted < TOUCH_LEAST_S:
                return []
            self._touching.clear()
            return [*self._answer(Meaning.LIFTED), *self.end(End.LIFTED)]
        self._feed_touching()
        mark = flexed.feed(point)
        told = self._say(flexed, mark)
        run = flexed.scanner.run
        if run is not None and self._asked and run.open_s >= self._rule.lifted_s:
            told += self.end(End.UNANSWERED)
        return told + self._look(flexed, point.at)

    def _touches(self, point: FlexPoint, level_ohm: float) -> bool:
        limit = min(NEAR_ZERO_MOST_OHM, TOUCH_SHARE * abs(level_ohm))
        return abs(point.ohm) <= limit

    def _feed_touching(self) -> None:
        """Take for readings what was no touch of the clips after all."""
        points, self._touching = self._touching, []
        for point in points:
            if self._flexed is not None:
                self._flexed.feed(point)

    def _say(self, flexed: Flexed, mark: Mark | None) -> list[FlexEvent]:
        run = flexed.scanner.runs[-1] if flexed.scanner.runs else None
        if run is None or mark is None:
            return []
        match mark:
            case Mark.OPENED:
                self._asked = False
                return [DroppedOut(self.dropouts)]
            case Mark.LONG if not self._asked:
                self._asked = True
                return [AskLifted(run.open_s)]
            case Mark.BACK:
                self._asked = False
                return [CameBack(run.open_s)]
            case Mark.JUMPED:
                return [Changed(run.jump_ohm, flexed.count(Meaning.JUMP))]
            case _:
                return []

    def _answer(self, meaning: Meaning) -> list[FlexEvent]:
        if self._flexed is None or not self._flexed.scanner.answer(meaning):
            return []
        self._asked = False
        return [Answered(lifted=meaning is Meaning.LIFTED)]

    def _look(self, flexed: Flexed, at: float) -> list[FlexEvent]:
        """Look for a creep, more and more rarely: each look goes over everything."""
        begun_at = self.time.begun_at
        if self._crept or at < self._look_at or begun_at is None:
            return []
        self._look_at = max(at + LOOK_EVERY_S, begun_at + LOOK_RARER * (at - begun_at))
        drift = flexed.drift()
        self._crept = drift.creeping
        return [Creeps(drift.ohm)] if drift.creeping else []

    def _time_over(self, flexed: Flexed, at: float) -> list[FlexEvent]:
        """End it when enough was watched, but never in the middle of an OL."""
        run = flexed.scanner.run
        unanswered = run is not None and run.opens > 0 and run.answer is None
        if self.ended or unanswered or not self.time.over(at, suffices=flexed.suffices):
            return []
        return self.end(End.TIME)
