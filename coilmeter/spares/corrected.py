"""Rows of a file sorted by what the bin has of them: new, known, or corrected since.

A row that was corrected in its file is taken down as one more reading, in place of the older
words, which stay on record and no longer count.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from coilmeter.spares.known import Mark, instead_of, mark_of, numbers_answered, stamp_of
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

    """

    fresh: tuple[Fields, ...]
    corrected: int = 0
    older: int = 0
    silent: int = 0


def sort_rows(rows: Sequence[ReadingRow], there: Sequence[Fields]) -> SortedRows:
    """Sort the rows of a file; `there` are the readings of their sitting, in order."""
    said = [fields_of(row) for row in rows]
    left = _Left(there)
    met = dict(left.equal(said))
    fresh: dict[int, Fields] = {}
    corrected: dict[int, Fields] = {}
    set_free: dict[int, Fields] = {}
    for place, fields in enumerate(said):
        if place in met:
            continue
        old = left.other_words(fields)
        if old is None:
            fresh[place] = fields
        elif left.counts(old):
            is_free = fields["purpose"] == Purpose.FREE != old["purpose"]
            (set_free if is_free else corrected)[place] = old
    replaced = list(set_free.values())
    for place in fresh:
        fresh[place] |= {"instead": instead_of(rows[place], replaced)}
    # Where nothing was read in its place, what the file takes back is taken back all the same.
    corrected |= {place: old for place, old in set_free.items() if old in replaced}
    fresh |= {
        place: _filled(said[place], old) | {"instead": str(old["number"])}
        for place, old in corrected.items()
    }
    return SortedRows(
        tuple(fresh[place] for place in sorted(fresh)),
        corrected=len(corrected),
        older=sum(map(left.is_older, met.values())),
        silent=sum(said[place] != _filled(said[place], met[place]) for place in met),
    )


class _Left:
    """Readings of a sitting that no row of the file was found to be."""

    def __init__(self, there: Sequence[Fields]) -> None:
        self._answered = numbers_answered(there)
        # The last words first: those that stand corrected are met only by their like.
        self._left = {
            record["number"]: record for record in sorted(there, key=self.counts, reverse=True)
        }

    def counts(self, record: Fields) -> bool:
        """Whether no later reading stands in its place."""
        return str(record["number"]) not in self._answered

    def equal(self, said: Sequence[Fields]) -> Iterator[tuple[int, Fields]]:
        """Take out, for each row by its place, the reading that says the same."""
        by_mark: dict[Mark, list[Fields]] = {}
        for record in self._left.values():
            by_mark.setdefault(mark_of(record), []).append(record)
        for place, fields in enumerate(said):
            alike = by_mark.get(mark_of(fields), [])
            found = next((record for record in alike if _is_same(fields, record)), None)
            if found is not None:
                alike.remove(found)
                del self._left[found["number"]]
                yield place, found

    def other_words(self, fields: Fields) -> Fields | None:
        """Take out the reading that a row is in other words; None where there is none."""
        mark, stamp = mark_of(fields), stamp_of(fields)
        left = self._left.values()
        found = next((record for record in left if mark_of(record) == mark), None)
        if found is None and stamp is not None:
            alike = (each for each in left if self.counts(each) and stamp_of(each) == stamp)
            found = next(alike, None)
        if found is not None:
            del self._left[found["number"]]
        return found

    def is_older(self, record: Fields) -> bool:
        """Whether a reading stands corrected, in words that no row of the file has."""
        number = str(record["number"])
        return any(
            number in later["instead"].split()
            and (mark_of(later) == mark_of(record) or _same_stamp(later, record))
            for later in self._left.values()
        )


def _same_stamp(one: Fields, other: Fields) -> bool:
    stamp = stamp_of(one)
    return stamp is not None and stamp == stamp_of(other)


def _filled(fields: Fields, record: Mapping[str, object]) -> Fields:
    """Fields of a row, with what was said beside it when it was added."""
    return fields | {name: fields[name] or record[name] for name in _SAID_BESIDE}


def _is_same(fields: Fields, record: Fields) -> bool:
    whole = _filled(fields, record)
    names = fields.keys() - _NOT_COMPARED - {"scatter_ohm"}
    return all(whole[name] == record[name] for name in names) and math.isclose(
        fields["scatter_ohm"], record["scatter_ohm"], rel_tol=_SIX_DIGITS, abs_tol=_NANO_OHM
    )
