"""The hands-free walk over the AC volts of a head: readings and commands in, events out.

It knows no screen, no clock, no port and no store.  Three voltages of one coil at one tone
belong together (`coilmeter.walks.impedance_triples`): when the third is taken they are put
together at once, and what cannot be one circuit's is taken again, or corrected, while the
probes are still at hand.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Final

from coilmeter.compute.impedance_volts import AcTable
from coilmeter.compute.settle import Settled
from coilmeter.units.voltages import VoltageText, parse_voltage
from coilmeter.values import Flag, Function, Reading
from coilmeter.values.impedance_rows import ACROSS, AcVolts, ImpedanceRow
from coilmeter.walks.events import Finished, LowBattery, MeterAway, MeterBack, Refused
from coilmeter.walks.evidence import MOST_FRAMES
from coilmeter.walks.impedance_contact import Told, VoltsRule, VoltsWatcher
from coilmeter.walks.impedance_refusals import UNTOLD, volts_text, why_no_tone
from coilmeter.walks.impedance_steps import ToneStep
from coilmeter.walks.impedance_told import (
    ToneBegun,
    ToneCaution,
    ToneEvent,
    ToneMoving,
    ToneQuiet,
    ToneSkipped,
    TonesPlanned,
    ToneStillOn,
    ToneTouched,
)
from coilmeter.walks.impedance_triples import Triples, VoltsKeeper

_USUAL_DIGIT_VOLT: Final = 1e-4
"""Where neither the meter nor its data say it."""

_ANYTHING: Final = 0.0
"""The probes may be on any voltage: their lift must be seen down to nothing."""

_EVENTS: Final[dict[Told, Callable[[ToneStep], ToneEvent]]] = {
    Told.TOUCHED: ToneTouched,
    Told.MOVING: ToneMoving,
    Told.STILL_ON: ToneStillOn,
}


class ToneWalk:
    """A walk over the voltages of coils at tones, each taken, skipped or typed.

    Parameters
    ----------
    steps
        What to read, in order: three voltages for each coil and tone.
    template
        What every row has in common: head, kind, resistor, meter and the like.
    keeper
        Where rows go before they count.
    meter
        Tells ranges.
    made
        Puts the voltages of one coil at one tone together and says what they make; raises
        `InputError` where they cannot be one circuit's.
    done
        Voltages that were taken in an earlier run, by the key of their step.
    rule
        How long things take.

    """

    def __init__(
        self,
        steps: Sequence[ToneStep],
        template: ImpedanceRow,
        keeper: VoltsKeeper,
        *,
        meter: AcTable,
        made: Callable[[ImpedanceRow], str],
        done: Mapping[str, AcVolts] | None = None,
        rule: VoltsRule | None = None,
    ) -> None:
        self.steps = tuple(steps)
        self.skipped: set[str] = set()
        self.last_reading: Reading | None = None
        self.watcher: VoltsWatcher | None = None
        self._triples = Triples(
            self.steps, template, keeper, meter=meter, made=made, done=done or {}
        )
        self._meter = meter
        self._rule = rule or VoltsRule()
        self._index = -1
        self._last: int | None = None
        self._corrects = False
        self._away = False
        self._refused = ""
        self._told: set[str] = set()

    @property
    def taken(self) -> dict[str, AcVolts]:
        """The voltages that count, by the key of their step."""
        return self._triples.taken

    @property
    def finished(self) -> bool:
        """Whether nothing is left to do."""
        return self._index >= len(self.steps)

    @property
    def step(self) -> ToneStep | None:
        """The step that is waiting, None before the start and after the end."""
        return self.steps[self._index] if 0 <= self._index < len(self.steps) else None

    def start(self) -> list[ToneEvent]:
        """Say how much there is to do, and begin the first step that is not done yet.

        On going on with an earlier run the probes may still sit on what was taken last.
        """
        resumed = bool(self.taken)
        refused = self._triples.check()
        left = [step for step in self.steps if step.key not in self.taken]
        planned: list[ToneEvent] = [TonesPlanned(len(left), len(self.steps))] if left else []
        return [*planned, *refused, *self._go_on(_ANYTHING if resumed else None)]

    def feed(self, at: float, reading: Reading) -> list[ToneEvent]:
        """Take one reading of the meter, whose last byte arrived at `at` seconds."""
        self.last_reading, self._away = reading, False
        step, watcher = self.step, self.watcher
        if step is None or watcher is None:
            return []
        hints = self._hints(reading)
        advice = why_no_tone(reading)
        if advice or reading.value is None:
            watcher.interrupt()
            told, self._refused = self._refused == advice, advice
            return hints if told or not advice else [*hints, Refused(advice, reading)]
        self._refused = ""
        found = watcher.feed(at, reading.value, reading)
        if found is None:
            return hints
        if found is Told.QUIET:
            flows = replace(step, across=ACROSS[0]).key in self.taken
            return [*hints, ToneQuiet(step, flows)]
        if isinstance(found, Told):
            return [*hints, _EVENTS[found](step)]
        return [*hints, *self._take(step, found)]

    def interrupted(self, what: str, advice: str) -> list[ToneEvent]:
        """Take note that nothing comes from the meter; what is half settled is forgotten."""
        self.last_reading, self._away = None, True
        if self.watcher is not None:
            self.watcher.interrupt()
        return [MeterAway(what, advice)]

    def resumed(self, what: str) -> list[ToneEvent]:
        """Go on: `what` tells that the meter is back."""
        return [MeterBack(what)]

    def type(self, text: str) -> list[ToneEvent]:
        """Take a voltage that a person typed.

        Raises
        ------
        ReadingTextError
            When the text is no AC voltage.

        """
        step = self.step
        if step is None:
            return []
        volts = AcVolts(parse_voltage(text))
        # While a person types nobody looks at the meter: the probes may sit there still.
        return self._kept(step, volts, "", None if self._no_meter else _ANYTHING)

    def next_is_on(self) -> list[ToneEvent]:
        """Take what the meter shows for the next voltage: a person has moved the probes."""
        if self.watcher is not None:
            self.watcher.lifted()
        return []

    def skip(self) -> list[ToneEvent]:
        """Leave this coil at this tone out."""
        step = self.step
        if step is None:
            return []
        self._triples.aside.pop(step.place, None)
        self.skipped |= {each.key for each in self.steps if each.place == step.place}
        return [ToneSkipped(step), *self._go_on(self._shown())]

    def back(self) -> list[ToneEvent]:
        """Return to the voltage before this one in the plan, to take it again.

        Behind three that were put aside that is the last of them; the others stand again once
        one is taken.
        """
        step = self.step
        if step is not None and step.place in self._triples.aside and not self._corrects:
            ends = [at for at, each in enumerate(self.steps) if each.place == step.place]
            return self._return_to(ends[-1])
        return self._return_to(self._index - 1)

    def redo(self) -> list[ToneEvent]:
        """Return to the voltage that was taken last, to take it again."""
        done = [at for at, step in enumerate(self.steps) if step.key in self.taken]
        return self._return_to(self._last if self._last is not None else max(done, default=0))

    def again(self, place: str) -> list[ToneEvent]:
        """Take all voltages of a coil at a tone again; do nothing where there is none."""
        first = next((at for at, step in enumerate(self.steps) if step.place == place), None)
        if first is None:
            return []
        self._triples.forget(place)
        return self._return_to(first)

    def _return_to(self, index: int) -> list[ToneEvent]:
        self._index = max(index, 0)
        place = self.steps[self._index].place
        self._corrects = place in self._triples.aside
        # A coil is left out as a whole, and comes back as a whole.
        self.skipped -= {step.key for step in self.steps if step.place == place}
        return self._begin(self._shown())

    @property
    def _no_meter(self) -> bool:
        return self.last_reading is None and not self._away

    def _shown(self) -> float | None:
        """Tell the voltage that the probes may still sit on; None where there is no meter."""
        if self._no_meter:
            return None
        reading = self.last_reading
        if reading is None or reading.value is None or why_no_tone(reading):
            return _ANYTHING
        return max(reading.value, 0.0)

    def _hints(self, reading: Reading) -> list[ToneEvent]:
        hints: list[ToneEvent] = []
        if Flag.LOW_BATTERY in reading.flags and self._once("battery"):
            hints.append(LowBattery(reading))
        if reading.function is Function.VOLTAGE and self._once("untold"):
            hints.append(ToneCaution(UNTOLD))
        return hints

    def _once(self, what: str) -> bool:
        """Whether this has not been said yet."""
        fresh = what not in self._told
        self._told.add(what)
        return fresh

    def _take(self, step: ToneStep, run: Settled[Reading]) -> list[ToneEvent]:
        steps = [reading.resolution for reading in run.items if reading.resolution]
        digit = min(steps, default=0.0) or self._digit_of(run.mean_ohm)
        shown = VoltageText(run.mean_ohm, digit, volts_text(run.mean_ohm, digit))
        volts = AcVolts(shown, self._range_of(run.items[-1]), run.count, run.scatter_ohm)
        raw = " ".join(reading.raw.hex() for reading in run.items[-MOST_FRAMES:])
        return self._kept(step, volts, raw, run.mean_ohm)

    def _digit_of(self, volt: float) -> float:
        """Last digit of a meter that does not tell it: that of its lowest range that fits."""
        found = self._meter.range_for(AcVolts(VoltageText(volt, 0.0, "")))
        return _USUAL_DIGIT_VOLT if found is None else found.resolution_volt

    def _range_of(self, reading: Reading) -> float | None:
        """End of the range, from the frame or from the meter's range of that last digit."""
        if reading.full_scale is not None or reading.resolution is None:
            return reading.full_scale
        for entry in self._meter.ranges:
            if math.isclose(entry.resolution_volt, reading.resolution, rel_tol=0.01):
                return entry.full_scale_volt
        return None

    def _kept(
        self, step: ToneStep, volts: AcVolts, raw: str, taken_volt: float | None
    ) -> list[ToneEvent]:
        told = self._triples.keep(step, volts, raw, corrects=self._corrects)
        self._last = self._index
        return [*told, *self._go_on(taken_volt)]

    def _go_on(self, taken_volt: float | None) -> list[ToneEvent]:
        finished = self.taken.keys() | self.skipped
        self._index = next(
            (number for number, step in enumerate(self.steps) if step.key not in finished),
            len(self.steps),
        )
        self._corrects = False
        return self._begin(taken_volt)

    def _begin(self, taken_volt: float | None) -> list[ToneEvent]:
        """Begin the step that waits now, the probes on a voltage that was taken, or on none."""
        step = self.step
        if step is None:
            self.watcher = None
            return [Finished(len(self.taken), len(self.skipped))]
        self.watcher = VoltsWatcher(self._rule, taken_volt)
        return [ToneBegun(step, self._index + 1, len(self.steps))]
