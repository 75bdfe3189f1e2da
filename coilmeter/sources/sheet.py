"""Readings files: CSV that a person writes by hand, or that a walk keeps as it goes.

UTF-8 (a byte-order mark is tolerated), a header, columns in any order, blank lines and
lines that begin with ``#`` skipped.  Every mistake of a file is collected.
"""

from __future__ import annotations

import csv
import glob
import io
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Final, TypeAlias

from coilmeter.errors import InputError, Mistake
from coilmeter.sources.sheet_row import STANDARD_INPUT, RowReader
from coilmeter.values import ReadingRow

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
    "flex",
)
"""Every column; the last five are written by a walk and may be left out by a person."""

FORMER_COLUMNS: Final = (COLUMNS[:-1],)
"""Those that walks of earlier versions wrote, in their order."""

_EXAMPLE: Final = "coil,reading"

Lacking: TypeAlias = Callable[[Sequence[str]], Iterable[tuple[str, str]]]


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
    return parse_sheet(bytes_of(path, "a readings file"), str(path))


def bytes_of(path: Path, what: str) -> bytes:
    """Read the bytes of a table; `what` it should be is said where it cannot be read.

    Raises
    ------
    InputError
        When it cannot be read.

    """
    try:
        return path.read_bytes()
    except OSError as error:
        raise InputError(
            f"{path}: cannot be read ({error.strerror or error})",
            hint=f"check the name; {what} is CSV text.",
        ) from error


def parse_sheet(data: bytes, name: str, *, empty_is_fine: bool = False) -> Sheet:
    """Read the bytes of a readings file; `name` stands in messages and as default head.

    A file with a header and no reading is refused unless `empty_is_fine`.

    Raises
    ------
    InputError
        When it is not UTF-8 text, or there is nothing in it.

    """
    text = decoded(data, name)
    torn: list[Mistake] = []
    records = records_of(text, name, torn)
    header = next(records, None)
    if header is None:
        raise InputError(
            f"{name}: there is nothing in it",
            hint=f"the first line names the columns; the least is '{_EXAMPLE}'.",
        )
    columns, mistakes = header_of(header[1], name, header[0], COLUMNS, _lacking)
    if mistakes:
        return Sheet([], [*torn, *mistakes])
    reader = RowReader(name, columns)
    rows = [row for line, cells in records if (row := reader.row(line, cells)) is not None]
    mistakes = [*torn, *reader.mistakes]
    if not rows and not mistakes and not empty_is_fine:
        raise InputError(
            f"{name}: a header, and no reading under it", hint="write one line a reading."
        )
    return Sheet(rows, mistakes)


def decoded(data: bytes, name: str) -> str:
    """Give the text of a file; `InputError` where it is none."""
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


class _Lines:
    """Lines of a text for a CSV reader, without the blanks and comments between records."""

    def __init__(self, text: str) -> None:
        self._lines = enumerate(io.StringIO(text, newline=None), 1)
        self.between = True
        self.number = 0

    def __iter__(self) -> Iterator[str]:
        for number, line in self._lines:
            if self.between:
                if not line.strip() or line.lstrip().startswith("#"):
                    continue
                self.between, self.number = False, number
            yield line


def records_of(text: str, name: str, torn: list[Mistake]) -> Iterator[tuple[int, list[str]]]:
    """Cells of each line that is neither blank nor a comment, with its line number.

    A quote that is not closed, or not where it may stand, ends the reading: what follows
    could be taken for the inside of a cell.  It is added to `torn`.
    """
    lines = _Lines(text)
    reader = csv.reader(lines, strict=True)
    while True:
        lines.between = True
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            expected = "quotes in pairs around a cell, and doubled within it"
            torn.append(
                Mistake(name, lines.number, "line", f"no line of CSV ({error})", expected)
            )
            return
        if any(map(str.strip, cells)):
            yield lines.number, cells


def header_of(
    cells: list[str], name: str, line: int, known: Sequence[str], lacking: Lacking
) -> tuple[list[str], list[Mistake]]:
    """Names of the columns of a table, and what is wrong with its header.

    Parameters
    ----------
    cells, name, line
        The header, the file it stands in, and its line.
    known
        Names of all columns there may be.
    lacking
        Tells what is missing among the names: what was seen, and what was expected.

    """
    names = [cell.strip().lower() for cell in cells]
    mistakes = [
        Mistake(name, line, "header", repr(cell[:40]), f"a column of: {', '.join(known)}")
        for cell in names
        if cell not in known
    ]
    mistakes += [
        Mistake(name, line, "header", f"{cell!r} twice", "each column once")
        for cell in known
        if names.count(cell) > 1
    ]
    for separator, word in ((";", "semicolons"), ("\t", "tabs")):
        if len(names) == 1 and separator in cells[0]:
            expected = f"commas, not {word}, between the cells (a decimal comma in quotes)"
            return names, [Mistake(name, line, "header", repr(cells[0][:40]), expected)]
    mistakes += [
        Mistake(name, line, "header", seen, expected) for seen, expected in lacking(names)
    ]
    return names, mistakes


def _lacking(names: Sequence[str]) -> Iterator[tuple[str, str]]:
    if "reading" not in names:
        yield "no column 'reading'", "the reading"
    if not {"coil", "pins"} & set(names):
        yield "neither 'coil' nor 'pins'", "one of the two"


def names_in_header(path: Path) -> set[str]:
    """Names in the first line of a file that is neither blank nor a comment.

    Raises
    ------
    OSError
        When it cannot be read.

    """
    with path.open(encoding="utf-8-sig", errors="replace") as file:
        lines = (line for line in file if line.strip() and not line.lstrip().startswith("#"))
        return {cell.strip().lower() for cell in next(lines, "").split(",")}


def is_readings_file(path: Path) -> bool:
    """Whether a file begins as a readings file does, with columns of one and no others.

    Raises
    ------
    OSError
        When it cannot be read.

    """
    names = names_in_header(path)
    return "reading" in names and names <= set(COLUMNS)


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
        if not glob.has_magic(name) or _is_there(Path(name)):
            yield read_sheet(Path(name))
            continue
        found = sorted(glob.glob(name, recursive=True))  # noqa: PTH207 - an absolute pattern too
        if not found:
            raise InputError(f"{name}: no file fits this pattern", hint="check the folder.")
        yield from (read_sheet(Path(each)) for each in found)


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except OSError:
        return False


def rows_of(sheets: Iterable[Sheet]) -> tuple[list[ReadingRow], list[Mistake]]:
    """All rows and all mistakes of several files."""
    rows: list[ReadingRow] = []
    mistakes: list[Mistake] = []
    for sheet in sheets:
        rows += sheet.rows
        mistakes += sheet.mistakes
    return rows, mistakes
