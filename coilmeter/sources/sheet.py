"""Readings files: CSV that a person writes by hand, or that a walk keeps as it goes.

UTF-8 (a byte-order mark is tolerated), a header, columns in any order, blank lines and
lines that begin with ``#`` skipped.  Every mistake of a file is collected.
"""

from __future__ import annotations

import csv
import glob
import io
import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import IO, Final, TypeVar

from coilmeter.errors import InputError, Mistake, ReadingTextError
from coilmeter.units import Form, ReadingText, parse_reading
from coilmeter.values import CASE, ROLE_KEYS, Purpose, ReadingRow, Role

COLUMNS: Final = (
    "head",
    "kind",
    "coil",
    "role",
    "pins",
    "purpose",
    "reading",
    "range",
    "meter",
    "lead",
    "temperature",
    "time",
    "note",
    "count",
    "scatter",
    "proof",
    "raw",
)
"""Every column; the last four are written by a walk and may be left out by a person."""

STANDARD_INPUT: Final = "standard input"
_EXAMPLE: Final = "coil,reading"
_LONGEST_CELL: Final = 10_000
_PURPOSES: Final = {str(purpose): purpose for purpose in Purpose}
_SIDES: Final = re.compile(r"\s*(?:[-/,:]|\bto\b|\s)\s*")

_TO_CASE: Final = re.compile(rf"(.+?)(?:\s*[-/,:]\s*|\s+to\s+|\s+){CASE}", re.IGNORECASE)
_WordT = TypeVar("_WordT", Purpose, Role)


@dataclass(frozen=True, slots=True)
class Sheet:
    """What was read from one file: its rows, and every mistake in it."""

    rows: list[ReadingRow]
    mistakes: list[Mistake]


