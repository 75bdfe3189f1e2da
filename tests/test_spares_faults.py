"""Whatever happens to a bin: one message, exit code 4, and nothing lost that was promised."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import random
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from typing import Final

import pytest
from helpers import cli
from spares_helpers import (
    counts,
    document,
    exported,
    measured,
    open_bin,
    put_heads,
    sheet,
    spares,
)
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import OperationalError
from walk_processes import surroundings

from coilmeter.errors import StoreBusyError, StoreError, StoreMissingError, StoreReadOnlyError
from coilmeter.spares.place import Place, place_of
from coilmeter.spares.store import Bin
from coilmeter.spares.troubles import troubles

HEADS: Final = [measured(f"T-{n:02d}", 170.0 + n, 171.0 + n) for n in range(8)]

LIMITED: Final = """
import resource, sys
# A module compiled here would be cut off by the limit, and read by whoever comes next.
sys.dont_write_bytecode = True
from coilmeter.cli import main
size = int(sys.argv[1])
resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))
sys.exit(main(sys.argv[2:]))
"""
"""Runs the tool where no file may grow beyond a size, as on a full disk."""


def filled(path: Path) -> str:
    """Make a bin of eight heads, and give its place."""
    with open_bin(str(path)) as shelf:
        put_heads(shelf, *HEADS)
    return str(path)


def read_only(store: str) -> Place:
    """Give the place of a bin to which the database itself lets nobody write."""
    if "://" in store:
        url = make_url(store)
        options = f"{url.query['options']} -cdefault_transaction_read_only=on"
        text = url.update_query_dict({"options": options})
        return place_of(text.render_as_string(hide_password=False), Path("x"))
    path = Path(store).absolute()
    url = URL.create("sqlite", database=f"file:{path}", query={"mode": "ro", "uri": "true"})
    return Place(store, url, path, Path("x"))


def test_a_bin_that_can_be_read_only(store: str) -> None:
    """It is read as usual, and what would write to it says why it cannot."""
    with open_bin(store) as shelf:
        put_heads(shelf, HEADS[0])
        before = exported(shelf)
    with Bin(read_only(store)) as shelf:
        with pytest.raises(StoreReadOnlyError, match="can be read only"):
            put_heads(shelf, HEADS[1])
        after = exported(shelf)

    assert before[1:] == after[1:]


def limited(size: int, folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run the tool where no file may grow beyond a size."""
    return subprocess.run(
        [sys.executable, "-c", LIMITED, str(size), *words],
        capture_output=True,
        text=True,
        check=False,
        cwd=folder,
        env=surroundings(folder),
        stdin=subprocess.DEVNULL,
    )


@pytest.mark.skipif(sys.platform == "win32", reason="there is no such limit to set")
def test_a_full_disk_in_the_middle_of_an_import(tmp_path: Path) -> None:
    """Nothing of the import is in the bin, all that was is, and the bin is whole."""
    source, store = filled(tmp_path / "source.sqlite"), str(tmp_path / "bin.sqlite")
    lines = [measured(f"N-{n}", *[200.0] * 4, kind="four-channel-rp") for n in range(300)]
    spares(source, "add", "-", stdin=sheet(*lines).encode())
    with open_bin(source) as shelf:
        (tmp_path / "heads.jsonl").write_bytes(b"".join(exported(shelf)))
    with open_bin(store) as shelf:
        put_heads(shelf, HEADS[0])
        before = counts(shelf)
    size = Path(store).stat().st_size + 100_000

    ran = limited(size, tmp_path, "spares", "import", "heads.jsonl", "--store", store)

    with open_bin(store, create=False) as shelf:
        after = counts(shelf)
    assert 4 == ran.returncode
    assert "nothing was changed in it" in ran.stderr
    assert "Traceback" not in ran.stderr
    assert before == after
    assert [] == document(store, "verify")["findings"]


@pytest.mark.skipif(sys.platform == "win32", reason="there is no such limit to set")
def test_no_room_to_make_a_bin(tmp_path: Path) -> None:
    """Said with exit code 4; with room again the same command runs."""
    (tmp_path / "bench.csv").write_text(sheet(HEADS[0]))
    words = ("spares", "add", "bench.csv", "--store", "bin.sqlite")
    full, enough = (limited(size, tmp_path, *words) for size in (4096, 10_000_000))

    assert (4, 0) == (full.returncode, enough.returncode)
    assert "bin.sqlite: " in full.stderr
    assert "Traceback" not in full.stderr


