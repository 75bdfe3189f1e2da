"""Heads used, scrapped and restored: each time a record with its reason, never a removal."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection

from coilmeter.errors import InputError
from coilmeter.spares.identity import new_id, shown_code
from coilmeter.spares.records import last_words, now, status_of, storable
from coilmeter.spares.schema import events
from coilmeter.spares.writing import Gathered, events_of
from coilmeter.values.bin import BinHead, Status


def decide(
    connection: Connection, chosen: Sequence[BinHead], status: Status, reason: str
) -> None:
    """Give heads a status, in the transaction of the connection.

    Whatever was decided before stays on record; where two benches had decided differently,
    this settles it.

    Raises
    ------
    InputError
        When a head has that status already, or the reason cannot be kept; then none is
        changed.

    """
    storable(reason, "the reason")
    taken = events_of(connection, [head.id for head in chosen])
    gathered = Gathered()
    for head in chosen:
        before = taken[head.id]
        if status_of(before) is status:
            since = f" since {before[-1]['time']} ({before[-1]['reason']})" if before else ""
            raise InputError(
                f"head {shown_code(head.code)} is {status} already{since}; nothing was changed",
                hint="'spares show' tells what became of it.",
            )
        gathered.add(
            events,
            head.id,
            {
                "id": new_id(),
                "head": head.id,
                "time": now(),
                "status": str(status),
                "reason": reason,
                "after": " ".join(last_words(before)),
            },
        )
    gathered.write(connection)
