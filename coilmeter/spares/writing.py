"""Records into the bin: gathered, then written together with what follows from them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from operator import itemgetter
from typing import Final

from sqlalchemy import Connection, Table, bindparam, select

from coilmeter.spares.identity import code_of
from coilmeter.spares.records import (
    NOTHING,
    Fields,
    checksum,
    status_of,
    together,
)
from coilmeter.spares.schema import EVIDENCE, events, heads, readings, sittings
from coilmeter.values.bin import Status

AT_ONCE: Final = 500
"""So many ids are asked for in one query."""


class Gathered:
    """New records, each with its checksum, and what they change of their heads.

    Attributes
    ----------
    disputed
        Ids of heads that the events written left with two last words.

    """

    def __init__(self) -> None:
        self._rows: dict[str, list[Fields]] = {table.name: [] for table in EVIDENCE}
        self._digests: dict[str, list[str]] = {}
        self._measured: dict[str, str] = {}
        self._decided: set[str] = set()
        self.disputed: list[str] = []

    def __len__(self) -> int:
        return sum(map(len, self._rows.values()))

    def add(self, table: Table, head: str, fields: Fields) -> None:
        """Add a new record; `head` is the head it belongs to, itself where it is one.

        A proof of a meter belongs to no head: then it is empty.
        """
        self.take(table, head, fields | {"checksum": checksum(table.name, fields)})

    def take(self, table: Table, head: str, row: Fields) -> None:
        """Add a new record that has its checksum; otherwise as `add`."""
        self._rows[table.name].append(row)
        if not head:
            return
        self._digests.setdefault(head, []).append(row["checksum"])
        if table is sittings:
            self._measured[head] = max(self._measured.get(head, ""), row["begun"])
        elif table is events:
            self._decided.add(head)

    def write(self, connection: Connection) -> None:
        """Write all of it."""
        new = {row["id"]: row for row in self._rows[heads.name]}
        for identity, row in new.items():
            row |= {
                "code": code_of(identity),
                "status": Status.AVAILABLE,
                "measured": self._measured.get(identity, ""),
                "evidence": together(self._digests[identity]),
            }
        for table in EVIDENCE:
            if self._rows[table.name]:
                insert(connection, table, self._rows[table.name])
        self._update(connection, [each for each in self._digests if each not in new])
        self._decide(connection)

    def _update(self, connection: Connection, identities: Sequence[str]) -> None:
        """Bring up to date what follows from the records of heads that were there."""
        known = heads.c.id, heads.c.measured, heads.c.evidence
        changes = []
        for some in chunks(identities):
            asked = select(*known).where(heads.c.id.in_(some)).with_for_update()
            for identity, measured, evidence in connection.execute(asked).all():
                changes.append(
                    {
                        "of": identity,
                        "measured": max(measured, self._measured.get(identity, "")),
                        "evidence": together([evidence or NOTHING, *self._digests[identity]]),
                    }
                )
        if changes:
            change = heads.update().where(heads.c.id == bindparam("of"))
            connection.execute(
                change.values(measured=bindparam("measured"), evidence=bindparam("evidence")),
                changes,
            )

    def _decide(self, connection: Connection) -> None:
        changes = [
            {"of": identity, "now": status_of(taken)}
            for identity, taken in events_of(connection, sorted(self._decided)).items()
        ]
        self.disputed = [str(each["of"]) for each in changes if each["now"] is Status.DISPUTED]
        if changes:
            change = heads.update().where(heads.c.id == bindparam("of"))
            connection.execute(change.values(status=bindparam("now")), changes)


def insert(connection: Connection, table: Table, rows: Sequence[Fields]) -> None:
    """Insert rows that have every column, as quickly as the driver takes them."""
    compiled = table.insert().compile(dialect=connection.dialect)
    names = compiled.positiontup
    if names is None:
        connection.exec_driver_sql(str(compiled), list(rows))
    else:
        values = itemgetter(*names)
        connection.exec_driver_sql(str(compiled), [values(row) for row in rows])


def events_of(connection: Connection, identities: Sequence[str]) -> dict[str, list[Fields]]:
    """Events of heads, by head, oldest first."""
    found: dict[str, list[Fields]] = {identity: [] for identity in identities}
    for some in chunks(identities):
        asked = select(events).where(events.c.head.in_(some)).order_by(events.c.id)
        for row in connection.execute(asked).mappings():
            found[row["head"]].append(dict(row))
    return found


def next_number(connection: Connection, sitting: str) -> int:
    """Give the number of the next reading of a sitting."""
    asked = (
        select(readings.c.number)
        .where(readings.c.sitting == sitting)
        .order_by(readings.c.number.desc())
        .limit(1)
    )
    last = connection.execute(asked).scalar()
    return 0 if last is None else int(last) + 1


def chunks(items: Sequence[str], size: int = AT_ONCE) -> Iterable[Sequence[str]]:
    """Cut a sequence into pieces of a size that a query takes."""
    return (items[start : start + size] for start in range(0, len(items), size))
