"""The whole bin looked through: the file, the references, every checksum, every photo."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Connection, Table, func, select

from coilmeter.errors import StoreError
from coilmeter.spares.identity import code_of, shown_code
from coilmeter.spares.noting import photo_file
from coilmeter.spares.reading import all_heads
from coilmeter.spares.records import NOTHING, checksum, status_of, together
from coilmeter.spares.schema import (
    EVIDENCE,
    OF_HEADS,
    events,
    heads,
    photos,
    proofs,
    readings,
    sittings,
)
from coilmeter.spares.store import Bin
from coilmeter.spares.writing import chunks, events_of

MOST: Final = 200
"""So many findings are told."""


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that is not as it should be: what, where, and what is wrong with it.

    `damage` is False for what is only not here, such as a photo of another bench.
    """

    what: str
    where: str
    wrong: str
    damage: bool = True


@dataclass(frozen=True, slots=True)
class Verified:
    """What was looked through, as numbers by table, and what was found."""

    counts: Mapping[str, int]
    findings: tuple[Finding, ...]

    @property
    def whole(self) -> bool:
        """Whether nothing is damaged."""
        return not any(finding.damage for finding in self.findings)


def verify(shelf: Bin) -> Verified:
    """Look through a bin.

    Raises
    ------
    StoreError
        When it cannot be read at all.

    """
    findings: list[Finding] = []
    counts: dict[str, int] = {}
    with shelf.read() as connection:
        for finding in (
            *_file(connection),
            *_proofs(connection),
            *_heads(connection),
            *_pictures(connection, shelf),
        ):
            findings.append(finding)
            if len(findings) >= MOST:
                break
        for table in EVIDENCE:
            asked = select(func.count()).select_from(table)
            counts[table.name] = int(connection.execute(asked).scalar_one())
    return Verified(counts, tuple(findings))


def _file(connection: Connection) -> Iterator[Finding]:
    """Look through the file's own structure; a server looks after its own."""
    if connection.dialect.name != "sqlite":
        return
    for (said,) in connection.exec_driver_sql("PRAGMA integrity_check").all():
        if said != "ok":
            yield Finding("file", "", str(said))
    for table, row, other, _ in connection.exec_driver_sql("PRAGMA foreign_key_check").all():
        yield Finding("reference", f"{table}, row {row}", f"names no row of {other}")


def _proofs(connection: Connection) -> Iterator[Finding]:
    for row in connection.execute(select(proofs)).mappings():
        yield from _record(proofs, dict(row), "", {})


def _heads(connection: Connection) -> Iterator[Finding]:
    for some in chunks(all_heads(connection)):
        asked = select(heads).where(heads.c.id.in_(some))
        found = {row["id"]: dict(row) for row in connection.execute(asked).mappings()}
        digests: dict[str, list[str]] = {}
        for identity, row in found.items():
            yield from _record(heads, row, identity, digests)
        yield from _of_heads(connection, some, digests)
        happened, begun = events_of(connection, some), _last_begun(connection, some)
        for identity, row in found.items():
            yield from _derived(row, digests[identity], happened.get(identity, []))
            last = begun.get(identity, "")
            if row["measured"] != last:
                wrong = f"measured {row['measured'] or 'never'}, and its sittings say otherwise"
                yield Finding("head", _named(identity).strip(", "), wrong)


def _last_begun(connection: Connection, some: Sequence[str]) -> dict[str, str]:
    """When the last sitting of each head began."""
    asked = (
        select(sittings.c.head, func.max(sittings.c.begun))
        .where(sittings.c.head.in_(some))
        .group_by(sittings.c.head)
    )
    return {head: str(begun) for head, begun in connection.execute(asked)}


def _of_heads(
    connection: Connection, some: Sequence[str], digests: dict[str, list[str]]
) -> Iterator[Finding]:
    """Look through the records of heads, and gather their checksums by head."""
    head_of: dict[str, str] = {}
    for table in OF_HEADS:
        asked = select(table).where(table.c.head.in_(some))
        for row in connection.execute(asked).mappings():
            if table is sittings:
                head_of[row["id"]] = row["head"]
            yield from _record(table, dict(row), row["head"], digests)
    for of in chunks(list(head_of)):
        read = select(readings).where(readings.c.sitting.in_(of))
        for row in connection.execute(read).mappings():
            head = head_of.get(row["sitting"], "")
            yield from _record(readings, dict(row), head, digests)


def _record(
    table: Table, row: Mapping[str, Any], head: str, digests: dict[str, list[str]]
) -> Iterator[Finding]:
    """Compare a record with its checksum, and gather what its content has now."""
    found = checksum(table.name, row)
    digests.setdefault(head, []).append(found)
    if found != row["checksum"]:
        which = row.get("id") or f"{row['number']} of sitting {row['sitting']}"
        yield Finding(
            table.name.removesuffix("s"),
            f"{_named(head)}{which}",
            "its content does not fit its checksum",
        )


def _derived(
    row: Mapping[str, Any], digests: Sequence[str], happened: Sequence[Mapping[str, Any]]
) -> Iterator[Finding]:
    """Look through what follows from the records of a head."""
    where = _named(row["id"]).strip(", ")
    if together(digests) != (row["evidence"] or NOTHING):
        yield Finding("head", where, "records are missing, changed, or too many")
    if row["code"] != code_of(row["id"]):
        yield Finding("head", where, f"its code is {row['code']}")
    if row["status"] != _status(happened):
        yield Finding("head", where, f"is {row['status']}, and its {events.name} say otherwise")


def _status(happened: Sequence[Mapping[str, Any]]) -> str:
    """Give the status that follows from events; empty where one of them is damaged."""
    try:
        return status_of(happened)
    except StoreError:
        return ""


def _pictures(connection: Connection, shelf: Bin) -> Iterator[Finding]:
    for row in connection.execute(select(photos)).mappings():
        path = photo_file(shelf.place.photos, row["sha256"])
        where = f"{_named(row['head'])}{row['name']}"
        try:
            data = path.read_bytes()
        except OSError:
            yield Finding("photo", where, f"is not in {shelf.place.photos}", damage=False)
            continue
        if hashlib.sha256(data).hexdigest() != row["sha256"]:
            yield Finding("photo", where, "the file is not the one that was attached")


def _named(head: str) -> str:
    return f"head {shown_code(code_of(head))}, " if head else ""
