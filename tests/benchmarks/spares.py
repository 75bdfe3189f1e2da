"""The bin with 100 000 heads, 400 000 coils, a million readings, against an empty one.

An empty bin knows no head by name, so that `show` and `find` end early there: they are held
against a bin of that one head as well, which is the harder measure.

Import is held against SQLAlchemy's own bulk insert of the same rows into the same tables.
"""

from __future__ import annotations

import json
import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any, Final

from ratios import medians, report, seconds
from sqlalchemy import select

from coilmeter.spares.checking import check_head
from coilmeter.spares.identity import code_of, new_id
from coilmeter.spares.place import place_of
from coilmeter.spares.records import in_utc
from coilmeter.spares.schema import EVIDENCE, METADATA, bins, heads
from coilmeter.spares.store import Bin

HEADS: Final = int(os.environ.get("BENCHMARK_HEADS", "100000"))
COILS: Final = 4
ROUNDS: Final = 5
BEGIN: Final = 1_770_000_000_000
"""Milliseconds since 1970 at which the first head was measured."""

FAULTY: Final = 0.02
HEAD: Final = "H7777"
"""The head that is shown and replaced."""


def head_line(number: int, chance: random.Random) -> dict[str, Any]:
    """Invent a head with four coils and six paths, one coil in fifty open."""
    at = BEGIN + 60_000 * number
    base = chance.uniform(150, 250)
    stamp = time.strftime("%Y-%m-%dT%H:%M:%S.000+00:00", time.gmtime(at / 1000))
    readings = []
    for coil in range(1, COILS + 1):
        is_open = chance.random() < FAULTY
        value = f"{base * chance.gauss(1, 0.01):.1f} ohm"
        readings.append(
            {
                "coil": str(coil),
                "purpose": "coil",
                "pin_a": str(2 * coil - 1),
                "pin_b": str(2 * coil),
                "reading": "OL 40 Mohm" if is_open else value,
                "range": "40000000.0 ohm" if is_open else "400.0 ohm",
                "raw": "3137312e330d0a" * 5,
                "count": 5,
                "scatter_ohm": 0.05,
            }
        )
    readings += [_path(coil, "case") for coil in range(1, COILS + 1)]
    readings += [_path(1, "2"), _path(3, "4")]
    for place, reading in enumerate(readings):
        reading |= {"number": place, "meter": "handheld-4000", "lead": "nulled"}
        reading |= {"temperature": "21", "time": stamp}
    sitting = {"id": new_id(at), "begun": in_utc(stamp), "readings": readings}
    return {
        "id": new_id(at),
        "name": f"H{number}",
        "kind": "four-channel-rp",
        "made": in_utc(stamp),
        "sittings": [sitting],
    }


def _path(coil: int, other: str) -> dict[str, Any]:
    to_case = other == "case"
    return {
        "coil": str(coil),
        "other": other,
        "purpose": "coil-to-case" if to_case else "coil-to-coil",
        "reading": "OL",
        "range": "40000000.0 ohm",
        "raw": "4f4c0d0a" * 5,
    }


def write_file(path: Path) -> None:
    """Write the bin file."""
    chance = random.Random(5)  # noqa: S311 - invented readings
    with path.open("w", encoding="utf-8") as file:
        file.write('{"schema":"coilmeter-bin/1"}\n')
        for number in range(HEADS):
            file.write(json.dumps({"head": head_line(number, chance)}) + "\n")
        file.write(json.dumps({"end": {"heads": HEADS, "proofs": 0}}) + "\n")


def rows_of(path: Path) -> Iterator[tuple[str, dict[str, Any]]]:
    """Rows of the tables that the import makes of the file."""
    with path.open("rb") as file:
        for data in file:
            line = json.loads(data)
            if "head" not in line:
                continue
            checked, _ = check_head(line["head"], "file", 1)
            for table, row in checked.records:
                if table is heads:
                    row |= {"code": code_of(row["id"]), "status": "available"}
                    row |= {"measured": "", "evidence": ""}
                yield table.name, row


