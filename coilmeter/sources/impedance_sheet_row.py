"""One line of a file of AC volts to a row: every cell understood, or a mistake noted."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Final, TypeVar

from coilmeter.errors import Mistake, ReadingTextError
from coilmeter.sources.sheet_row import head_of_file
from coilmeter.units import parse_quantity
from coilmeter.units.tolerances import parse_resistor
from coilmeter.units.voltages import (
    parse_current,
    parse_phase,
    parse_voltage,
)
from coilmeter.values import ROLE_KEYS
from coilmeter.values.impedance_rows import ACROSS, AcVolts, ImpedanceRow, Toleranced
from coilmeter.values.impedances import Method

_LONGEST_CELL: Final = 10_000
_MOST_SETS: Final = 999
_MOST_READINGS: Final = 10**8
_YES: Final = {"yes": True, "no": False, "": False}
_METHODS: Final = {str(method): method for method in Method}
_ValueT = TypeVar("_ValueT")


class VoltsRowReader:
    """Turns the cells of one file into rows."""

    def __init__(self, name: str, columns: list[str]) -> None:
        self.name = name
        self.mistakes: list[Mistake] = []
        self._columns = columns
        self._default_head = head_of_file(name)
        self._line = 0

    def row(self, line: int, cells: list[str]) -> ImpedanceRow | None:
        """Understand the cells of a line, all mistakes noted; None where there is no row."""
        self._line = line
        if len(cells) != len(self._columns):
            expected = f'{len(self._columns)}, as the header has (write 98.4 mV or "98,4 mV")'
            self._mistake("cells", f"{len(cells)} cells", expected)
            return None
        if max(map(len, cells)) > _LONGEST_CELL:
            self._mistake("cells", "a cell of more than 10 000 characters", "a short one")
            return None
        cell = dict(zip(self._columns, map(str.strip, cells), strict=True))
        before = len(self.mistakes)
        if not cell["coil"]:
            self._mistake("coil", "nothing", "which coil")
        hertz = self._understood(cell, "frequency", _hertz)
        row = ImpedanceRow(
            path=self.name,
            line=line,
            head=cell.get("head") or self._default_head,
            coil=cell["coil"],
            frequency_hz=hertz,
            kind=cell.get("kind", ""),
            role=self._one_of(cell, "role", ROLE_KEYS),
            method=self._one_of(cell, "method", _METHODS),
            volts=self._volts(cell),
            current=self._understood(cell, "current", _current),
            phase=self._understood(cell, "phase", _phase),
            resistor=self._understood(cell, "resistor", _ohms),
            dc=self._understood(cell, "dc", _ohms),
            meter=cell.get("meter", ""),
            temperature=cell.get("temperature", ""),
            number=self._whole(cell, "set", _MOST_SETS),
            reference=bool(self._one_of(cell, "reference", _YES)),
            time=self._time(cell.get("time", "")),
            note=cell.get("note", ""),
            named=bool(cell.get("head")),
        )
        return replace(row, broken=len(self.mistakes) > before)

    def _mistake(self, column: str, seen: str, expected: str) -> None:
        self.mistakes.append(Mistake(self.name, self._line, column, seen, expected))

    def _understood(
        self, cell: Mapping[str, str], column: str, read: Callable[[str], _ValueT]
    ) -> _ValueT | None:
        text = cell.get(column, "")
        if not text:
            return None
        try:
            return read(text)
        except ReadingTextError as error:
            advice = f" ({error.hint.rstrip('.')})" if error.hint else ""
            self._mistake(column, repr(text[:40]), f"{error.expected}{advice}")
            return None

    def _volts(self, cell: Mapping[str, str]) -> dict[str, AcVolts]:
        shown = {
            across: volts
            for across in ACROSS
            if (volts := self._understood(cell, f"v_{across}", parse_voltage)) is not None
        }
        ranges = self._ranges(cell.get("range", ""), len(shown))
        count = self._whole(cell, "count", _MOST_READINGS)
        scatter = self._understood(cell, "scatter", _volt)
        if len(shown) > 1 and (cell.get("count") or cell.get("scatter")):
            self._mistake(
                "count", "a count or scatter", "nothing: they belong to a line of one voltage"
            )
        return {
            across: AcVolts(volts, end, count, scatter or 0.0, self._line)
            for (across, volts), end in zip(shown.items(), ranges, strict=False)
        }

    def _ranges(self, text: str, count: int) -> list[float | None]:
        """End of the range of each voltage: one for all, or one for each between slashes."""
        pieces = [piece.strip() for piece in text.split("/")] if text else []
        ends = [self._understood({"range": piece}, "range", _volt) for piece in pieces]
        if len(ends) > 1 and len(ends) != count:
            expected = "the end of one range, or one for each voltage: '400 mV/400 mV/4 V'"
            self._mistake("range", repr(text[:40]), expected)
            return [None] * count
        return ends if len(ends) > 1 else [ends[0] if ends else None] * count

    def _one_of(
        self, cell: Mapping[str, str], column: str, known: Mapping[str, _ValueT]
    ) -> _ValueT | None:
        text = cell.get(column, "").lower()
        if text and text not in known:
            names = ", ".join(filter(None, known))
            self._mistake(column, repr(text[:40]), f"one of: {names}")
        return known.get(text)

    def _whole(self, cell: Mapping[str, str], column: str, most: int) -> int:
        text = cell.get(column, "")
        if not text:
            return 1
        if text.isascii() and text.isdigit() and 0 < int(text[:9]) <= most:
            return int(text)
        self._mistake(column, repr(text[:40]), f"a whole number from 1 to {most}")
        return 1

    def _time(self, text: str) -> str:
        if text:
            try:
                datetime.fromisoformat(text)
            except ValueError:
                self._mistake("time", repr(text[:40]), "RFC 3339, such as 2026-03-01T14:05:00Z")
        return text


def _hertz(text: str) -> float:
    return float(parse_quantity(text, "hertz").magnitude)


def _volt(text: str) -> float:
    return float(parse_quantity(text, "volt").magnitude)


def _ohms(text: str) -> Toleranced:
    return Toleranced(*parse_resistor(text))


def _current(text: str) -> Toleranced:
    return Toleranced(*parse_current(text))


def _phase(text: str) -> Toleranced:
    return Toleranced(*parse_phase(text))
