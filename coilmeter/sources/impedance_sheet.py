"""Files of AC volts: CSV that a person writes by hand, or that a walk keeps as it goes.

As readings files are: UTF-8, a header, columns in any order, blank lines and lines that begin
with ``#`` skipped, every mistake collected.  One line is one coil at one frequency; a walk
writes a line for each voltage, and lines of the same coil, frequency and set are put
together.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from coilmeter.errors import InputError, Mistake
from coilmeter.sources.impedance_sheet_row import VoltsRowReader
from coilmeter.sources.sheet import (
    bytes_of,
    decoded,
    header_of,
    names_in_header,
    records_of,
)
from coilmeter.values.impedance_rows import AGAIN, ImpedanceRow

COLUMNS: Final = (
    "head",
    "kind",
    "coil",
    "role",
    "frequency",
    "method",
    "v_total",
    "v_resistor",
    "v_coil",
    "current",
    "phase",
    "resistor",
    "dc",
    "range",
    "meter",
    "temperature",
    "reference",
    "set",
    "time",
    "note",
    "count",
    "scatter",
    "raw",
)
"""Every column; the last three are written by a walk and may be left out by a person."""

_LEAST: Final = {"coil", "frequency", "v_coil"}
_EXAMPLE: Final = "coil,frequency,v_total,v_resistor,v_coil,resistor"


@dataclass(frozen=True, slots=True)
class VoltsSheet:
    """What was read from one file of AC volts.

    Parameters
    ----------
    rows
        What counts, put together.
    mistakes
        Every mistake in it.
    voltages
        How many voltages were read for it, those that no longer count included.

    """

    rows: list[ImpedanceRow]
    mistakes: list[Mistake]
    voltages: int = 0


def read_volts(path: Path) -> VoltsSheet:
    """Read a file of AC volts.

    Raises
    ------
    InputError
        When it cannot be read at all: missing, not UTF-8 text, or empty.

    """
    return parse_volts(bytes_of(path, "a file of AC volts"), str(path))


def parse_volts(data: bytes, name: str, *, empty_is_fine: bool = False) -> VoltsSheet:
    """Read the bytes of a file of AC volts; `name` stands in messages and as default head.

    Raises
    ------
    InputError
        When it is not UTF-8 text, or there is nothing in it.

    """
    torn: list[Mistake] = []
    records = records_of(decoded(data, name), name, torn)
    header = next(records, None)
    if header is None:
        raise InputError(
            f"{name}: there is nothing in it",
            hint=f"the first line names the columns, such as '{_EXAMPLE}'.",
        )
    columns, mistakes = header_of(header[1], name, header[0], COLUMNS, _lacking)
    if mistakes:
        return VoltsSheet([], [*torn, *mistakes])
    reader = VoltsRowReader(name, columns)
    lines = [row for line, cells in records if (row := reader.row(line, cells)) is not None]
    mistakes = [*torn, *reader.mistakes]
    if not lines and not mistakes and not empty_is_fine:
        raise InputError(
            f"{name}: a header, and no voltage under it", hint="write one line a coil."
        )
    return VoltsSheet(together(lines), mistakes, sum(line.readings for line in lines))


def is_volts_file(path: Path) -> bool:
    """Whether a file begins as a file of AC volts does.

    Raises
    ------
    OSError
        When it cannot be read.

    """
    names = names_in_header(path)
    return names >= _LEAST and names <= set(COLUMNS)


def together(lines: Sequence[ImpedanceRow]) -> list[ImpedanceRow]:
    """Put lines of the same coil, frequency and set together.

    A voltage that stands twice leaves two rows, which is a mistake for whoever reads them,
    unless the later one says that it was taken again: then it takes the other's place.  A
    line that puts voltages aside leaves a row without any, until they are read once more.
    """
    rows: dict[tuple[object, ...], ImpedanceRow] = {}
    apart = 0
    for line in lines:
        key: tuple[object, ...] = (
            *(line.head, line.coil, line.frequency_hz, line.number, line.reference),
            line.method,
        )
        before = rows.get(key)
        if line.broken:
            apart += 1
            rows[*key, apart] = line
        elif before is None or line.aside or before.aside:
            rows[key] = line
        elif _fit(before, line):
            rows[key] = replace(
                before,
                volts={**before.volts, **line.volts},
                current=line.current or before.current,
                phase=line.phase or before.phase,
                dc=line.dc or before.dc,
                resistor=line.resistor or before.resistor,
            )
        else:
            apart += 1
            rows[*key, apart] = line
    return list(rows.values())


def _fit(before: ImpedanceRow, line: ImpedanceRow) -> bool:
    again = line.note.startswith(AGAIN)
    twice = before.volts.keys() & line.volts.keys() or (before.current and line.current)
    same = before.meter == line.meter and (
        line.resistor is None or before.resistor in {None, line.resistor}
    )
    return same and (again or not twice)


def _lacking(names: Sequence[str]) -> Iterator[tuple[str, str]]:
    expected = f"at least {', '.join(sorted(_LEAST))}, such as '{_EXAMPLE}'"
    for cell in sorted(_LEAST - set(names)):
        yield f"no column {cell!r}", expected
