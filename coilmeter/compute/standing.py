"""Which readings count where a head was measured in several sittings: the newest of each place.

What was read earlier stays on record and is not judged: it becomes ``free``.  A path read
again replaces all earlier readings of it, from whichever end they were taken.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from coilmeter.compute.places import Misplaced, kind_of_rows, locate
from coilmeter.values import HeadKind, Purpose, ReadingRow

TAKEN_AGAIN: Final = "taken again later"
_NOT_JUDGED: Final = frozenset({Purpose.LEAD_NULL, Purpose.FREE})


def standing(
    sittings: Sequence[Sequence[ReadingRow]], kind: HeadKind | None
) -> list[ReadingRow]:
    """Rows of all sittings of one head, those that no longer count as ``free``.

    Parameters
    ----------
    sittings
        Rows of each sitting, oldest sitting first.
    kind
        Kind of the head, None where not known.

    """
    if len(sittings) == 1:
        return list(sittings[0])
    layout = kind
    if layout is None:
        layout = kind_of_rows([row for rows in sittings for row in rows if _is_judged(row)])
    newer: set[tuple[str, ...]] = set()
    kept: list[list[ReadingRow]] = []
    for rows in reversed(sittings):
        places = [_place(row, layout) if _is_judged(row) else None for row in rows]
        kept.append(
            [
                taken_again(row) if place is not None and place in newer else row
                for row, place in zip(rows, places, strict=True)
            ]
        )
        newer |= {place for place in places if place is not None}
    return [row for rows in reversed(kept) for row in rows]


def taken_again(row: ReadingRow) -> ReadingRow:
    """Give a row that another took the place of: still on record, and no longer judged."""
    note = "; ".join(part for part in (row.note, TAKEN_AGAIN) if part)
    return replace(row, purpose=Purpose.FREE, note=note)


def _is_judged(row: ReadingRow) -> bool:
    """Whether a row is a reading of a place; of flexings, the judge takes the latest."""
    return row.purpose not in _NOT_JUDGED and row.flex is None


def _place(row: ReadingRow, layout: HeadKind | None) -> tuple[str, ...]:
    """Name what a row is about; as it was written where it is about no place."""
    place = locate(row, layout)
    if isinstance(place, Misplaced):
        return ("row", row.coil, row.other, *(row.pins or ()))
    if not place.other:
        return ("coil", place.name)
    return ("path", *sorted((place.name, place.other)))
