"""Readings of a log as lines of CSV and JSON: SI numbers, and times both ways."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any, Final

from coilmeter.report.safe import for_spreadsheet, harmless
from coilmeter.values import Reading

COLUMNS: Final = (
    "time",
    "at_s",
    "function",
    "value",
    "unit",
    "overload",
    "resolution",
    "full_scale",
    "flags",
    "display",
)


def stamp(start: datetime, seconds: float) -> str:
    """Write the time of something in a log by RFC 3339, in UTC."""
    try:
        time = (start + timedelta(seconds=seconds)).astimezone(UTC)
    except OverflowError:
        # Nobody measured for so long: a log that was changed.
        return ""
    return time.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def csv_line(cells: Sequence[object]) -> str:
    """Write a line of CSV; floats in full, nothing for None, text that cannot be run."""
    line = io.StringIO()
    csv.writer(line, lineterminator="\n").writerow([_cell(cell) for cell in cells])
    return line.getvalue()


def reading_cells(start: datetime, at: float, reading: Reading) -> tuple[object, ...]:
    """Cells of a reading, in the order of `COLUMNS`."""
    return (
        stamp(start, at),
        f"{at:.6f}",
        reading.function,
        reading.value,
        reading.unit,
        int(reading.overload),
        reading.resolution,
        reading.full_scale,
        " ".join(sorted(reading.flags)),
        harmless(reading.display),
    )


def reading_entry(start: datetime, at: float, reading: Reading) -> dict[str, Any]:
    """Give a reading as an object of a JSON document, the unit in the keys of its numbers."""
    unit = f"_{reading.unit}" if reading.unit else ""
    return {
        "time": stamp(start, at) or None,
        "at_s": round(at, 6),
        "function": reading.function,
        "unit": reading.unit or None,
        f"value{unit}": reading.value,
        "overload": reading.overload,
        f"resolution{unit}": reading.resolution,
        f"full_scale{unit}": reading.full_scale,
        "flags": sorted(reading.flags),
        "display": harmless(reading.display),
    }


def json_line(entry: Mapping[str, Any]) -> str:
    """Write one object on one line."""
    return json.dumps(entry, allow_nan=False)


def _cell(cell: object) -> str:
    if cell is None:
        return ""
    return repr(cell) if isinstance(cell, float) else for_spreadsheet(str(cell))
