"""Readings known again: which sitting holds them, and which were taken again since."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Final, TypeAlias

from coilmeter.spares.records import Fields
from coilmeter.spares.rows import fields_of
from coilmeter.values import Purpose, ReadingRow

Mark: TypeAlias = tuple[object, ...]
"""What tells one reading from all others."""

_DAY_LENGTH: Final = len("2026-03-01")


def same_sitting(rows: Sequence[ReadingRow], taken: dict[str, list[Fields]]) -> str:
    """Sitting that these readings are of already; empty where of none.

    One that holds all of them; else one that holds some of them, by their time, and that the
    others do not contradict, or, without times, one of which all readings are among them:
    then the file has grown since.
    """
    said = [fields_of(row) for row in rows]
    marks = Counter(map(mark_of, said))
    held = {sitting: Counter(map(mark_of, records)) for sitting, records in taken.items()}
    for sitting, there in held.items():
        if marks and marks <= there:
            return sitting
    for sitting, there in held.items():
        has_values = any(str(mark[1])[:1].isdigit() for mark in there)
        if has_values and there <= marks:
            return sitting
    timed = {mark for mark in marks if mark[0]}
    stamps = _stamps(said)
    for sitting, there in held.items():
        met = timed & set(there) or stamps & _stamps(taken[sitting])
        if met and not _contradict(said, taken[sitting]):
            return sitting
    return ""


def _contradict(said: Sequence[Fields], there: Sequence[Fields]) -> bool:
    """Whether a row that is new there is about a place that was read there, and not again."""
    marks = set(map(mark_of, there))
    gone = _replaced_in(said, there)
    standing = {
        _place(record) for record in there if is_measured(record) and record not in gone
    }
    fresh = [fields for fields in said if mark_of(fields) not in marks]
    # What was read there at that very second is the same reading, in other words.
    in_file = set(map(mark_of, said))
    corrected = _stamps(record for record in there if mark_of(record) not in in_file)
    return any(
        is_measured(fields) and _place(fields) in standing and stamp_of(fields) not in corrected
        for fields in fresh
    )


def is_measured(fields: Fields) -> bool:
    """Whether a reading is of a coil or path, and the one that counts."""
    return fields["purpose"] not in {Purpose.FREE, Purpose.LEAD_NULL} and not fields["flex"]


def _place(fields: Fields) -> tuple[object, ...]:
    pins = sorted((fields["pin_a"], fields["pin_b"])) if fields["other"] else ()
    return (*_side(fields), *pins)


def mark_of(fields: Fields) -> Mark:
    """Tell one reading from all others; a reading taken again stays the same one."""
    return (
        fields["time"],
        fields["reading"],
        fields["coil"],
        fields["other"],
        fields["pin_a"],
        fields["pin_b"],
        fields["raw"],
        fields["flex"],
    )


def stamp_of(fields: Fields) -> Mark | None:
    """Tell a reading by its place and the second it was taken; None without a time of day.

    It tells what `mark_of` cannot: a reading whose figure was corrected.
    """
    when = time_of(fields)
    return None if when is None else (*when, *_place(fields))


def time_of(fields: Fields) -> Mark | None:
    """Tell the second of a reading; None without a time of day, and of a flexing."""
    if len(fields["time"]) <= _DAY_LENGTH or fields["flex"]:
        return None
    return (fields["time"],)


def _stamps(records: Iterable[Fields]) -> set[Mark]:
    return {stamp for record in records if (stamp := stamp_of(record)) is not None}


def numbers_answered(there: Iterable[Fields]) -> set[str]:
    """Numbers of the readings that others were taken in place of."""
    return {number for record in there for number in record["instead"].split()}


def _replaced_in(said: Sequence[Fields], there: Sequence[Fields]) -> list[Fields]:
    """Find readings that count in the bin, and in the file were taken again since."""
    free = {mark_of(fields) for fields in said if fields["purpose"] == Purpose.FREE}
    answered = numbers_answered(there)
    return [
        record
        for record in there
        if record["purpose"] != Purpose.FREE
        and not record["flex"]
        and str(record["number"]) not in answered
        and mark_of(record) in free
    ]


def instead_of(fields: Fields, replaced: list[Fields]) -> str:
    """Numbers of the readings that a row was taken in place of; each is named once."""
    if fields["purpose"] == Purpose.FREE or fields["flex"]:
        return ""
    mine = [record for record in replaced if _side(record) == _side(fields)]
    for record in mine:
        replaced.remove(record)
    return " ".join(str(record["number"]) for record in mine)


def _side(fields: Fields) -> tuple[object, ...]:
    is_null = fields["purpose"] == Purpose.LEAD_NULL
    return (is_null, *sorted((fields["coil"], fields["other"])))
