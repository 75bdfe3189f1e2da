"""Readings into the bin: which head they are of, which sitting, and which are new.

Readings that are there already are not added again, so that a readings file can be added
after every stop, and twice; one that was corrected in its file takes the place of the old.
A reading is known by its time; rows without one, as people write them, are taken for known
where a sitting holds all of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import Connection, select

from coilmeter.errors import InputError
from coilmeter.spares.corrected import sort_rows
from coilmeter.spares.identity import code_of, id_of, new_id, shown_code
from coilmeter.spares.known import same_sitting
from coilmeter.spares.reading import heads_called, readings_of, rows_of_heads
from coilmeter.spares.records import LONGEST_DOCUMENT, Fields, in_utc, now, storable
from coilmeter.spares.schema import heads, proofs, readings, sittings
from coilmeter.spares.writing import Gathered, next_number
from coilmeter.values import ReadingRow
from coilmeter.values.bin import BinHead, Status

LONGEST_NAME: Final = 100


@dataclass(frozen=True, slots=True)
class ProofOf:
    """A proof of a meter: which meter, when (RFC 3339), and its document as JSON text."""

    meter: str
    made: str
    document: str

    @property
    def id(self) -> str:
        """Id of it: the same in every bin."""
        made = datetime.fromisoformat(self.made)
        return id_of(int(made.timestamp() * 1000), self.document.encode())


@dataclass(frozen=True, slots=True)
class Batch:
    """Readings of one head from one place.

    Parameters
    ----------
    name, kind
        What the head is called, and its kind; `kind` empty where not known.
    rows
        The readings, in the order they were taken.
    source
        The readings file.
    band
        The band that every coil is judged by, where one was named.
    head, sitting
        Ids, where they are known already.
    proof
        The proof of the meter; None for none.
    new_head, new_sitting
        Whether it is of another head than those of that name, unless one of them holds the
        same readings already; of another sitting than those that hold them.

    """

    name: str
    kind: str
    rows: Sequence[ReadingRow]
    source: str = ""
    band: str = ""
    head: str = ""
    sitting: str = ""
    proof: ProofOf | None = None
    new_head: bool = False
    new_sitting: bool = False


@dataclass(frozen=True, slots=True)
class Added:
    """What became of a batch.

    Parameters
    ----------
    head, code, name
        The head they are kept under.
    sitting
        The sitting they are kept in.
    is_new, again
        Whether the head was not in the bin before; whether it was measured before.
    rows, known
        How many readings were added, and how many were there.
    corrected, older, silent
        How many were added in place of the same ones in other words; how many of those that
        were there stand corrected since, and have more said of them than the file says.
    absent
        How many of their sitting count and are not among the readings that were brought.

    """

    head: str
    code: str
    name: str
    sitting: str
    is_new: bool
    again: bool
    rows: int
    known: int
    corrected: int = 0
    older: int = 0
    silent: int = 0
    absent: int = 0


def add(connection: Connection, batch: Batch) -> Added:
    """Have a batch in the bin, in the transaction of the connection.

    Raises
    ------
    InputError
        When several heads are meant, or a head of that name is of another kind, or a text
        cannot be kept.

    """
    _check(batch)
    head = head_for(connection, batch)
    gathered = Gathered()
    if head is None:
        head = _new_head(batch, gathered)
        return _put(connection, batch, head, gathered, is_new=True)
    return _put(connection, batch, head, gathered, is_new=False)


def head_for(connection: Connection, batch: Batch) -> BinHead | None:
    """Head that a batch is of; None where it is none of the bin.

    Raises
    ------
    InputError
        When several are meant, or the one that is meant is of another kind.

    """
    found = heads_called(connection, batch.head or batch.name)
    # The beginning of a code is a reference for a person who looks at a list, and no name.
    found = [
        each
        for each in found
        if batch.name == each.name
        or batch.head == each.id
        or batch.name.upper().replace("-", "") == each.code
    ]
    fitting = [each for each in found if not batch.kind or each.kind == batch.kind]
    if batch.new_head or len(fitting) > 1:
        # The readings themselves tell which one it is, where they are there already.
        holders = [
            each for each in fitting if same_sitting(batch.rows, _taken(connection, each.id))
        ]
        if len(holders) == 1:
            return holders[0]
    if batch.new_head:
        return None
    if len(fitting) == 1:
        return fitting[0]
    if fitting:
        codes = ", ".join(shown_code(each.code) for each in fitting)
        raise InputError(
            f"{len(fitting)} heads in the bin are called {batch.name!r}: {codes}",
            hint="name the one you mean by its code.",
        )
    if found:
        known = f"{shown_code(found[0].code)} {found[0].kind or 'of no named kind'}"
        raise InputError(
            f"the bin has a head called {batch.name!r} ({known}), and this one is "
            f"{batch.kind or 'of no named kind'}",
            hint="give this one another name, or the kind of the other.",
        )
    return None


def _new_head(batch: Batch, gathered: Gathered) -> BinHead:
    identity = batch.head or new_id()
    fields = {"id": identity, "name": batch.name, "kind": batch.kind, "made": now()}
    gathered.add(heads, identity, fields)
    return BinHead(
        identity,
        code_of(identity),
        batch.name,
        batch.kind,
        fields["made"],
        "",
        Status.AVAILABLE,
        "",
    )


def _put(
    connection: Connection, batch: Batch, head: BinHead, gathered: Gathered, *, is_new: bool
) -> Added:
    taken = {} if is_new else _taken(connection, head.id)
    sitting = batch.sitting
    if not sitting and not batch.new_sitting:
        sitting = same_sitting(batch.rows, taken)
    there = taken.get(sitting, [])
    found = sort_rows(batch.rows, there)
    if not sitting or sitting not in taken:
        sitting = sitting or new_id()
        _add_proof(connection, batch.proof, gathered)
        gathered.add(sittings, head.id, _sitting(batch, head, sitting))
    number = next_number(connection, sitting) if there else 0
    for offset, fields in enumerate(found.fresh):
        whole = fields | {"sitting": sitting, "number": number + offset}
        gathered.add(readings, head.id, whole)
    if found.fresh or is_new:
        gathered.write(connection)
    others = set(taken) - {sitting}
    return Added(
        head=head.id,
        code=head.code,
        name=head.name,
        sitting=sitting,
        is_new=is_new,
        again=bool(others),
        rows=len(found.fresh),
        known=len(batch.rows) - len(found.fresh),
        corrected=found.corrected,
        older=found.older,
        silent=found.silent,
        absent=found.absent,
    )


def _sitting(batch: Batch, head: BinHead, sitting: str) -> Fields:
    times = [time for row in batch.rows if (time := in_utc(row.time))]
    return {
        "id": sitting,
        "head": head.id,
        "begun": min(times, default="") or now(),
        "source": batch.source,
        "band": batch.band,
        "proof": None if batch.proof is None else batch.proof.id,
    }


def _add_proof(connection: Connection, proof: ProofOf | None, gathered: Gathered) -> None:
    """Add a proof of a meter that is not in the bin yet."""
    if proof is None:
        return
    there = select(proofs.c.id).where(proofs.c.id == proof.id)
    if connection.execute(there).first() is not None:
        return
    fields = {
        "id": proof.id,
        "meter": storable(proof.meter, "the meter of the proof"),
        "made": proof.made,
        "document": storable(proof.document, "the proof", LONGEST_DOCUMENT),
    }
    gathered.add(proofs, "", fields)


def _taken(connection: Connection, head: str) -> dict[str, list[Fields]]:
    """Give the readings of a head by sitting."""
    of_head = rows_of_heads(connection, sittings, [head])[head]
    return readings_of(connection, [each["id"] for each in of_head])


def _check(batch: Batch) -> None:
    storable(batch.name, "the name of the head", LONGEST_NAME)
    storable(batch.kind, "the kind of the head", LONGEST_NAME)
    storable(batch.source, "the name of the readings file")
    for row in batch.rows:
        for name in ("coil", "other", "meter", "lead", "temperature", "time", "note"):
            storable(getattr(row, name), f"{row.path}:{row.line}: {name}")
        storable(row.raw, f"{row.path}:{row.line}: raw", LONGEST_DOCUMENT)