def read_sheet(path: Path) -> Sheet:
    """Read a readings file.

    Raises
    ------
    InputError
        When it cannot be read at all: missing, not UTF-8 text, or empty.

    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise InputError(
            f"{path}: cannot be read ({error.strerror or error})",
            hint="check the name; a readings file is CSV text.",
        ) from error
    return parse_sheet(data, str(path))


def parse_sheet(data: bytes, name: str, *, empty_is_fine: bool = False) -> Sheet:
    """Read the bytes of a readings file; `name` stands in messages and as default head.

    A file with a header and no reading is refused unless `empty_is_fine`.

    Raises
    ------
    InputError
        When it is not UTF-8 text, or there is nothing in it.

    """
    text = _decoded(data, name)
    records = _records(text, name)
    header = next(records, None)
    if header is None:
        raise InputError(
            f"{name}: there is nothing in it",
            hint=f"the first line names the columns; the least is '{_EXAMPLE}'.",
        )
    columns, mistakes = _columns(header[1], name, header[0])
    if mistakes:
        return Sheet([], mistakes)
    reader = _RowReader(name, columns)
    rows = [row for line, cells in records if (row := reader.row(line, cells)) is not None]
    if not rows and not reader.mistakes and not empty_is_fine:
        raise InputError(
            f"{name}: a header, and no reading under it", hint="write one line a reading."
        )
    return Sheet(rows, reader.mistakes)


def _decoded(data: bytes, name: str) -> str:
    if b"\0" in data[:4096]:
        raise InputError(
            f"{name}: this is not text (byte {data.index(0) + 1} is zero)",
            hint="a readings file is CSV; save a spreadsheet as CSV, UTF-8.",
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise InputError(
            f"{name}:{line}: byte {data[error.start]:#04x} is not UTF-8 text",
            hint="save the file as UTF-8.",
        ) from error


def _records(text: str, name: str) -> Iterator[tuple[int, list[str]]]:
    """Cells of each line that is neither blank nor a comment, with its line number."""
    reader = csv.reader(io.StringIO(text, newline=None))
    try:
        for cells in reader:
            if cells and any(cells) and not cells[0].lstrip().startswith("#"):
                yield reader.line_num, cells
    except csv.Error as error:
        raise InputError(
            f"{name}:{reader.line_num}: not a line of CSV ({error})",
            hint="put cells that hold a comma or a quote in double quotes.",
        ) from error


def _columns(cells: list[str], name: str, line: int) -> tuple[list[str], list[Mistake]]:
    names = [cell.strip().lower() for cell in cells]
    mistakes = [
        Mistake(name, line, "header", repr(cell[:40]), f"a column of: {', '.join(COLUMNS)}")
        for cell in names
        if cell not in COLUMNS
    ]
    mistakes += [
        Mistake(name, line, "header", f"{cell!r} twice", "each column once")
        for cell in COLUMNS
        if names.count(cell) > 1
    ]
    if "reading" not in names:
        mistakes.append(Mistake(name, line, "header", "no column 'reading'", "the reading"))
    if not {"coil", "pins"} & set(names):
        mistakes.append(
            Mistake(name, line, "header", "neither 'coil' nor 'pins'", "one of the two")
        )
    return names, mistakes


class _RowReader:
    """Turns the cells of one file into rows; most texts recur, so each is read once."""

    def __init__(self, name: str, columns: list[str]) -> None:
        self.name = name
        self.columns = columns
        self.mistakes: list[Mistake] = []
        self._where = {column: index for index, column in enumerate(columns)}
        self._default_head = "1" if name == STANDARD_INPUT else Path(name).stem
        self._line = 0

    def row(self, line: int, cells: list[str]) -> ReadingRow | None:
        self._line = line
        before = len(self.mistakes)
        if len(cells) != len(self.columns):
            expected = f"{len(self.columns)}, as many as the header has"
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
        if not coil and pins is None and purpose not in {Purpose.LEAD_NULL, Purpose.FREE}:
            self._mistake("coil", "neither a coil nor pins", "which coil, or which two pins")
        count, scatter = self._spread(cell.get("count", ""), cell.get("scatter", ""))
        row_range = self._range(cell.get("range", ""))
        time = self._time(cell.get("time", ""))
        role = self._one_of("role", cell.get("role", "").lower(), ROLE_KEYS)
        head = cell.get("head", "")
        if not head and purpose is not Purpose.LEAD_NULL:
            head = self._default_head
        if reading is None or len(self.mistakes) > before:
            return None
        return ReadingRow(
            path=self.name,
            line=line,
            head=head,
            reading=reading,
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
            sides = _SIDES.split(text)
            if len(sides) != 2 or not all(sides) or sides[0] == sides[1]:  # noqa: PLR2004
                self._mistake("coil", repr(text[:40]), "two coils, such as '1-2'")
                return "", ""
            return sides[0], sides[1]
        return text, ""

    def _pins(self, text: str) -> tuple[str, str] | None:
        if not text:
            return None
        pins = [CASE if pin.lower() == CASE else pin for pin in _SIDES.split(text)]
        if len(pins) != 2 or not all(pins) or pins[0] == pins[1]:  # noqa: PLR2004
            self._mistake(
                "pins", repr(text[:40]), "two different pins, such as '1-2' or '7-case'"
            )
            return None
        return pins[0], pins[1]

    def _range(self, text: str) -> float | None:
        if not text or text.lower() == "auto":
            return math.inf if text else None
        try:
            reading = _reading_of(text, False)  # noqa: FBT003 - cached, positional only
        except ReadingTextError as error:
            self._mistake("range", repr(text[:40]), f"{error.expected}, or 'auto'")
            return None
        if reading.form is not Form.NUMBER or not reading.ohm or reading.ohm < 0:
            self._mistake("range", repr(text[:40]), "the end of a range, such as '400 ohm'")
            return None
        return reading.ohm

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
                spread = _reading_of(scatter, True).ohm or 0.0  # noqa: FBT003 - cached
            except ReadingTextError:
                spread = -1.0
            if spread < 0:
                self._mistake("scatter", repr(scatter[:40]), "a standard deviation in ohm")
        return number, max(spread, 0.0)


@lru_cache(maxsize=65536)
def _reading_of(text: str, milli: bool) -> ReadingText:  # noqa: FBT001 - a cache key
    return parse_reading(text, milli=milli)


def read_sheets(names: Sequence[str], standard_input: IO[bytes]) -> Iterator[Sheet]:
    """Read files by name or pattern; ``-`` is standard input.

    Raises
    ------
    InputError
        When a file cannot be read, or a pattern fits none.

    """
    for name in names:
        if name == "-":
            yield parse_sheet(standard_input.read(), STANDARD_INPUT)
            continue
        path = Path(name)
        if path.exists() or not glob.has_magic(name):
            yield read_sheet(path)
            continue
        found = sorted(glob.glob(name, recursive=True))  # noqa: PTH207 - an absolute pattern too
        if not found:
            raise InputError(f"{name}: no file fits this pattern", hint="check the folder.")
        yield from (read_sheet(Path(each)) for each in found)


def rows_of(sheets: Iterable[Sheet]) -> tuple[list[ReadingRow], list[Mistake]]:
    """All rows and all mistakes of several files."""
    rows: list[ReadingRow] = []
    mistakes: list[Mistake] = []
    for sheet in sheets:
        rows += sheet.rows
        mistakes += sheet.mistakes
    return rows, mistakes
