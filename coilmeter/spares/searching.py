"""Heads of the bin by what a person asks for: grade, kind, role, age, text, status."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, Final

from sqlalchemy import ColumnElement, Connection, Row, or_, select

from coilmeter.spares.records import status_in
from coilmeter.spares.schema import events, heads, notes, verdicts
from coilmeter.values.bin import BinHead, BinLine

LONGEST_ASKED: Final = 1000
"""Characters of a text that is looked for: databases take no pattern of any length."""

NOT_JUDGED: Final = "not judged"
"""Grade that is asked for where heads without a verdict are meant."""

_HEAD: Final = tuple(
    heads.c[name]
    for name in ("id", "code", "name", "kind", "made", "measured", "status", "evidence")
)
_VERDICT: Final = tuple(
    verdicts.c[name]
    for name in ("grade", "reason", "coils", "intact", "roles", "low_ohm", "high_ohm")
)
HEAD_AND_VERDICT: Final = (*_HEAD, *_VERDICT)
"""Columns of a line of a list."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked for; empty means any.

    Parameters
    ----------
    grades, kinds, roles, statuses
        One of these; roles as files spell them.
    newer_than, older_than
        When it was last measured, as a time of UTC in the form that records have.
    text
        Stands in name, kind, notes, marking or reasons, in capitals or not.

    """

    grades: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()
    roles: tuple[str, ...] = ()
    statuses: tuple[str, ...] = ()
    newer_than: str = ""
    older_than: str = ""
    text: str = ""


EVERY_HEAD: Final = Wanted()
"""Leaves out none."""


def search(connection: Connection, wanted: Wanted) -> Iterator[BinLine]:
    """Heads that are asked for, by name and then by age.

    The verdicts must be up to date.
    """
    asked = (
        select(*HEAD_AND_VERDICT)
        .join(verdicts, verdicts.c.head == heads.c.id)
        .where(*conditions(wanted))
        .order_by(heads.c.name, heads.c.id)
    )
    for row in connection.execute(asked):
        yield listed(row)


def candidates(connection: Connection, among: Wanted) -> Iterator[tuple[BinLine, str, str]]:
    """Heads that all have a value of every coil, with layout and figures, oldest first.

    The verdicts must be up to date.
    """
    asked = (
        select(*HEAD_AND_VERDICT, verdicts.c.layout, verdicts.c.figures)
        .join(verdicts, verdicts.c.head == heads.c.id)
        .where(*conditions(among), verdicts.c.total_ohm.is_not(None))
        .order_by(heads.c.id)
    )
    for row in connection.execute(asked):
        yield listed(row), row.layout, row.figures


def listed(row: Row[*tuple[Any, ...]]) -> BinLine:
    """Line of a list from a row that begins with `HEAD_AND_VERDICT`."""
    head, verdict = row[: len(_HEAD)], row[len(_HEAD) : len(HEAD_AND_VERDICT)]
    grade, reason, coils, intact, roles, low_ohm, high_ohm = verdict
    identity, code, name, kind, made, measured, status, evidence = head
    return BinLine(
        BinHead(identity, code, name, kind, made, measured, status_in(status), evidence),
        grade,
        reason,
        coils,
        intact,
        tuple(roles.split()),
        low_ohm,
        high_ohm,
    )


def conditions(wanted: Wanted) -> list[ColumnElement[bool]]:
    """Conditions on heads and their verdicts."""
    found = evident(wanted)
    if wanted.grades:
        grades = ["" if grade == NOT_JUDGED else grade for grade in wanted.grades]
        found.append(verdicts.c.grade.in_(grades))
    if wanted.roles:
        found.append(or_(*(verdicts.c.roles.contains(f" {role} ") for role in wanted.roles)))
    return found


def evident(wanted: Wanted) -> list[ColumnElement[bool]]:
    """Conditions on heads that are asked for, without those on their verdicts."""
    found: list[ColumnElement[bool]] = []
    if wanted.kinds:
        found.append(heads.c.kind.in_(wanted.kinds))
    if wanted.statuses:
        found.append(heads.c.status.in_(wanted.statuses))
    if wanted.newer_than:
        found.append(heads.c.measured >= wanted.newer_than)
    if wanted.older_than:
        found.append(heads.c.measured < wanted.older_than)
    if wanted.text:
        found.append(_says(wanted.text))
    return found


def days_ago(days: float) -> str:
    """Time so many days ago, as records hold it."""
    return (datetime.now(UTC) - timedelta(days=days)).isoformat(timespec="milliseconds")


def _says(text: str) -> ColumnElement[bool]:
    noted = select(notes.c.head).where(
        _any_has((notes.c.text, notes.c.face, notes.c.marking), text)
    )
    decided = select(events.c.head).where(_any_has((events.c.reason,), text))
    return or_(
        _any_has((heads.c.name, heads.c.kind), text),
        heads.c.id.in_(noted),
        heads.c.id.in_(decided),
    )


def _any_has(columns: Sequence[ColumnElement[str]], text: str) -> ColumnElement[bool]:
    return or_(*(column.icontains(text, autoescape=True) for column in columns))
