"""The hands-free walk over the AC volts of a head: readings and commands in, events out.

It knows no screen, no clock, no port and no store.  Three voltages of one coil at one tone
belong together: when the third is taken they are put together at once, and what cannot be one
circuit's is taken again while the probes are still at hand.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from typing import Final, Protocol

from coilmeter.compute.impedance_advice import drive_caution
from coilmeter.compute.impedance_volts import AcTable
from coilmeter.compute.settle import Settled
from coilmeter.errors import InputError
from coilmeter.units.voltages import VoltageText, parse_voltage
from coilmeter.values import Flag, Function, Reading
from coilmeter.values.impedance_rows import ACROSS, AcVolts, ImpedanceRow
from coilmeter.walks.events import Finished, LowBattery, MeterAway, MeterBack, Refused
from coilmeter.walks.evidence import MOST_FRAMES
from coilmeter.walks.impedance_contact import Told, VoltsRule, VoltsWatcher
from coilmeter.walks.impedance_refusals import UNTOLD, volts_text, why_no_tone
from coilmeter.walks.impedance_steps import ToneStep
from coilmeter.walks.impedance_told import (
    ToneAgain,
    ToneBegun,
    ToneCaution,
    ToneEvent,
    ToneMade,
    ToneMoving,
    ToneQuiet,
    ToneSkipped,
    TonesPlanned,
    ToneStillOn,
    ToneTaken,
    ToneTouched,
)

_USUAL_DIGIT_VOLT: Final = 1e-4
"""Where neither the meter nor its data say it."""

_EVENTS: Final[dict[Told, Callable[[ToneStep], ToneEvent]]] = {
    Told.TOUCHED: ToneTouched,
    Told.MOVING: ToneMoving,
    Told.STILL_ON: ToneStillOn,
}


class VoltsKeeper(Protocol):
    """Where voltages go."""

    def keep(self, row: ImpedanceRow, raw: str = "") -> None:
        """Have a row of one voltage on disk.

        Raises
        ------
        StoreError
            When it could not be kept.

        """
        ...


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
        self.taken: dict[str, AcVolts] = dict(done or {})
        self.skipped: set[str] = set()
        self.last_reading: Reading | None = None
        self.watcher: VoltsWatcher | None = None
        self._template = template
        self._keeper = keeper
        self._meter = meter
        self._made = made
        self._rule = rule or VoltsRule()
        self._index = -1
        self._again: set[str] = set()
        self._refused = ""
        self._told: set[str] = set()

    @property
    def finished(self) -> bool:
        """Whether nothing is left to do."""
        return self._index >= len(self.steps)

    @property
    def step(self) -> ToneStep | None:
        """The step that is waiting, None before the start and after the end."""
        return self.steps[self._index] if 0 <= self._index < len(self.steps) else None

    def start(self) -> list[ToneEvent]:
        """Say how much there is to do, and begin the first step that is not done yet."""
        left = [step for step in self.steps if step.key not in self.taken]
        planned: list[ToneEvent] = [TonesPlanned(len(left), len(self.steps))] if left else []
        return [*planned, *self._go_on(None)]

    def feed(self, at: float, reading: Reading) -> list[ToneEvent]:
        """Take one reading of the meter, whose last byte arrived at `at` seconds."""
        self.last_reading = reading
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
        self.last_reading = None
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
        return self._kept(step, AcVolts(parse_voltage(text)), "", at_hand=False)

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
        self.skipped |= {each.key for each in self.steps if each.place == step.place}
        return [ToneSkipped(step), *self._go_on(None)]

    def redo(self) -> list[ToneEvent]:
        """Return to the voltage before this one, to take it again."""
        index = max(min(self._index, len(self.steps)) - 1, 0)
        return self._return_to([self.steps[index]])

    def again(self, place: str) -> list[ToneEvent]:
        """Take all voltages of a coil at a tone again; do nothing where there is none."""
        return self._return_to([step for step in self.steps if step.place == place])

    def _return_to(self, steps: Collection[ToneStep]) -> list[ToneEvent]:
        if not steps:
            return []
        for step in steps:
            if self.taken.pop(step.key, None) is not None:
                self._again.add(step.key)
            self.skipped.discard(step.key)
        return self._go_on(self._shown())

    def _shown(self) -> float | None:
        """Tell what the meter shows, where the probes may still sit on it."""
        return None if self.last_reading is None else self.last_reading.value

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
        return self._kept(step, volts, raw, at_hand=True)

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
        self, step: ToneStep, volts: AcVolts, raw: str, *, at_hand: bool
    ) -> list[ToneEvent]:
        row = replace(
            self._template,
            coil=step.coil,
            frequency_hz=step.frequency_hz,
            volts={step.across: volts},
            note="taken again" if step.key in self._again else "",
        )
        self._keeper.keep(row, raw)
        self.taken[step.key] = volts
        told: list[ToneEvent] = [ToneTaken(step, row)]
        caution = drive_caution(volts.shown.volt) if step.across == "coil" else ""
        told += [ToneCaution(caution)] if caution else []
        return [
            *told,
            *self._put_together(step),
            *self._go_on(volts.shown.volt if at_hand else None),
        ]

    def _put_together(self, step: ToneStep) -> list[ToneEvent]:
        """Make an impedance of what is complete; where that fails, all of it is taken again."""
        of_place = [each for each in self.steps if each.place == step.place]
        volts = {
            each.across: self.taken[each.key] for each in of_place if each.key in self.taken
        }
        if len(volts) < len(ACROSS):
            return []
        row = replace(
            self._template, coil=step.coil, frequency_hz=step.frequency_hz, volts=volts
        )
        told: list[ToneEvent] = []
        ranges = {
            found.number for each in volts.values() if (found := self._meter.range_for(each))
        }
        if len(ranges) > 1 and self._once("ranges"):
            told.append(
                ToneCaution(
                    "the three were read on different ranges, whose gains do not cancel: hold "
                    "one range by hand, or set the tone so that one holds all three"
                )
            )
        try:
            return [*told, ToneMade(step, self._made(row))]
        except InputError as error:
            for each in of_place:
                self.taken.pop(each.key, None)
                self._again.add(each.key)
            return [*told, ToneAgain(step, error.message)]

    def _go_on(self, taken_volt: float | None) -> list[ToneEvent]:
        finished = self.taken.keys() | self.skipped
        self._index = next(
            (number for number, step in enumerate(self.steps) if step.key not in finished),
            len(self.steps),
        )
        step = self.step
        if step is None:
            self.watcher = None
            return [Finished(len(self.taken), len(self.skipped))]
        self.watcher = VoltsWatcher(self._rule, taken_volt)
        return [ToneBegun(step, self._index + 1, len(self.steps))]
