"""Heads from another bin's file: new records added, known ones left, conflicts named.

All of a file goes in, in one transaction, or nothing of it.  A record that is there already
with the same content is known, so that a file can be read in twice.  One with the same id and
another content is a conflict: nothing is chosen silently.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from sqlalchemy import Connection, Table, select

from coilmeter.errors import InputError, Mistake, MistakesError
from coilmeter.spares.bin_file import FILE_SCHEMA, line_of
from coilmeter.spares.checking import Checked, check_head, check_proof
from coilmeter.spares.identity import code_of, shown_code
from coilmeter.spares.schema import EVIDENCE, heads, photos, proofs, readings, sittings
from coilmeter.spares.writing import Gathered, chunks

MOST_MISTAKES: Final = 1000
LONGEST_LINE: Final = 64_000_000
_AT_ONCE: Final = 500
UNDONE: Final = "nothing was imported"
_AGAIN: Final = "export it again, or correct the file."
_PROOF: Final = "one that a line before has, or the bin"


@dataclass
class Imported:
    """What came of an import.

    Parameters
    ----------
    heads, new_heads
        Heads in the file, and those of them that were not in the bin.
    added, known
        Records that were added, and that were there.
    conflicts
        Records of which the bin keeps its own, each in words.
    disputed
        Heads that two benches decided differently about, as codes.
    photos
        Digests of the photos that were added; their files come by another way.

    """

    heads: int = 0
    new_heads: int = 0
    added: int = 0
    known: int = 0
    conflicts: list[str] = field(default_factory=list)
    disputed: list[str] = field(default_factory=list)
    photos: list[str] = field(default_factory=list)


def import_lines(
    connection: Connection, lines: Iterable[bytes], path: str, *, keep_mine: bool = False
) -> Imported:
    """Read a file into the bin, in the transaction of the connection.

    Parameters
    ----------
    connection
        A transaction that writes.
    lines
        The file's lines.
    path
        Its name, for messages.
    keep_mine
        Whether conflicts are settled by keeping what the bin has.

    Raises
    ------
    MistakesError
        With every mistake of the file; then nothing may be committed.
    InputError
        When it is no such file, or there are conflicts.

    """
    found = Imported()
    reader = _Reader(path)
    batch: list[Checked] = []
    for checked in reader.read(lines):
        batch.append(checked)
        if len(batch) == _AT_ONCE:
            _merge(connection, batch, found, path)
            batch = []
    if reader.mistakes:
        raise MistakesError(reader.mistakes, hint=_AGAIN, undone=UNDONE)
    _merge(connection, batch, found, path)
    if found.conflicts and not keep_mine:
        shown = found.conflicts[: MistakesError.SHOWN]
        more = len(found.conflicts) - len(shown)
        raise InputError(
            "\n".join(
                [
                    *(f"{path}: {each}" for each in shown),
                    *([f"... and {more} more"] if more else []),
                    f"{len(found.conflicts)} in conflict with the bin; {UNDONE}.",
                ]
            ),
            hint="find out which is right; --keep-mine imports all else and leaves these as "
            "the bin has them.",
        )
    return found


class _Reader:
    """Reads the lines of a file one after the other, and gathers every mistake."""

    def __init__(self, path: str) -> None:
        self.path = path
        self.mistakes: list[Mistake] = []
        self._seen: dict[str, int] = {}
        self._counts = {"head": 0, "proof": 0}
        self._ended = False

    def read(self, lines: Iterable[bytes]) -> Iterator[Checked]:
        """Give heads and proofs in the order of the file, up to too many mistakes."""
        number, begun = 0, False
        for number, data in enumerate(lines, 1):
            if len(data) > LONGEST_LINE:
                self._mistake(number, "line", "a line without an end", "one head a line")
                return
            if not data.strip():
                continue
            line, mistakes = line_of(data, self.path, number)
            if not begun:
                self._begin(line)
                begun = True
                continue
            self.mistakes += mistakes
            if len(self.mistakes) > MOST_MISTAKES:
                return
            if line and (checked := self._checked(line, number)) is not None:
                yield checked
        if not begun:
            raise InputError(
                f"{self.path}: there is nothing in it",
                hint="'spares export' writes such a file.",
            )
        if not self._ended and not self.mistakes:
            self._mistake(number, "line", "the end of the file", 'a line that begins {"end":')

    def _begin(self, line: Mapping[str, Any]) -> None:
        schema = line.get("schema")
        if schema == FILE_SCHEMA:
            return
        seen = f"schema {schema!r}" if schema else "no schema"
        newer = bool(schema) and str(schema).startswith(FILE_SCHEMA.partition("/")[0])
        raise InputError(
            f"{self.path}:1: saw {seen} in the first line, expected {FILE_SCHEMA!r}; {UNDONE}",
            hint="it was written by a newer coilmeter: bring this one up to date."
            if newer
            else "give a file that 'spares export' has written; readings files go in with "
            "'spares add'.",
        )

    def _checked(self, line: Mapping[str, Any], number: int) -> Checked | None:
        if self._ended or len(line) != 1 or next(iter(line)) not in {"head", "proof", "end"}:
            self._mistake(
                number, "line", f"{sorted(line)}", "one of head, proof and, last, end"
            )
            return None
        what, content = next(iter(line.items()))
        if what == "end":
            self._end(content, number)
            return None
        self._counts[what] += 1
        check = check_head if what == "head" else check_proof
        checked, mistakes = check(content, self.path, number)
        self.mistakes += mistakes
        for identity in checked.ids:
            first = self._seen.setdefault(identity, number)
            if first != number:
                self._mistake(number, "id", identity, f"each id once (line {first} has it)")
        return None if self.mistakes else checked

    def _end(self, content: Mapping[str, Any], number: int) -> None:
        self._ended = True
        if self.mistakes:
            return
        for name, count in (("heads", self._counts["head"]), ("proofs", self._counts["proof"])):
            if content.get(name) != count:
                seen = f"{count} {name} before it"
                self._mistake(number, f"end.{name}", seen, f"{content.get(name)}")

    def _mistake(self, number: int, place: str, seen: str, expected: str) -> None:
        self.mistakes.append(Mistake(self.path, number, place, seen, expected))


def _merge(
    connection: Connection, batch: Sequence[Checked], found: Imported, path: str
) -> None:
    """Add what is new of some heads and proofs."""
    _check_proofs(connection, batch, path)
    there = _there(connection, batch)
    gathered = Gathered()
    for checked in batch:
        conflicts = list(_sort_out(checked, there, gathered, found))
        found.conflicts += conflicts
        found.heads += checked.is_head
    gathered.write(connection)
    found.disputed += [shown_code(code_of(identity)) for identity in gathered.disputed]


def _there(connection: Connection, batch: Sequence[Checked]) -> dict[tuple[object, ...], str]:
    """Checksums of the records of these that are in the bin, by table and id."""
    found: dict[tuple[object, ...], str] = {}
    for table in EVIDENCE:
        if table is readings:
            continue
        named = [
            record["id"] for checked in batch for of, record in checked.records if of is table
        ]
        found |= _checksums(connection, table, named)
    old = [key[1] for key in found if key[0] == sittings.name]
    for some in chunks([str(identity) for identity in old]):
        asked = select(readings.c.sitting, readings.c.number, readings.c.checksum)
        for sitting, number, digest in connection.execute(
            asked.where(readings.c.sitting.in_(some))
        ):
            found[readings.name, sitting, number] = digest
    return found


def _checksums(
    connection: Connection, table: Table, identities: Sequence[str]
) -> dict[tuple[object, ...], str]:
    found: dict[tuple[object, ...], str] = {}
    for some in chunks(identities):
        asked = select(table.c.id, table.c.checksum).where(table.c.id.in_(some))
        found |= {(table.name, each): digest for each, digest in connection.execute(asked)}
    return found


def _sort_out(
    checked: Checked,
    there: Mapping[tuple[object, ...], str],
    gathered: Gathered,
    found: Imported,
) -> Iterator[str]:
    """Gather what is new of a head or proof, and name what is in conflict."""
    left: set[str] = set()
    for table, record in checked.records:
        key = _key(table, record)
        known = there.get(key)
        if known == record["checksum"]:
            found.known += 1
        elif known is not None:
            yield checked.named(table, record)
            left.add(str(record.get("id", "")))
        elif record.get("sitting", "") not in left:
            gathered.take(table, checked.head, record)
            found.added += 1
            found.new_heads += table is heads
            if table is photos:
                found.photos.append(str(record["sha256"]))


def _check_proofs(connection: Connection, batch: Sequence[Checked], path: str) -> None:
    """Refuse a sitting whose proof is neither in the bin nor in the file before it."""
    named = {
        str(record["proof"]): checked.line
        for checked in batch
        for table, record in checked.records
        if table is sittings and record["proof"]
    }
    brought = {
        record["id"] for checked in batch for of, record in checked.records if of is proofs
    }
    there = _checksums(connection, proofs, sorted(set(named) - brought))
    for identity, line in named.items():
        if identity not in brought and (proofs.name, identity) not in there:
            mistake = Mistake(path, line, "head.sittings", f"the proof {identity}", _PROOF)
            raise MistakesError([mistake], hint=_AGAIN, undone=UNDONE)


def _key(table: Table, record: Mapping[str, Any]) -> tuple[object, ...]:
    if table is readings:
        return (readings.name, record["sitting"], record["number"])
    return (table.name, record["id"])
