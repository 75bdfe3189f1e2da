"""Rows of a file sorted by what the bin has of them: new, known, or corrected since.

A row that was corrected in its file is taken down as one more reading, in place of the older
words, which stay on record and no longer count.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from coilmeter.spares.known import (
    Mark,
    instead_of,
    is_measured,
    mark_of,
    numbers_answered,
    stamp_of,
    time_of,
)
from coilmeter.spares.records import Fields
from coilmeter.spares.rows import fields_of
from coilmeter.values import Purpose, ReadingRow

_SAID_BESIDE: Final = ("meter", "lead", "temperature")
"""May have been said on the command line: a file that is silent takes nothing back."""

_NOT_COMPARED: Final = frozenset({"instead", "line"})
_SIX_DIGITS: Final = 1e-5
_NANO_OHM: Final = 1e-8
"""A file holds the scatter to six digits, and none below a nano-ohm."""


@dataclass(frozen=True, slots=True)
class SortedRows:
    """Rows of a file as they meet the readings of a sitting.

    Parameters
    ----------
    fresh
        Fields of the readings to add, with the numbers of those that each stands in place of.
    corrected
        How many of them are there in other words.
    older
        How many rows are there, and stand corrected since in words that the file has not.
    silent
        How many rows are there with a meter, leads or temperature that the file does not say.
    absent
        How many readings of the sitting count and are in no row of the file.

    """

    fresh: tuple[Fields, ...]
    corrected: int = 0
    older: int = 0
    silent: int = 0
    absent: int = 0


def sort_rows(rows: Sequence[ReadingRow], there: Sequence[Fields]) -> SortedRows:
    """Sort the rows of a file; `there` are the readings of their sitting, in order."""
    said = [fields_of(row) for row in rows]
    left = _Left(there)
    met = dict(left.equal(said))
    said_again = {
        place: standing
        for place, record in met.items()
        if (standing := left.said_otherwise(said[place], record)) is not None
    }
    met = {place: record for place, record in met.items() if place not in said_again}
    # What a row is most likely to be comes first, for all rows, before what it may be.
    meant = dict(said_again)
    for find in (left.same_reading, left.stands_for_older, left.same_time):
        open_rows = [place for place in range(len(said)) if place not in met | meant]
        meant |= find({place: said[place] for place in open_rows})
    unmet = {place: said[place] for place in range(len(said)) if place not in met | meant}
    # In other words these are what others of the file stand in the place of.
    replaced_marks = left.replaced_marks()
    swallowed = {place for place, fields in unmet.items() if mark_of(fields) in replaced_marks}
    fresh = {place: fields for place, fields in unmet.items() if place not in swallowed}
    set_free = {
        place: old
        for place, old in meant.items()
        if said[place]["purpose"] == Purpose.FREE != old["purpose"]
    }
    replaced = list(set_free.values())
    for place, fields in fresh.items():
        fresh[place] = fields | {"instead": instead_of(fields, replaced)}
    # Where nothing was read in its place, what the file takes back is taken back all the same.
    corrected = {
        place: old for place, old in meant.items() if place not in set_free or old in replaced
    }
    fresh |= {
        place: _filled(said[place], old) | {"instead": str(old["number"])}
        for place, old in corrected.items()
    }
    return SortedRows(
        tuple(fresh[place] for place in sorted(fresh)),
        corrected=len(corrected),
        older=sum(map(left.is_older, met.values()))
        + sum(is_measured(said[place]) for place in swallowed),
        silent=sum(
            said[place] != _filled(said[place], record)
            for place, record in (met | corrected).items()
        ),
        absent=left.still_counting(met.values()),
    )


class _Left:
    """Readings of a sitting that no row of the file was found to be."""

    def __init__(self, there: Sequence[Fields]) -> None:
        self._answered = numbers_answered(there)
        self._after = {
            number: record for record in there for number in record["instead"].split()
        }
        # The last words first: those that stand corrected are met only by their like.
        self._left = {
            record["number"]: record for record in sorted(there, key=self.counts, reverse=True)
        }

    def counts(self, record: Fields) -> bool:
        """Whether no later reading stands in its place."""
        return str(record["number"]) not in self._answered

    def equal(self, said: Sequence[Fields]) -> Iterator[tuple[int, Fields]]:
        """Take out, for each row by its place, the reading that says the same."""
        by_mark = _grouped(self._left.values(), mark_of)
        for place, fields in enumerate(said):
            alike = by_mark.get(mark_of(fields), [])
            found = next((record for record in alike if _is_same(fields, record)), None)
            if found is not None:
                alike.remove(found)
                del self._left[found["number"]]
                yield place, found

    def same_reading(self, said: Mapping[int, Fields]) -> dict[int, Fields]:
        """Take out those that count and are the readings of rows in other words."""
        by_mark = _grouped(self._counting(), mark_of)
        by_stamp = _grouped(self._counting(), stamp_of)
        found = {}
        for place, fields in said.items():
            stamp = stamp_of(fields)
            alike = [
                *by_mark.get(mark_of(fields), []),
                *(by_stamp.get(stamp, []) if stamp is not None else []),
            ]
            record = next((each for each in alike if each["number"] in self._left), None)
            if record is not None:
                found[place] = self._left.pop(record["number"])
        return found

    def stands_for_older(self, said: Mapping[int, Fields]) -> dict[int, Fields]:
        """Take out those that stand in the place of what rows are in other words."""
        by_mark = _grouped(self._replaced(), mark_of)
        found = {}
        for place, fields in said.items():
            for old in by_mark.get(mark_of(fields), []):
                record = self._standing(old)
                if record["number"] in self._left:
                    found[place] = self._left.pop(record["number"])
                    break
        return found

    def same_time(self, said: Mapping[int, Fields]) -> dict[int, Fields]:
        """Take out those that were read when rows were, where both are the only ones then."""
        of_rows = _grouped(said.values(), time_of)
        of_records = _grouped(self._counting(), time_of)
        found = {}
        for place, fields in said.items():
            when = time_of(fields)
            records = [] if when is None else of_records.get(when, [])
            if when is not None and len(of_rows[when]) == len(records) == 1:
                found[place] = self._left.pop(records[0]["number"])
        return found

    def replaced_marks(self) -> set[Mark]:
        """Give the marks of those that others stand in the place of."""
        return set(map(mark_of, self._replaced()))

    def is_older(self, record: Fields) -> bool:
        """Whether a reading stands corrected, in words that no row of the file has."""
        return not self.counts(record) and self._standing(record)["number"] in self._left

    def said_otherwise(self, fields: Fields, record: Fields) -> Fields | None:
        """Take out what stands for a reading, and differs only in what was said beside it.

        A meter, leads or a temperature on the command line: what is said last counts.
        """
        standing = self._standing(record)
        if standing is record or standing["number"] not in self._left:
            return None
        if not all(fields[name] for name in _SAID_BESIDE if record[name] != standing[name]):
            return None
        beside = {name: standing[name] for name in _SAID_BESIDE}
        return (
            self._left.pop(standing["number"]) if _is_same(fields | beside, standing) else None
        )

    def still_counting(self, met: Iterable[Fields]) -> int:
        """How many count, though no row of the file is one of them, or of their older words."""
        of_file = {self._standing(record)["number"] for record in met}
        return sum(
            is_measured(record) and record["number"] not in of_file
            for record in self._counting()
        )

    def _counting(self) -> list[Fields]:
        return [record for record in self._left.values() if self.counts(record)]

    def _replaced(self) -> list[Fields]:
        return [record for record in self._left.values() if not self.counts(record)]

    def _standing(self, record: Fields) -> Fields:
        """Follow what was read in the place of a reading to the last of it."""
        while (later := self._after.get(str(record["number"]))) is not None:
            record = later
        return record


def _grouped(
    records: Iterable[Fields], key: Callable[[Fields], Mark | None]
) -> dict[Mark, list[Fields]]:
    groups: dict[Mark, list[Fields]] = {}
    for record in records:
        mark = key(record)
        if mark is not None:
            groups.setdefault(mark, []).append(record)
    return groups


def _filled(fields: Fields, record: Mapping[str, object]) -> Fields:
    """Fields of a row, with what was said beside it when it was added."""
    return fields | {name: fields[name] or record[name] for name in _SAID_BESIDE}


def _is_same(fields: Fields, record: Fields) -> bool:
    whole = _filled(fields, record)
    names = fields.keys() - _NOT_COMPARED - {"scatter_ohm"}
    return all(whole[name] == record[name] for name in names) and math.isclose(
        fields["scatter_ohm"], record["scatter_ohm"], rel_tol=_SIX_DIGITS, abs_tol=_NANO_OHM
    )