@pytest.mark.parametrize("seed", range(30))
def test_a_flipped_bit_is_found_or_does_no_harm(tmp_path: Path, seed: int) -> None:
    """Wherever it is: the damage is told with exit code 4, or all evidence is as it was."""
    path = tmp_path / "bin.sqlite"
    store = filled(path)
    with open_bin(store) as shelf:
        good = exported(shelf)
    # In one file, so that nothing of the log can mend it.
    with closing(sqlite3.connect(path)) as plain:
        plain.execute("PRAGMA journal_mode = DELETE")
    data = bytearray(path.read_bytes())
    chance = random.Random(seed)  # noqa: S311 - a place in a file
    used = [at for at, byte in enumerate(data) if byte and at >= 100]
    data[chance.choice(used)] ^= 1 << chance.randrange(8)
    path.write_bytes(data)

    ran = cli("spares", "verify", "--store", store)

    assert "fault of this program" not in ran.err
    if ran.code != 4:
        with open_bin(store) as shelf:
            assert good[1:] == exported(shelf)[1:]


def test_a_file_that_is_cut_short(tmp_path: Path) -> None:
    """Half a bin is damaged, and says what to go on from."""
    path = tmp_path / "bin.sqlite"
    store = filled(path)
    with closing(sqlite3.connect(path)) as plain:
        plain.execute("PRAGMA journal_mode = DELETE")
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 3])

    ran = cli("spares", "list", "--store", store)
    (tmp_path / "bench.csv").write_text(sheet(HEADS[0]))
    added = cli("spares", "add", str(tmp_path / "bench.csv"), "--store", store)

    assert (4, 4) == (ran.code, added.code)
    assert "damaged" in ran.err
    assert "spares backup" in ran.err


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ("UPDATE readings SET reading = '999' WHERE number = 0", "does not fit its checksum"),
        ("UPDATE sittings SET band = 'erase'", "does not fit its checksum"),
        ("UPDATE heads SET name = 'other'", "does not fit its checksum"),
        ("UPDATE heads SET code = 'AAAAAAAA'", "its code is AAAAAAAA"),
        ("UPDATE heads SET status = 'scrapped'", "say otherwise"),
        (
            "UPDATE heads SET measured = '1999-01-01T00:00:00+00:00'",
            "its sittings say otherwise",
        ),
        ("DELETE FROM readings WHERE number = 1", "records are missing, changed"),
        ("UPDATE heads SET evidence = ''", "records are missing, changed"),
        ("UPDATE notes SET text = 'as new'", "does not fit its checksum"),
    ],
)
def test_records_that_somebody_changed(store: str, change: str, expected: str) -> None:
    """Evidence altered behind the program's back is found, on either engine."""
    with open_bin(store) as shelf:
        put_heads(shelf, *HEADS[:2])
    spares(store, "note", "T-00", "worn")
    with open_bin(store) as shelf, shelf.write() as connection:
        connection.exec_driver_sql(change)

    found = document(store, "verify", code=4)["findings"]

    assert any(expected in each["wrong"] for each in found)


def test_a_whole_bin_verifies(store: str) -> None:
    """Nothing is found, and what was looked through is counted."""
    with open_bin(store) as shelf:
        put_heads(shelf, *HEADS)
    found = document(store, "verify")

    assert [] == found["findings"]
    assert (8, 8, 40) == tuple(found["counts"][n] for n in ("heads", "sittings", "readings"))


@pytest.mark.parametrize(
    ("state", "kind", "expected"),
    [
        ("55P03", StoreBusyError, "another bench is writing"),
        ("40001", StoreBusyError, "at the same time"),
        ("23505", StoreBusyError, "the same records"),
        ("25006", StoreReadOnlyError, "can be read only"),
        ("42501", StoreReadOnlyError, "may not write"),
        ("53100", StoreError, "disk of the server is full"),
        ("28P01", StoreError, "does not let this user in"),
        ("3D000", StoreMissingError, "no such database"),
        ("57P01", StoreError, "does not answer"),
        ("XX000", StoreError, "spares verify"),
    ],
)
def test_what_a_server_answers(state: str, kind: type[StoreError], expected: str) -> None:
    """By the codes of SQLSTATE that PostgreSQL documents (appendix A of its manual)."""

    class AnswerError(Exception):
        sqlstate = state

    place = place_of("postgresql://bench@host/parts", Path("x"))
    with pytest.raises(kind) as caught, troubles(place):
        raise OperationalError("SELECT 1", {}, AnswerError("as it says"))

    assert expected in str(caught.value)
    assert "postgresql://bench@host/parts" in str(caught.value)
