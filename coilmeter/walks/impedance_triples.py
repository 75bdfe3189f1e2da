"""The three voltages of each coil at each tone: kept, put together, put aside, corrected.

Three that cannot be one circuit's are put aside on disk at once, so that they count nowhere.
They stay at hand: where one of them was the mistake, it alone is read again, and the other two
stand once more.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Final, Protocol

from coilmeter.compute.impedance_advice import drive_caution
from coilmeter.compute.impedance_volts import AcTable
from coilmeter.errors import InputError
from coilmeter.units.si_text import format_si
from coilmeter.values.impedance_rows import (
    ACROSS,
    AGAIN,
    PUT_ASIDE,
    STANDS,
    AcVolts,
    ImpedanceRow,
)
from coilmeter.walks.impedance_steps import ToneStep
from coilmeter.walks.impedance_told import (
    ToneAgain,
    ToneCaution,
    ToneEvent,
    ToneMade,
    ToneTaken,
)

ABOVE_SOURCE: Final = 1.1
"""A part of the circuit with so much of the source's voltage is a slip: no coil in series with
a resistor has more than all of it, and ranges differ by less (own default)."""

_RANGES: Final = (
    "the three were read on different ranges, whose gains do not cancel: hold one range by "
    "hand, or set the tone so that one holds all three"
)


class VoltsKeeper(Protocol):
    """Where voltages go."""

    def keep(self, row: ImpedanceRow, raw: str = "") -> None:
        """Have a row of one voltage on disk, or of none that puts aside those before it.

        Raises
        ------
        StoreError
            When it could not be kept.

        """
        ...


class Triples:
    """The voltages of a walk, three for each coil and tone.

    Parameters
    ----------
    steps
        What is read, in order.
    template
        What every row has in common: head, kind, resistor, meter and the like.
    keeper
        Where rows go before they count.
    meter
        Tells ranges.
    made
        Puts three voltages together and says what they make; raises `InputError` where they
        cannot be one circuit's.
    done
        Voltages that were taken in an earlier run, by the key of their step.

    Attributes
    ----------
    taken
        The voltages that count, by the key of their step.
    aside
        Those that were put aside and may be corrected, by the place and what they are across.

    """

    def __init__(
        self,
        steps: Sequence[ToneStep],
        template: ImpedanceRow,
        keeper: VoltsKeeper,
        *,
        meter: AcTable,
        made: Callable[[ImpedanceRow], str],
        done: Mapping[str, AcVolts],
    ) -> None:
        self.taken: dict[str, AcVolts] = dict(done)
        self.aside: dict[str, dict[str, AcVolts]] = {}
        self._places: dict[str, list[ToneStep]] = {}
        for step in steps:
            self._places.setdefault(step.place, []).append(step)
        self._template = template
        self._keeper = keeper
        self._meter = meter
        self._made = made
        self._again: set[str] = set()
        self._ranges_told = False

    def check(self) -> list[ToneEvent]:
        """Put aside what an earlier run left that cannot be one circuit's."""
        told: list[ToneEvent] = []
        for steps in self._places.values():
            row = self._complete(steps)
            if row is not None:
                told += [each for each in self._judged(steps, row) if _is_again(each)]
        return told

    def forget(self, place: str) -> None:
        """Take all voltages of a coil at a tone for untaken; none of them may be corrected."""
        self.aside.pop(place, None)
        for step in self._places.get(place, ()):
            if self.taken.pop(step.key, None) is not None:
                self._again.add(step.key)

    def keep(
        self, step: ToneStep, volts: AcVolts, raw: str = "", *, corrects: bool = False
    ) -> list[ToneEvent]:
        """Have a voltage on disk, then make an impedance of what is complete.

        With `corrects`, the other two that were put aside stand again; without, they do not.

        Raises
        ------
        StoreError
            When it could not be kept.

        """
        others = self.aside.pop(step.place, {}) if corrects else {}
        for each in self._places[step.place]:
            if each != step and each.across in others and each.key not in self.taken:
                self._write(each, others[each.across], STANDS)
        again = step.key in self._again or step.key in self.taken
        row = self._write(step, volts, AGAIN if again else "", raw)
        self.aside.pop(step.place, None)
        told: list[ToneEvent] = [ToneTaken(step, row)]
        told += [ToneCaution(text) for text in self._cautions(step, volts) if text]
        whole = self._complete(self._places[step.place])
        return (
            told if whole is None else [*told, *self._judged(self._places[step.place], whole)]
        )

    def _write(
        self, step: ToneStep, volts: AcVolts, note: str = "", raw: str = ""
    ) -> ImpedanceRow:
        row = replace(self._row(step), volts={step.across: volts}, note=note)
        self._keeper.keep(row, raw)
        self.taken[step.key] = volts
        return row

    def _row(self, step: ToneStep) -> ImpedanceRow:
        return replace(self._template, coil=step.coil, frequency_hz=step.frequency_hz)

    def _complete(self, steps: Sequence[ToneStep]) -> ImpedanceRow | None:
        """Give the row of a coil at a tone; None while a voltage of it is missing."""
        volts = {each.across: self.taken[each.key] for each in steps if each.key in self.taken}
        return replace(self._row(steps[0]), volts=volts) if len(volts) == len(ACROSS) else None

    def _judged(self, steps: Sequence[ToneStep], row: ImpedanceRow) -> list[ToneEvent]:
        """Make an impedance; where that fails, put all of it aside on disk first."""
        told: list[ToneEvent] = []
        ranges = {
            found.number
            for each in row.volts.values()
            if (found := self._meter.range_for(each))
        }
        if len(ranges) > 1 and not self._ranges_told:
            self._ranges_told = True
            told.append(ToneCaution(_RANGES))
        try:
            return [*told, ToneMade(steps[-1], self._made(row))]
        except InputError as error:
            why = error.message
        self._keeper.keep(replace(self._row(steps[0]), note=f"{PUT_ASIDE}: {why}"))
        for step in steps:
            self.taken.pop(step.key, None)
            self._again.add(step.key)
        self.aside[steps[0].place] = dict(row.volts)
        return [*told, ToneAgain(steps[-1], why)]

    def _cautions(self, step: ToneStep, volts: AcVolts) -> list[str]:
        """Say at once what looks like a slip."""
        source = self.taken.get(replace(step, across=ACROSS[0]).key)
        volt = volts.shown.volt
        slip = ""
        if source is not None and volt > ABOVE_SOURCE * source.shown.volt:
            slip = (
                f"{format_si(volt, 'V')} across the {step.across} is more than the source has, "
                f"{format_si(source.shown.volt, 'V')}: read it again (redo)"
            )
        return [slip, drive_caution(volt) if step.across == "coil" else ""]


def _is_again(event: ToneEvent) -> bool:
    return isinstance(event, ToneAgain)
