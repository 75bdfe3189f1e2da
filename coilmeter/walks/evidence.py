"""What a walk keeps of the readings it takes: one row, with what the wire says beside it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final, TypeAlias

from coilmeter.compute.settle import Settled
from coilmeter.values import Flag, Purpose, Reading, ReadingRow
from coilmeter.walks.steps import Step

RangeOf: TypeAlias = Callable[[Reading], float | None]
"""End in ohm of the range a reading was taken on, None where it cannot be told."""

MOST_FRAMES: Final = 64
"""Frames kept with a reading, the latest; a meter of hundreds a second would fill a cell."""

_MOST_DECIMALS: Final = 9
_UNITS: Final = (("", 1.0), ("k", 1e3), ("M", 1e6), ("G", 1e9))
_WHOLE: Final = 1.5
"""A last digit of so much of a unit at most is shown by its whole ones."""

_UNTOLD_DECIMALS: Final = 3
"""Where neither the wire nor the meter's table tells a last digit."""


def row_of(
    template: ReadingRow, step: Step, readings: Sequence[Reading], range_of: RangeOf
) -> ReadingRow:
    """Make the row of a step; its reading is still that of the template.

    Parameters
    ----------
    template
        What every row has in common.
    step
        What was measured.
    readings
        The readings it is made of, empty where it was typed.
    range_of
        Tells the range of each.

    """
    row = replace(
        template,
        coil=step.coil,
        other=step.other,
        pins=None if step.purpose is Purpose.LEAD_NULL else step.points,
        purpose=step.purpose,
    )
    if not readings:
        return row
    flags = frozenset[Flag]().union(*(reading.flags for reading in readings))
    notes = [row.note, "low battery" if Flag.LOW_BATTERY in flags else ""]
    return replace(
        row,
        range_ohm=_lowest_range(readings, range_of),
        lead="nulled" if Flag.RELATIVE in flags else row.lead,
        note="; ".join(note for note in notes if note),
        count=len(readings),
        raw=" ".join(reading.raw.hex() for reading in readings[-MOST_FRAMES:]),
    )


def noted(row: ReadingRow, *notes: str) -> ReadingRow:
    """Add notes to a row, those that are not empty."""
    return replace(row, note="; ".join(part for part in (row.note, *notes) if part))


def value_text(run: Settled[Reading], digit_ohm: float = 0.0) -> str:
    """Write the mean of a run with the last digit that the finest of its readings has.

    Where no frame tells it, with `digit_ohm`, the meter's own by its table.

    In the unit that can show that digit: whoever reads the text takes its last digit for the
    meter's, and `120 ohm` would promise more than the `0.12 kohm` of the display.
    """
    steps = [reading.resolution for reading in run.items if reading.resolution]
    step = min(steps, default=digit_ohm or 10.0**-_UNTOLD_DECIMALS)
    prefix, factor = next((unit for unit in _UNITS if step / unit[1] <= _WHOLE), _UNITS[-1])
    text = f"{run.mean_ohm / factor:.{_decimals(step / factor)}f}"
    # No meter reads minus nothing.
    return f"{text if float(text) else text.removeprefix('-')} {prefix}ohm"


def _lowest_range(readings: Sequence[Reading], range_of: RangeOf) -> float | None:
    """Lowest range the readings can have been taken on; None where one does not tell.

    A flipped bit in one frame must not make an overload mean more than the others say.
    """
    ends = [range_of(reading) for reading in readings]
    told = [end for end in ends if end is not None]
    return min(told) if len(told) == len(ends) else None


def _decimals(resolution: float) -> int:
    """Decimals that show a last digit of `resolution`, nine at most."""
    text = f"{resolution:.{_MOST_DECIMALS}f}".rstrip("0")
    return len(text.partition(".")[2]) if float(text) else _MOST_DECIMALS
