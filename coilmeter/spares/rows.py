"""Rows of readings as records of the bin, and back."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import datetime
from functools import lru_cache
from typing import Any, Final

from coilmeter.spares.records import Fields
from coilmeter.units import ReadingText, parse_range_end, parse_reading
from coilmeter.values import Purpose, ReadingRow, Role
from coilmeter.values.flexing import flex_text, parse_flex

_MILLI: Final = frozenset({Purpose.LEAD_NULL.value, Purpose.FREE.value})
"""Purposes with which a reading may be of thousandths."""


def fields_of(row: ReadingRow, instead: str = "") -> Fields:
    """Fields of a row, but for the sitting it belongs to and its number there.

    `instead` holds the numbers of the readings of its sitting that it was taken in place of.
    """
    pins = row.pins or ("", "")
    return {
        "reading": row.reading.text,
        "purpose": str(row.purpose or ""),
        "coil": row.coil,
        "other": row.other,
        "role": str(row.role or ""),
        "pin_a": pins[0],
        "pin_b": pins[1],
        "range": _range_text(row.range_ohm),
        "meter": row.meter,
        "lead": row.lead,
        "temperature": row.temperature,
        "time": row.time,
        "note": row.note,
        "count": row.count,
        "scatter_ohm": float(row.scatter_ohm),
        "proof": row.proof,
        "raw": row.raw,
        "flex": "" if row.flex is None else flex_text(row.flex),
        "instead": instead,
        "line": row.line,
    }


def row_of(fields: Mapping[str, Any], *, path: str, head: str, kind: str) -> ReadingRow:
    """Row of a record.

    Parameters
    ----------
    fields
        The record.
    path
        What stands for the file in messages; rows of one path have their lead nulls together.
    head, kind
        Name and kind of the head.

    Raises
    ------
    ReadingTextError, ValueError
        When the record holds what no row can.

    """
    purpose = fields["purpose"]
    pins = (fields["pin_a"], fields["pin_b"])
    return ReadingRow(
        path=path,
        line=fields["line"],
        head=head,
        reading=reading_of(fields["reading"], purpose in _MILLI),
        kind=kind,
        coil=fields["coil"],
        other=fields["other"],
        role=Role(fields["role"]) if fields["role"] else None,
        pins=pins if any(pins) else None,
        purpose=Purpose(purpose) if purpose else None,
        range_ohm=_range_of(fields["range"]),
        meter=fields["meter"],
        lead=fields["lead"],
        temperature=fields["temperature"],
        time=fields["time"],
        note=fields["note"],
        count=fields["count"],
        scatter_ohm=fields["scatter_ohm"],
        proof=fields["proof"],
        raw=fields["raw"],
        flex=parse_flex(fields["flex"]) if fields["flex"] else None,
    )


def check_fields(fields: Mapping[str, Any]) -> None:
    """Refuse a record that `row_of` could make no row of, and raise as it does."""
    reading_of(fields["reading"], fields["purpose"] in _MILLI)
    _range_of(fields["range"])
    if fields["flex"]:
        parse_flex(fields["flex"])
    if fields["time"]:
        datetime.fromisoformat(fields["time"])


@lru_cache(maxsize=65536)
def reading_of(text: str, milli: bool) -> ReadingText:  # noqa: FBT001 - a cache key
    """Read a text as a reading; most texts recur, so each is read once."""
    return parse_reading(text, milli=milli)


@lru_cache(maxsize=1024)
def _range_of(text: str) -> float | None:
    return parse_range_end(text) if text else None


@lru_cache(maxsize=1024)
def _range_text(end_ohm: float | None) -> str:
    if end_ohm is None:
        return ""
    return "auto" if math.isinf(end_ohm) else f"{end_ohm!r} ohm"
