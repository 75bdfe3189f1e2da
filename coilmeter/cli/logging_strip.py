"""The last minute of readings as a strip of bars for the terminal.

Time runs to the right, and each column stands for an equal share of the minute.  A column
shows the reading that strays furthest from the middle of the minute, so that a blip is not
lost where many readings share one.  Over-range is a mark at the top edge with nothing below
it, rejected bytes a question mark at the foot, and a time without readings is left blank.
"""

from __future__ import annotations

import math
import statistics
from collections import deque
from dataclasses import dataclass
from typing import Final

from coilmeter.units import format_ohm
from coilmeter.values import Reading

MINUTE_S: Final = 60.0
SLOTS: Final = 240
"""Shares of the minute that are told apart; a column is one of them or several."""

HOLD_S: Final = 1.5
"""A reading stands for so long at most, since slow meters send one a second."""

LOG_FROM: Final = 50.0
"""Largest by smallest reading from which on the scale is logarithmic."""

_EIGHTHS: Final = " ▁▂▃▄▅▆▇█"
_OVER: Final = "▀"
_PLAIN_EIGHTHS: Final = " ...:::||"
_PLAIN_OVER: Final = "^"
_SLOT_S: Final = MINUTE_S / SLOTS
_NARROWEST: Final = 10
_LEAST_STEPS: Final = 8
"""So many last digits are the height of the strip at least: noise of one is not drawn big."""


@dataclass(slots=True)
class _Slot:
    """What came in one share of the minute."""

    number: int
    values: list[float]
    over: bool = False
    rejected: bool = False
    count: int = 0


class Strip:
    """Remembers a minute of readings, in bounded memory however many there are."""

    def __init__(self) -> None:
        self._slots: deque[_Slot] = deque(maxlen=SLOTS + 1)
        self._unit: str | None = None
        self._step = 0.0

    def reading(self, at: float, reading: Reading) -> None:
        """Take a reading; where its unit is another one, the strip begins anew."""
        if reading.value is None and not reading.overload:
            return
        if reading.unit != self._unit:
            self._slots.clear()
            self._unit = reading.unit
        self._step = reading.resolution or 0.0
        slot = self._slot(at)
        slot.count += 1
        if reading.value is None:
            slot.over = True
        elif len(slot.values) < 2:  # noqa: PLR2004 - the least and the most
            slot.values = sorted([*slot.values, reading.value])
        else:
            slot.values[0] = min(slot.values[0], reading.value)
            slot.values[1] = max(slot.values[1], reading.value)

    def rejected(self, at: float) -> None:
        """Take a stretch that is no frame."""
        self._slot(at).rejected = True

    def rate_hz(self, now: float, over_s: float = 10.0) -> float:
        """Count readings a second in the last `over_s` seconds, where the log is as old."""
        first = int(max(now - over_s, 0.0) / _SLOT_S)
        count = sum(slot.count for slot in self._slots if slot.number >= first)
        return count / max(now - first * _SLOT_S, _SLOT_S)

    def rows(self, width: int, height: int, now: float, *, blocks: bool = True) -> list[str]:
        """Draw the minute before `now`.

        Parameters
        ----------
        width, height
            Columns and rows of the terminal that it may take, the scale included.
        now
            Seconds of the log.
        blocks
            Whether the terminal has block characters; else it is drawn in ASCII.

        Returns
        -------
        list of str
            `height` rows; empty where nothing was read in the minute, or there is no room.

        """
        last = int(now / _SLOT_S)
        recent = [slot for slot in self._slots if slot.number > last - SLOTS]
        values = sorted(value for slot in recent for value in slot.values)
        labels = self._labels(values)
        room = width - max(map(len, labels)) - 1
        if not recent or room < _NARROWEST:
            return []
        each = math.ceil(SLOTS / min(room, SLOTS))
        scale = _Scale(values, self._step * _LEAST_STEPS)
        columns = [
            self._column(group, scale, height) for group in self._columns(recent, last, each)
        ]
        drawn = ["".join(cells) for cells in zip(*columns, strict=True)]
        if not blocks:
            table = str.maketrans(_EIGHTHS + _OVER, _PLAIN_EIGHTHS + _PLAIN_OVER)
            drawn = [row.translate(table) for row in drawn]
        middle = [""] * (height - 2)
        scale_text = [labels[0], *middle, labels[1]] if height > 1 else [labels[0]]
        return [f"{row} {label}" for row, label in zip(drawn, scale_text, strict=True)]

    def _slot(self, at: float) -> _Slot:
        number = int(at / _SLOT_S)
        if not self._slots or self._slots[-1].number < number:
            self._slots.append(_Slot(number, []))
        return self._slots[-1]

    @staticmethod
    def _columns(recent: list[_Slot], last: int, each: int) -> list[list[_Slot]]:
        """Share the slots out, a reading standing on in the slots after it that are empty."""
        by_number = {slot.number: slot for slot in recent}
        hold = round(HOLD_S / _SLOT_S)
        first = last - SLOTS + 1
        held: _Slot | None = None
        filled: list[_Slot | None] = []
        for number in range(first, last + 1):
            slot = by_number.get(number)
            if slot is not None and slot.count:
                held = slot
            elif held is not None and number - held.number <= hold and slot is None:
                slot = held
            filled.append(slot)
        return [
            [slot for slot in filled[start : start + each] if slot is not None]
            for start in range(0, SLOTS, each)
        ]

    @staticmethod
    def _column(slots: list[_Slot], scale: _Scale, height: int) -> list[str]:
        """Draw one column, from the top down."""
        blank = [" "] * height
        if any(slot.over for slot in slots):
            return [_OVER, *blank[1:]]
        values = [value for slot in slots for value in slot.values]
        if not values:
            rejected = any(slot.rejected for slot in slots)
            return [*blank[1:], "?"] if rejected else blank
        furthest = max(values, key=lambda value: abs(value - scale.middle))
        eighths = round(1 + scale.share(furthest) * (8 * height - 1))
        return [
            _EIGHTHS[min(max(eighths - 8 * row, 0), 8)] for row in range(height - 1, -1, -1)
        ]

    def _labels(self, values: list[float]) -> tuple[str, str]:
        """Name the ends of the scale."""
        if not values:
            return ("over-range", "")
        high, low = self._text(values[-1]), self._text(values[0])
        return (high, f"{low} log" if _logarithmic(values) else low)

    def _text(self, value: float) -> str:
        if self._unit == "ohm":
            return format_ohm(value)
        return f"{value:.4g} {self._unit}".rstrip()


class _Scale:
    """Value to share of the height."""

    def __init__(self, values: list[float], least: float) -> None:
        self.middle = statistics.median(values) if values else 0.0
        self._log = _logarithmic(values)
        if self._log:
            self._floor = next(value for value in values if value > 0)
            self._low, self._high = math.log(self._floor), math.log(values[-1])
            return
        low, high = (values[0], values[-1]) if values else (0.0, 0.0)
        spare = max(least - (high - low), 0.0) / 2
        self._low, self._high = low - spare, high + spare

    def share(self, value: float) -> float:
        """Height of a value between 0 and 1."""
        if self._log:
            value = math.log(max(value, self._floor))
        span = self._high - self._low
        return (value - self._low) / span if span > 0 else 0.5


def _logarithmic(values: list[float]) -> bool:
    """Whether values, least first, span so much that a linear scale would hide most."""
    positive = next((value for value in values if value > 0), None)
    return positive is not None and values[-1] / positive >= LOG_FROM
