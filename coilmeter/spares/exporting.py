"""Heads of the bin written as JSON lines, to be read by another bin."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from importlib import metadata
from typing import Any, Final

from sqlalchemy import Connection, select

from coilmeter.spares.bin_file import FILE_SCHEMA, OF_HEAD, compact
from coilmeter.spares.reading import readings_of, rows_of_heads
from coilmeter.spares.records import now
from coilmeter.spares.schema import (
    events,
    heads,
    impedances,
    notes,
    photos,
    proofs,
    sittings,
)
from coilmeter.spares.writing import chunks

_TABLES: Final = {"impedances": impedances, "notes": notes, "photos": photos, "events": events}
_encode: Final = json.JSONEncoder(separators=(",", ":"), allow_nan=False).encode


def export_lines(
    connection: Connection, shelf: str, identities: Sequence[str] | None = None
) -> Iterator[str]:
    """Lines of the file, a head a line, in the order of the ids.

    Parameters
    ----------
    connection
        A transaction that reads.
    shelf
        Id of the bin.
    identities
        Ids of the heads to write; None for all of them.

    """
    if identities is None:
        every = select(heads.c.id).order_by(heads.c.id)
        identities = list(connection.execute(every).scalars())
    yield _line(
        {
            "schema": FILE_SCHEMA,
            "bin": shelf,
            "exported": now(),
            "coilmeter": metadata.version("coilmeter"),
        }
    )
    proof_count = 0
    for proof in _proofs(connection, identities):
        proof_count += 1
        yield _line({"proof": proof})
    for some in chunks(sorted(identities)):
        for head in _heads(connection, some):
            yield _line({"head": head})
    yield _line({"end": {"heads": len(identities), "proofs": proof_count}})


def _line(content: dict[str, Any]) -> str:
    return _encode(content) + "\n"


def _proofs(connection: Connection, identities: Sequence[str]) -> Iterator[dict[str, Any]]:
    """Proofs that sittings of these heads name, each once."""
    named: set[str] = set()
    for some in chunks(identities):
        asked = select(sittings.c.proof).where(
            sittings.c.head.in_(some), sittings.c.proof.is_not(None)
        )
        named |= set(connection.execute(asked.distinct()).scalars())
    for some in chunks(sorted(named)):
        asked_for = select(proofs).where(proofs.c.id.in_(some)).order_by(proofs.c.id)
        for row in connection.execute(asked_for).mappings():
            yield compact(proofs.name, dict(row))


def _heads(connection: Connection, identities: Sequence[str]) -> Iterator[dict[str, Any]]:
    asked = select(heads).where(heads.c.id.in_(identities)).order_by(heads.c.id)
    taken = rows_of_heads(connection, sittings, identities)
    read = readings_of(connection, [row["id"] for rows in taken.values() for row in rows])
    others = {name: rows_of_heads(connection, _TABLES[name], identities) for name in OF_HEAD}
    for row in connection.execute(asked).mappings():
        head = compact(heads.name, dict(row))
        head["sittings"] = [
            compact(sittings.name, sitting)
            | {"readings": [compact_reading(each) for each in read[sitting["id"]]]}
            for sitting in taken[row["id"]]
        ]
        for name, by_head in others.items():
            if by_head[row["id"]]:
                head[name] = [compact(name, each) for each in by_head[row["id"]]]
        head["evidence"] = row["evidence"]
        yield head


def compact_reading(fields: dict[str, Any]) -> dict[str, Any]:
    """Fields of a reading as the file has them; its number always stands there."""
    return {"number": fields["number"], **compact("readings", fields)}
