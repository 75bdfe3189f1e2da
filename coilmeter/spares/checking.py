"""A head from a file, taken apart into records of the bin, and looked through for sense."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Table

from coilmeter.errors import Mistake, ReadingTextError
from coilmeter.spares.bin_file import OF_HEAD, TIMES, missing, whole
from coilmeter.spares.identity import code_of, shown_code
from coilmeter.spares.records import Fields, checksum, in_utc, together
from coilmeter.spares.rows import check_fields
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

_TABLES: Final = {"impedances": impedances, "notes": notes, "photos": photos, "events": events}


@dataclass(frozen=True, slots=True)
class Checked:
    """Records of one line, each with its table and checksum, in the order they are written.

    `head` is the id of the head they belong to; empty for a proof.
    """

    head: str
    line: int
    records: tuple[tuple[Table, Fields], ...]

    @property
    def is_head(self) -> bool:
        """Whether it is a head, and no proof."""
        return bool(self.head)

    @property
    def ids(self) -> Iterator[str]:
        """Ids of all records that have one."""
        return (record["id"] for _, record in self.records if "id" in record)

    def named(self, table: Table, record: Mapping[str, Any]) -> str:
        """Name a record for a person."""
        what = table.name.removesuffix("s")
        where = f"head {shown_code(code_of(self.head))}" if self.head else "no head"
        which = record.get("id") or f"{record['number']} of sitting {record['sitting']}"
        return f"line {self.line}: {what} {which} ({where}) is another one in the bin"


def check_proof(
    content: Mapping[str, Any], path: str, number: int
) -> tuple[Checked, list[Mistake]]:
    """Make a record of a proof; with every mistake, and no record then."""
    check = _Check(path, number)
    check.record(proofs, content, "proof")
    return Checked("", number, tuple(check.records)), check.mistakes


def check_head(
    content: Mapping[str, Any], path: str, number: int
) -> tuple[Checked, list[Mistake]]:
    """Make records of a head and all that is kept of it; with every mistake."""
    check = _Check(path, number)
    lists = {name: content.get(name, []) for name in ("sittings", *OF_HEAD)}
    plain = {name: value for name, value in content.items() if name not in {*lists, "evidence"}}
    check.record(heads, plain, "head")
    identity = str(content.get("id", ""))
    for index, sitting in enumerate(lists.pop("sittings")):
        check.sitting(sitting, identity, f"head.sittings.{index}")
    for name, entries in lists.items():
        for index, entry in enumerate(entries):
            check.record(_TABLES[name], entry, f"head.{name}.{index}", head=identity)
    evidence = content.get("evidence", "")
    if evidence and not check.mistakes:
        found = together(record["checksum"] for _, record in check.records)
        if found != evidence:
            check.mistake(
                "head.evidence", repr(evidence), f"{found!r}: it was changed after the export"
            )
    return Checked(identity, number, tuple(check.records)), check.mistakes


class _Check:
    """Gathers records and mistakes of one line."""

    def __init__(self, path: str, line: int) -> None:
        self._path = path
        self._line = line
        self.mistakes: list[Mistake] = []
        self.records: list[tuple[Table, Fields]] = []

    def mistake(self, place: str, seen: str, expected: str) -> None:
        """Note a mistake."""
        self.mistakes.append(Mistake(self._path, self._line, place, seen, expected))

    def record(self, table: Table, found: Mapping[str, Any], place: str, **more: str) -> None:
        """Add a record, or note what is wrong with it."""
        before = len(self.mistakes)
        for name in missing(table.name, found):
            self.mistake(f"{place}.{name}", "nothing", "this field, which is required")
        time = TIMES.get(table.name)
        if time and in_utc(found.get(time, "")) != found.get(time, ""):
            expected = "a time such as '2026-03-01T14:05:00.000+00:00'"
            self.mistake(f"{place}.{time}", repr(found[time]), expected)
        if len(self.mistakes) == before:
            self._add(table, whole(table.name, found) | more)

    def sitting(self, found: Mapping[str, Any], head: str, place: str) -> None:
        """Add a sitting and its readings."""
        plain = {name: value for name, value in found.items() if name != "readings"}
        self.record(sittings, plain, place, head=head)
        numbers: set[int] = set()
        for index, entry in enumerate(found.get("readings", [])):
            fields = whole(readings.name, entry)
            fields["sitting"] = found.get("id", "")
            where = f"{place}.readings.{index}"
            before = len(self.mistakes)
            self._reading(entry, fields, where)
            if fields["number"] in numbers:
                self.mistake(f"{where}.number", str(fields["number"]), "each number once")
            numbers.add(fields["number"])
            if len(self.mistakes) == before:
                self._add(readings, fields)

    def _add(self, table: Table, fields: Fields) -> None:
        fields["checksum"] = checksum(table.name, fields)
        self.records.append((table, fields))

    def _reading(self, entry: Mapping[str, Any], fields: Fields, place: str) -> None:
        absent = list(missing(readings.name, entry))
        for name in absent:
            self.mistake(f"{place}.{name}", "nothing", "this field, which is required")
        if absent:
            return
        try:
            check_fields(fields)
        except (ReadingTextError, ValueError) as error:
            seen = getattr(error, "text", "")[:40]
            expected = getattr(error, "expected", str(error))
            self.mistake(place, repr(seen), expected)
