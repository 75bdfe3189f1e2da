"""Files of the bin for tests: a bin with a record of every sort, and changes to its lines."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from typing import Any, Final

from spares_helpers import measured, open_bin, put_heads, spares

from coilmeter.spares.bin_file import DEFAULTS
from coilmeter.spares.identity import new_id
from coilmeter.spares.importing import Imported, import_lines
from coilmeter.spares.noting import keep_impedance, note
from coilmeter.spares.reading import find_head
from coilmeter.spares.schema import proofs, sittings
from coilmeter.spares.store import Bin
from coilmeter.spares.writing import Gathered
from coilmeter.values.bin import ImpedanceOf, Note

HEADS: Final = (measured("T-01", 171.3, None), measured("T-02", 180.0, 181.0))


def read_in(shelf: Bin, lines: Iterable[bytes], **more: Any) -> Imported:
    """Import lines into a bin, in a transaction of their own."""
    with shelf.write() as connection:
        return import_lines(connection, lines, "heads.jsonl", **more)


def full_bin(store: str) -> Bin:
    """Make a bin with a record of every sort."""
    shelf = open_bin(store)
    put_heads(shelf, *HEADS)
    with shelf.write() as connection:
        head = find_head(connection, "T-01")
        note(connection, head, Note("", "", "R7", "polished", "loose", "yes", "no", "blue"))
        found = ImpedanceOf("", "1", "", 10_000.0, 0.1, 0.002, '{"q": 5.8}')
        keep_impedance(connection, head, found)
        gathered = Gathered()
        proof = DEFAULTS["proofs"] | {"id": new_id(), "meter": "m", "document": "{}"}
        gathered.add(proofs, "", dict(proof))
        sitting = DEFAULTS["sittings"] | {
            "id": new_id(),
            "head": head.id,
            "begun": "2026-04-01T00:00:00.000+00:00",
            "proof": proof["id"],
        }
        gathered.add(sittings, head.id, dict(sitting))
        gathered.write(connection)
    spares(store, "use", "T-02", "--why", "left deck")
    spares(store, "restore", "T-02", "--why", "came back")
    return shelf


def changed(lines: list[bytes], change: Callable[[dict[str, Any]], None]) -> list[bytes]:
    """Change the first head of a file, as somebody would who leaves its digest out."""
    place = next(n for n, line in enumerate(lines) if line.startswith(b'{"head"'))
    head = json.loads(lines[place])["head"]
    head.pop("evidence", None)
    change(head)
    return [*lines[:place], json.dumps({"head": head}).encode() + b"\n", *lines[place + 1 :]]


def set_in(*path: Any, value: Any) -> Callable[[dict[str, Any]], None]:
    """Give a change that sets one thing."""

    def change(head: dict[str, Any]) -> None:
        inside: Any = head
        for step in path[:-1]:
            inside = inside[step]
        inside[path[-1]] = value

    return change


READING: Final = ("sittings", 0, "readings", 0)
