"""Heads of the bin that could take the place of a given one, the nearest first.

The search goes through an index of total resistances, away from that of the head, and ends
where no head further off can be nearer than those found: what it finds is exact, and a bin of
a hundred thousand heads is not read through.
"""

from __future__ import annotations

import heapq
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import ColumnElement, Connection, Row, select

from coilmeter.compute.replacing import (
    CoilFigures,
    Fit,
    assign,
    fit,
    least_distance,
    total_ohm,
    when_sound,
)
from coilmeter.spares.judging import layout_of, sorts_of
from coilmeter.spares.schema import heads, verdicts
from coilmeter.spares.searching import HEAD_AND_VERDICT, Wanted, conditions, listed
from coilmeter.values.bin import BinHead, BinLine

SOUND: Final = ("matched", "unmatched")
"""Grades of heads that are offered, where no others are asked for."""

_AT_ONCE: Final = 200


@dataclass(frozen=True, slots=True)
class Donor:
    """A head that fits, with what a list says of it, and how it fits."""

    line: BinLine
    fit: Fit


@dataclass(frozen=True, slots=True)
class Sought:
    """A head that is to be replaced, and its coils as they were when it was sound."""

    head: BinHead
    coils: tuple[CoilFigures, ...]

    @property
    def known(self) -> bool:
        """Whether anything of its resistances is known."""
        return any(coil.ohm is not None for coil in self.coils)


def sought(connection: Connection, head: BinHead) -> Sought:
    """Figures of a head that is to be replaced; the verdicts must be up to date."""
    asked = select(verdicts.c.figures).where(verdicts.c.head == head.id)
    found = connection.execute(asked).scalar() or "[]"
    return Sought(head, when_sound(coils_of(found)))


def coils_of(figures: str) -> tuple[CoilFigures, ...]:
    """Coils from the figures that the table of verdicts keeps."""
    return tuple(
        CoilFigures(
            coil=each["coil"],
            role=each["role"],
            band=each["band"],
            pins=frozenset(each["pins"]),
            sound=each["sound"],
            suspect=each.get("suspect", False),
            ohm=each["ohm"],
            henry=each["henry"],
            hertz=each["hertz"],
        )
        for each in json.loads(figures)
    )


def donors(
    connection: Connection,
    wanted: Sought,
    most: int,
    among: Wanted,
    *,
    leave_out: Sequence[str] = (),
) -> list[Donor]:
    """Heads that fit best: those on the same pins first, then by distance.

    Parameters
    ----------
    connection
        A transaction that reads; the verdicts must be up to date.
    wanted
        The head to be replaced.
    most
        How many at most.
    among
        Which heads are offered.
    leave_out
        Ids of heads that are not offered; the head itself never is.

    """
    if not wanted.coils:
        return []
    figures = [_as_json(coil) for coil in wanted.coils]
    same_pins, same_sorts = layout_of(figures), sorts_of(figures)
    out = {wanted.head.id, *leave_out}
    found = _nearest(
        connection, wanted, most, [verdicts.c.layout == same_pins, *conditions(among)], out
    )
    if len(found) < most:
        others = [
            verdicts.c.sorts == same_sorts,
            verdicts.c.layout != same_pins,
            *conditions(among),
        ]
        found += _nearest(connection, wanted, most - len(found), others, out)
    return found


def assigned(
    connection: Connection, several: Sequence[Sought], among: Wanted
) -> list[Donor | None]:
    """Give each of several heads a donor of its own, so that together they fit best."""
    out = [each.head.id for each in several]
    # The best choice needs no more than the nearest of each, as many as there are heads.
    offers = [donors(connection, each, len(several), among, leave_out=out) for each in several]
    lines = {donor.line.head.id: donor.line for of_one in offers for donor in of_one}
    by_head = [{donor.line.head.id: donor for donor in of_one} for of_one in offers]
    names = list(lines)
    fits = [
        [of_one[name].fit if name in of_one else None for name in names] for of_one in by_head
    ]
    return [
        None if index is None else by_head[place][names[index]]
        for place, index in enumerate(assign(fits))
    ]


def _nearest(
    connection: Connection,
    wanted: Sought,
    most: int,
    where: Sequence[ColumnElement[bool]],
    out: set[str],
) -> list[Donor]:
    total = total_ohm(wanted.coils)
    best: list[tuple[tuple[bool, float], tuple[str, str], Donor]] = []
    for row in _outwards(connection, total or 0.0, where):
        away = least_distance(total, row.total_ohm) if total else 0.0
        # Without a total every head may be the nearest: all are looked at.
        if len(best) == most and total is not None and away > best[-1][0][1]:
            break
        if row.id in out:
            continue
        coils = coils_of(row.figures)
        if any(coil.suspect for coil in coils):
            # Its ohms may fit; what AC volts say of it does not.
            continue
        fits = fit(wanted.coils, coils)
        if fits is not None:
            best.append((fits.rank, (row.name, row.id), Donor(listed(row), fits)))
            best = heapq.nsmallest(most, best, key=lambda each: each[:2])
    return [donor for *_, donor in best]


def _outwards(
    connection: Connection, total: float, where: Sequence[ColumnElement[bool]]
) -> Iterator[Row[Any]]:
    """Rows of heads and verdicts by the distance of their total resistance."""
    asked = (
        select(*HEAD_AND_VERDICT, verdicts.c.total_ohm, verdicts.c.figures)
        .join(verdicts, verdicts.c.head == heads.c.id)
        .where(*where)
        .execution_options(yield_per=_AT_ONCE)
    )
    sum_ohm = verdicts.c.total_ohm
    above = asked.where(sum_ohm >= total).order_by(sum_ohm, heads.c.id)
    below = asked.where(sum_ohm < total).order_by(sum_ohm.desc(), heads.c.id)
    return heapq.merge(
        connection.execute(above),
        connection.execute(below),
        key=lambda row: abs(row.total_ohm - total),
    )


def _as_json(coil: CoilFigures) -> Mapping[str, Any]:
    return {"role": coil.role, "band": coil.band, "pins": list(coil.pins)}
