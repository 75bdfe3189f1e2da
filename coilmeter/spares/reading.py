"""What the bin keeps, read back: heads by what a person calls them, with their records."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Final, TypeVar

from sqlalchemy import Connection, Table, or_, select

from coilmeter.compute.standing import taken_again
from coilmeter.errors import InputError, StoreError
from coilmeter.spares.identity import CODE_LENGTH, ID_LENGTH, as_code, shown_code
from coilmeter.spares.records import Fields, status_in
from coilmeter.spares.rows import row_of
from coilmeter.spares.schema import (
    events,
    heads,
    impedances,
    notes,
    photos,
    proofs,
    readings,
    sittings,
)
from coilmeter.spares.writing import chunks
from coilmeter.values import ReadingRow
from coilmeter.values.bin import (
    BinHead,
    HeadRecord,
    ImpedanceOf,
    Note,
    PhotoOf,
    Sitting,
    StatusEvent,
)

_SHOWN: Final = 8
_PLAIN: Final = ("id", "code", "name", "kind", "made", "measured", "status", "evidence")
_RecordT = TypeVar("_RecordT")


def find_head(connection: Connection, text: str) -> BinHead:
    """Find the head that a person means: by its code or the beginning of it, id, or name.

    Raises
    ------
    InputError
        When there is none, or several.

    """
    found = heads_called(connection, text)
    if not found:
        raise InputError(
            f"no head in the bin is {text[:60]!r}",
            hint="give its code, four characters of it at least, or its name; 'spares list' "
            "shows them.",
        )
    if len(found) > 1:
        raise InputError(
            f"{len(found)} heads in the bin are {text[:60]!r}: {_named(found)}",
            hint="give the whole code of the one you mean.",
        )
    return found[0]


def find_heads(connection: Connection, texts: Iterable[str]) -> list[BinHead]:
    """Find several heads, each once; raises as `find_head` does."""
    found = {head.id: head for head in (find_head(connection, text) for text in texts)}
    return list(found.values())


def heads_called(connection: Connection, text: str) -> list[BinHead]:
    """Heads that a text names, none or one or several."""
    code = as_code(text)
    fits = [heads.c.name == text] if "\0" not in text else []
    if len(code) == ID_LENGTH:
        fits.append(heads.c.id == code)
    elif len(code) == CODE_LENGTH:
        fits.append(heads.c.code == code)
    found = _heads(connection, or_(*fits)) if fits else []
    if not found and code and len(code) < CODE_LENGTH:
        # A range rather than a pattern, so that the index serves.
        within = heads.c.code.between(code, code + "Z" * (CODE_LENGTH - len(code)))
        found = _heads(connection, within)
    return found


def all_heads(connection: Connection) -> list[str]:
    """Ids of all heads, oldest first."""
    return list(connection.execute(select(heads.c.id).order_by(heads.c.id)).scalars())


def heads_of(connection: Connection, identities: Sequence[str]) -> dict[str, BinHead]:
    """Heads by id."""
    found: dict[str, BinHead] = {}
    for some in chunks(identities):
        found |= {head.id: head for head in _heads(connection, heads.c.id.in_(some))}
    return found


def records_of(connection: Connection, identities: Sequence[str]) -> Iterator[HeadRecord]:
    """Everything that is kept of heads, in the order of their ids as given."""
    for some in chunks(identities):
        of_heads = heads_of(connection, some)
        taken = sittings_of(connection, of_heads)
        measured = rows_of_heads(connection, impedances, some)
        noted = rows_of_heads(connection, notes, some)
        pictured = rows_of_heads(connection, photos, some)
        happened = rows_of_heads(connection, events, some)
        for identity in some:
            if identity in of_heads:
                yield HeadRecord(
                    of_heads[identity],
                    tuple(taken[identity]),
                    tuple(impedance_of(row) for row in measured[identity]),
                    tuple(_made(Note, row) for row in noted[identity]),
                    tuple(_made(PhotoOf, row) for row in pictured[identity]),
                    tuple(map(_event, happened[identity])),
                )


def sittings_of(
    connection: Connection, of_heads: Mapping[str, BinHead]
) -> dict[str, list[Sitting]]:
    """Sittings of heads with their readings, by head, oldest first.

    The path of a row names head and sitting, and is the same for no two sittings.

    Raises
    ------
    StoreError
        When a reading stands there that no reading can be.

    """
    found: dict[str, list[Sitting]] = {identity: [] for identity in of_heads}
    identities = list(of_heads)
    for some in chunks(identities):
        asked = (
            select(sittings, proofs.c.document)
            .outerjoin(proofs, proofs.c.id == sittings.c.proof)
            .where(sittings.c.head.in_(some))
            .order_by(sittings.c.begun, sittings.c.id)
        )
        taken = [dict(row) for row in connection.execute(asked).mappings()]
        rows = readings_of(connection, [row["id"] for row in taken])
        for sitting in taken:
            head = of_heads[sitting["head"]]
            found[head.id].append(
                Sitting(
                    id=sitting["id"],
                    begun=sitting["begun"],
                    source=sitting["source"],
                    band=sitting["band"],
                    proof=sitting["document"] or "",
                    rows=tuple(_rows(head, sitting, rows[sitting["id"]])),
                )
            )
    return found


def readings_of(connection: Connection, of: Sequence[str]) -> dict[str, list[Fields]]:
    """Give readings of sittings as records, by sitting, in order."""
    found: dict[str, list[Fields]] = {sitting: [] for sitting in of}
    for some in chunks(of):
        asked = (
            select(readings)
            .where(readings.c.sitting.in_(some))
            .order_by(readings.c.sitting, readings.c.number)
        )
        for row in connection.execute(asked).mappings():
            found[row["sitting"]].append(dict(row))
    return found


def rows_of_heads(
    connection: Connection, table: Table, identities: Sequence[str]
) -> dict[str, list[Fields]]:
    """Give the records of one table, by head, oldest first."""
    found: dict[str, list[Fields]] = {identity: [] for identity in identities}
    for some in chunks(identities):
        asked = select(table).where(table.c.head.in_(some)).order_by(table.c.id)
        for row in connection.execute(asked).mappings():
            found[row["head"]].append(dict(row))
    return found


def impedances_of(
    connection: Connection, identities: Sequence[str]
) -> dict[str, list[ImpedanceOf]]:
    """Give the inductances of heads, by head, oldest first."""
    found = rows_of_heads(connection, impedances, identities)
    return {head: [impedance_of(row) for row in rows] for head, rows in found.items()}


def impedance_of(row: Fields) -> ImpedanceOf:
    """Impedance of a record."""
    return _made(ImpedanceOf, row)


def _rows(
    head: BinHead, sitting: Mapping[str, Any], records: Sequence[Fields]
) -> Iterator[ReadingRow]:
    path = path_of(head.id, sitting["id"])
    replaced = {number for record in records for number in record["instead"].split()}
    for record in records:
        try:
            row = row_of(record, path=path, head=head.id, kind=head.kind)
            yield taken_again(row) if str(record["number"]) in replaced else row
        except (InputError, ValueError) as error:
            raise StoreError(
                f"head {shown_code(head.code)}: reading {record['number']} of the sitting of "
                f"{sitting['begun']} cannot be understood ({error})",
                hint="run 'spares verify': the bin may be damaged.",
            ) from error


def path_of(head: str, sitting: str) -> str:
    """Path of the rows of a sitting."""
    return f"{head}/{sitting}"


def _heads(connection: Connection, where: Any) -> list[BinHead]:
    columns = [heads.c[name] for name in _PLAIN]
    asked = select(*columns).where(where).order_by(heads.c.id)
    return [
        BinHead(**dict(row) | {"status": status_in(row["status"])})
        for row in connection.execute(asked).mappings()
    ]


def _named(found: Sequence[BinHead]) -> str:
    told = [
        f"{shown_code(head.code)} ({', '.join(filter(None, (head.name, head.kind)))})"
        for head in found[:_SHOWN]
    ]
    return ", ".join([*told, *(["..."] if len(found) > _SHOWN else [])])


def _made(kind: type[_RecordT], row: Fields) -> _RecordT:
    return kind(**{name: row[name] for name in kind.__dataclass_fields__})  # type: ignore[attr-defined]


def _event(row: Fields) -> StatusEvent:
    return StatusEvent(
        row["id"],
        row["time"],
        status_in(row["status"]),
        row["reason"],
        tuple(row["after"].split()),
    )
