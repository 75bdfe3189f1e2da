"""What the tests of the bin share: bins, readings, and a look at them from aside."""

from __future__ import annotations

import json
import secrets
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

from helpers import cli, rows
from sqlalchemy import create_engine, func, select, text
from sqlalchemy.engine import make_url

from coilmeter.spares.adding import Added, Batch, add
from coilmeter.spares.exporting import export_lines
from coilmeter.spares.place import place_of
from coilmeter.spares.schema import EVIDENCE
from coilmeter.spares.store import Bin
from coilmeter.values import ReadingRow

HEADER: Final = "head,kind,coil,reading,range,purpose,time\n"
KIND: Final = "two-channel-rp"


@contextmanager
def schema_on(server: str) -> Iterator[str]:
    """Make a schema of its own on a PostgreSQL server, and give the address of it."""
    name = f"test_{secrets.token_hex(8)}"
    url = make_url(server).set(drivername="postgresql+psycopg")
    engine = create_engine(url)
    try:
        with engine.begin() as connection:
            connection.execute(text(f"CREATE SCHEMA {name}"))
        own = url.set(drivername="postgresql", query={"options": f"-csearch_path={name}"})
        yield own.render_as_string(hide_password=False)
        with engine.begin() as connection:
            connection.execute(text(f"DROP SCHEMA {name} CASCADE"))
    finally:
        engine.dispose()


def open_bin(store: str, *, create: bool = True, patience_s: float = 10.0) -> Bin:
    """Open the bin at a place."""
    return Bin(place_of(store, Path("no-photos")), create=create, patience_s=patience_s)


def measured(
    head: str,
    *ohms: float | None,
    kind: str = KIND,
    day: str = "2026-03-01",
    isolated: bool = True,
) -> str:
    """Write the lines of a head of `kind`: its coils in order, None for OL, then its paths."""
    lines = []
    clock = iter(range(60))

    def line(coil: str, reading: str, range_: str, purpose: str) -> None:
        time = f"{day}T10:{next(clock):02d}:00Z"
        lines.append(f"{head},{kind},{coil},{reading},{range_},{purpose},{time}")

    for number, ohm in enumerate(ohms, 1):
        if ohm is None:
            line(str(number), "OL", "40 Mohm", "coil")
        else:
            line(str(number), f"{ohm:.1f}", "400 ohm", "coil")
    if isolated:
        for number in range(1, len(ohms) + 1):
            line(f"{number}-case", "OL", "40 Mohm", "coil-to-case")
        for number in range(1, len(ohms)):
            line(f"{number}-{number + 1}", "OL", "40 Mohm", "coil-to-coil")
    return "".join(f"{each}\n" for each in lines)


def sheet(*heads: str) -> str:
    """Put the lines of heads together to a readings file."""
    return HEADER + "".join(heads)


def put(shelf: Bin, name: str, taken: Sequence[ReadingRow], **more: Any) -> Added:
    """Add rows of one head to a bin, in a transaction of their own."""
    kind = more.pop("kind", KIND)
    with shelf.write() as connection:
        return add(connection, Batch(name, kind, taken, "bench.csv", **more))


def put_heads(shelf: Bin, *heads: str) -> list[Added]:
    """Add heads, each of the lines that `measured` writes."""
    found = []
    for head in heads:
        taken = rows(sheet(head))
        found.append(put(shelf, taken[0].head, taken, kind=taken[0].kind))
    return found


def counts(shelf: Bin) -> dict[str, int]:
    """Count the records of a bin by table."""
    with shelf.read() as connection:
        return {
            table.name: int(
                connection.execute(select(func.count()).select_from(table)).scalar_one()
            )
            for table in EVIDENCE
        }


def exported(shelf: Bin) -> list[bytes]:
    """Export a whole bin."""
    with shelf.read() as connection:
        return [line.encode() for line in export_lines(connection, shelf.id)]


def spares(store: str, *words: str, stdin: bytes = b"", code: int | None = 0) -> str:
    """Run a command on a bin, check its exit code (None for any), and give its output."""
    ran = cli("spares", *words, "--store", store, stdin=stdin)
    if code is not None and ran.code != code:
        raise AssertionError(f"{words}: exit code {ran.code}, not {code}: {ran.err}{ran.out}")
    return ran.out


def document(store: str, *words: str, code: int | None = 0) -> dict[str, Any]:
    """Run a command on a bin, and give the JSON document that it puts out."""
    return dict(json.loads(spares(store, *words, "--as", "json", code=code)))
