"""One line of a readings file to a row: every cell understood, or a mistake noted."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Final, TypeVar

from coilmeter.compute.places import SIDES
from coilmeter.errors import Mistake, ReadingTextError
from coilmeter.units import Form, ReadingText, parse_range_end, parse_reading
from coilmeter.values import CASE, ROLE_KEYS, FlexEvidence, Purpose, ReadingRow, Role
from coilmeter.values.flexing import parse_flex

STANDARD_INPUT: Final = "standard input"
_LONGEST_CELL: Final = 10_000
_PURPOSES: Final = {str(purpose): purpose for purpose in Purpose}
_TO_CASE: Final = re.compile(rf"(.+?)(?:\s*[-/,:]\s*|\s+to\s+|\s+){CASE}", re.IGNORECASE)
_PROOFS: Final = {"bridged": "bridged", "key": "key"}
_HEX: Final = re.compile(r"(?:[0-9A-Fa-f]{2}| )*")
_WordT = TypeVar("_WordT", Purpose, Role, str)


def head_of_file(name: str) -> str:
    """Call a head whose file does not name it."""
    return "1" if name == STANDARD_INPUT else Path(name).stem


class RowReader:
    """Turns the cells of one file into rows; most texts recur, so each is read once."""

    def __init__(self, name: str, columns: list[str]) -> None:
        self.name = name
        self.columns = columns
        self.mistakes: list[Mistake] = []
        self._where = {column: index for index, column in enumerate(columns)}
        self._default_head = head_of_file(name)
        self._line = 0

    def row(self, line: int, cells: list[str]) -> ReadingRow | None:
        """Understand the cells of a line, all mistakes noted; None where there is no row."""
        self._line = line
        before = len(self.mistakes)
        if len(cells) != len(self.columns):
            expected = f'{len(self.columns)}, as the header has (write 171.3 or "171,3")'
            self._mistake("cells", f"{len(cells)} cells", expected)
            return None
        if max(map(len, cells)) > _LONGEST_CELL:
            self._mistake("cells", "a cell of more than 10 000 characters", "a short one")
            return None
        cell = {name: cells[index].strip() for name, index in self._where.items()}
        purpose = self._one_of("purpose", cell.get("purpose", "").lower(), _PURPOSES)
        reading = self._reading(cell["reading"], purpose)
        coil, other = self._coil(cell.get("coil", ""), purpose)
        pins = self._pins(cell.get("pins", ""))
        nowhere = not cell.get("coil") and not cell.get("pins")
        if nowhere and purpose not in {Purpose.LEAD_NULL, Purpose.FREE}:
            self._mistake("coil", "neither a coil nor pins", "which coil, or which two pins")
        count, scatter = self._spread(cell.get("count", ""), cell.get("scatter", ""))
        row_range = self._range(cell.get("range", ""))
        time = self._time(cell.get("time", ""))
        self._one_of("proof", cell.get("proof", ""), _PROOFS)
        if not _HEX.fullmatch(cell.get("raw", "")):
            self._mistake("raw", repr(cell["raw"][:40]), "bytes in hex, or nothing")
        flex = self._flex(cell.get("flex", ""), purpose, is_path=bool(other))
        if flex is not None and nowhere and purpose is Purpose.FREE:
            self._mistake("coil", "neither a coil nor pins", "which coil was flexed")
        role = self._one_of("role", cell.get("role", "").lower(), ROLE_KEYS)
        head = cell.get("head", "")
        if not head and purpose is not Purpose.LEAD_NULL:
            head = self._default_head
        broken = reading is None or len(self.mistakes) > before
        return ReadingRow(
            path=self.name,
            line=line,
            head=head,
            reading=reading or ReadingText(Form.NUMBER, None, None, ""),
            kind=cell.get("kind", ""),
            coil=coil,
            other=other,
            role=role,
            pins=pins,
            purpose=purpose,
            range_ohm=row_range,
            meter=cell.get("meter", ""),
            lead=cell.get("lead", ""),
            temperature=cell.get("temperature", ""),
            time=time,
            note=cell.get("note", ""),
            count=count,
            scatter_ohm=scatter,
            proof=cell.get("proof", ""),
            raw=cell.get("raw", ""),
            flex=flex,
            named=bool(cell.get("head")),
            broken=broken,
        )

    def _mistake(self, column: str, seen: str, expected: str) -> None:
        self.mistakes.append(Mistake(self.name, self._line, column, seen, expected))

    def _reading(self, text: str, purpose: Purpose | None) -> ReadingText | None:
        try:
            return _reading_of(text, purpose in {Purpose.LEAD_NULL, Purpose.FREE})
        except ReadingTextError as error:
            advice = f" ({error.hint.rstrip('.')})" if error.hint else ""
            self._mistake("reading", repr(text[:40]), f"{error.expected}{advice}")
            return None

    def _one_of(self, column: str, text: str, known: Mapping[str, _WordT]) -> _WordT | None:
        word = known.get(text)
        if text and word is None:
            self._mistake(column, repr(text[:40]), f"one of: {', '.join(known)}")
        return word

    def _coil(self, text: str, purpose: Purpose | None) -> tuple[str, str]:
        to_case = _TO_CASE.fullmatch(text)
        if to_case is not None:
            return to_case[1], CASE
        if purpose is Purpose.COIL_TO_CASE:
            return text, CASE if text else ""
        if purpose is Purpose.COIL_TO_COIL and text:
            sides = SIDES.split(text)
            if not _are_two(sides):
                self._mistake("coil", repr(text[:40]), "two coils, such as '1-2'")
                return "", ""
            return sides[0], sides[1]
        return text, ""

    def _pins(self, text: str) -> tuple[str, str] | None:
        if not text:
            return None
        pins = [CASE if pin.lower() == CASE else pin for pin in SIDES.split(text)]
        if not _are_two(pins):
            self._mistake(
                "pins", repr(text[:40]), "two different pins, such as '1-2' or '7-case'"
            )
            return None
        return pins[0], pins[1]

    def _flex(
        self, text: str, purpose: Purpose | None, *, is_path: bool
    ) -> FlexEvidence | None:
        if not text:
            return None
        if is_path or purpose not in {None, Purpose.COIL, Purpose.FREE}:
            self._mistake("flex", repr(text[:40]), "nothing: only a coil is flexed")
            return None
        try:
            return parse_flex(text)
        except ReadingTextError as error:
            self._mistake("flex", repr(error.text[:40]), error.expected)
            return None

    def _range(self, text: str) -> float | None:
        try:
            return _range_of(text) if text else None
        except ReadingTextError as error:
            self._mistake("range", repr(text[:40]), error.expected)
            return None

    def _time(self, text: str) -> str:
        if text:
            try:
                datetime.fromisoformat(text)
            except ValueError:
                self._mistake("time", repr(text[:40]), "RFC 3339, such as 2026-03-01T14:05:00Z")
        return text

    def _spread(self, count: str, scatter: str) -> tuple[int, float]:
        number, spread = 1, 0.0
        if count:
            if count.isascii() and count.isdigit() and int(count[:9]) > 0:
                number = int(count[:9])
            else:
                self._mistake("count", repr(count[:40]), "how many readings were averaged")
        if scatter:
            try:
                reading = _reading_of(scatter, True)  # noqa: FBT003 - cached
            except ReadingTextError:
                reading = None
            if reading is not None and reading.form is Form.NUMBER:
                spread = -1.0 if reading.ohm is None else reading.ohm
            else:
                spread = -1.0
            if spread < 0:
                self._mistake("scatter", repr(scatter[:40]), "a standard deviation in ohm")
        return number, max(spread, 0.0)


def _are_two(names: Sequence[str]) -> bool:
    """Whether there are two names, and two different ones."""
    return len(names) == len(set(names)) == 2 and all(names)  # noqa: PLR2004 - two sides


@lru_cache(maxsize=65536)
def _reading_of(text: str, milli: bool) -> ReadingText:  # noqa: FBT001 - a cache key
    return parse_reading(text, milli=milli)


_range_of = lru_cache(maxsize=1024)(parse_range_end)