def bulk_insert(folder: Path, rows: dict[str, list[dict[str, Any]]]) -> float:
    """Seconds that SQLAlchemy takes to insert the rows into an empty bin, commit included."""
    place = place_of(str(folder / "bulk.sqlite"), folder)
    with Bin(place, create=True) as shelf:

        def insert() -> None:
            with shelf.write() as connection:
                for table in METADATA.sorted_tables:
                    if rows.get(table.name):
                        connection.execute(table.insert(), rows[table.name])

        taken = seconds(insert)
        with shelf.read() as connection:
            if connection.execute(select(bins.c.id)).first() is None:
                raise RuntimeError("no bin")
    return taken


def command(folder: Path, store: str, *words: str) -> None:
    """Run the tool with its output thrown away; a fault of it must not pass for speed."""
    environment = os.environ | {"COILMETER_STORE": str(folder / store)}
    done = subprocess.run(
        [sys.executable, "-m", "coilmeter", "spares", *words],
        check=False,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env=environment,
    )
    if done.returncode not in ({0, 1, 2} if store == "empty.sqlite" else {0, 1}):
        raise RuntimeError(f"{words}: exit code {done.returncode}")


def main() -> int:
    """Print the ratios; 1 when a limit is missed."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = folder / "heads.jsonl"
        write_file(path)
        rows: dict[str, list[dict[str, Any]]] = {table.name: [] for table in EVIDENCE}
        for table, row in rows_of(path):
            rows[table].append(row)
        count = sum(map(len, rows.values()))
        bulk = bulk_insert(folder, rows)
        rows.clear()
        words = ("import", str(path))
        start = seconds(lambda: command(folder, "empty.sqlite", "import", os.devnull))
        whole = seconds(lambda: command(folder, "full.sqlite", *words)) - start
        print(f"{count} rows: bulk insert {bulk:.1f} s, import {whole:.1f} s")
        kept = report("rate of import / of the bulk insert", bulk / whole, 0.5, at_least=True)
        again = seconds(lambda: command(folder, "full.sqlite", *words)) - start
        print(f"the same file again, nothing new: {again:.1f} s")
        some = seconds(lambda: command(folder, "full.sqlite", "list", "--text", "H77"))
        print(f"first list by text, only those judged: {some:.1f} s")
        first = seconds(lambda: command(folder, "full.sqlite", "list", "--grade", "dead"))
        print(f"first list by grade, all others judged: {first:.1f} s")
        alone = str(folder / "alone.jsonl")
        command(folder, "full.sqlite", "export", HEAD, "--out", alone)
        command(folder, "alone.sqlite", "import", alone)
        for what, asked in (
            ("list, by text and grade", ("list", "--text", "H77", "--grade", "partial")),
            ("list, by grade and age: thousands", ("list", "--grade", "partial")),
            ("show", ("show", HEAD)),
            ("find", ("find", HEAD)),
        ):
            empty, one, full = medians(
                [
                    partial(command, folder, store, *asked)
                    for store in ("empty.sqlite", "alone.sqlite", "full.sqlite")
                ],
                ROUNDS,
            )
            print(
                f"{what}: {empty:.2f} s with none, {one:.2f} s with one, {full:.2f} s with all"
            )
            kept &= report(f"{what} / with an empty bin", full / empty, 3)
            kept &= report(f"{what} / with a bin of one head", full / one, 3)
        judged = seconds(lambda: command(folder, "full.sqlite", "re-judge", "--band", "any"))
        verified = seconds(lambda: command(folder, "full.sqlite", "verify"))
        print(f"re-judge (both rules): {judged:.1f} s; verify: {verified:.1f} s")
    return 0 if kept else 1


if __name__ == "__main__":
    sys.exit(main())
