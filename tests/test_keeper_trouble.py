"""Full disks, closed folders and kills: nothing kept is lost, and nothing half is left."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import errno
import os
import random
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import IO, Any, Self

import pytest
from walk_processes import LONGEST_S, surroundings

from coilmeter.errors import StoreError
from coilmeter.sources.keeper import SheetKeeper
from coilmeter.sources.lock import FileLock
from coilmeter.sources.sheet import COLUMNS, read_sheet
from coilmeter.units import parse_reading
from coilmeter.values import Purpose, ReadingRow

HEADER = ",".join(COLUMNS) + "\n"


needs_posix = pytest.mark.skipif(
    os.name != "posix", reason="limits and signals of POSIX systems"
)


def row(coil: str, text: str, **changes: Any) -> ReadingRow:
    """Make a row of a coil."""
    made = ReadingRow("x", 0, "H", parse_reading(text), coil=coil, purpose=Purpose.COIL)
    return replace(made, time="2026-03-01T14:05:00+00:00", **changes)


def kept(keeper: SheetKeeper) -> list[tuple[str, str, str]]:
    """Read the file back: coil, reading, purpose."""
    return [
        (each.coil, each.reading.text, each.purpose or "")
        for each in read_sheet(keeper.path).rows
    ]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Name a file that is not there yet."""
    return tmp_path / "head.csv"


@pytest.fixture
def keeper(path: Path) -> Iterator[SheetKeeper]:
    """Keep one reading in a new file."""
    with SheetKeeper(path) as made:
        made.keep(row("1", "171.3"))
        yield made


class FullError(OSError):
    """No space is left."""

    def __init__(self) -> None:
        super().__init__(errno.ENOSPC, os.strerror(errno.ENOSPC))


class HalfWritten:
    """A file that takes some bytes and then no more."""

    def __init__(self, file: IO[bytes]) -> None:
        self._file = file
        self._calls = 0

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._file, name)

    def write(self, data: bytes) -> int:
        """Take seven bytes, then none."""
        self._calls += 1
        if self._calls > 1:
            raise FullError
        return self._file.write(data[:7])


def test_a_disk_that_fills_in_mid_line(
    keeper: SheetKeeper, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The file is as it was, and the next try goes through."""
    before = keeper.path.read_bytes()
    usual = Path.open
    with monkeypatch.context() as patch:
        patch.setattr(Path, "open", lambda self, *_, **__: HalfWritten(usual(self, "r+b", 0)))
        with pytest.raises(StoreError) as caught:
            keeper.keep(row("2", "172"))
    after = keeper.path.read_bytes()
    keeper.keep(row("2", "172"))

    assert "No space left on device); 1 readings before are in it" in str(caught.value)
    assert "--resume" in str(caught.value)
    assert before == after
    assert [("1", "171.3", "coil"), ("2", "172", "coil")] == kept(keeper)


@pytest.mark.parametrize("coil", ["1", "2"], ids=["replaced", "added"])
def test_a_disk_that_fails_to_flush(
    keeper: SheetKeeper, monkeypatch: pytest.MonkeyPatch, coil: str
) -> None:
    """What is not known to be on disk does not count, and the file is as it was."""

    def full(_: int) -> None:
        raise FullError

    before = keeper.path.read_bytes()
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(StoreError, match="cannot be written"):
        keeper.keep(row(coil, "172"))

    assert before == keeper.path.read_bytes()
    assert {keeper.path, FileLock.beside(keeper.path)} == set(keeper.path.parent.iterdir())
    assert 1 == len(keeper.rows)


def test_a_disk_full_from_the_start(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not even the header could be written: no file is left in the way."""

    def full(_: int) -> None:
        raise FullError

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(StoreError, match="cannot be made"):
        SheetKeeper(path)

    assert [] == list(path.parent.iterdir())


@pytest.mark.parametrize("where", ["open", "read_bytes"])
def test_a_folder_that_may_not_be_written(
    path: Path, monkeypatch: pytest.MonkeyPatch, where: str
) -> None:
    """A refusal of the system is told with its reason."""

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    if where == "read_bytes":
        path.write_text(HEADER)
    monkeypatch.setattr(Path, where, refuse)
    with pytest.raises(StoreError, match="Permission denied"):
        SheetKeeper(path)


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    """A missing folder, and a folder in place of a file, are told."""
    with pytest.raises(StoreError, match="No such file"):
        SheetKeeper(tmp_path / "no" / "head.csv")
    with pytest.raises(StoreError, match="cannot be read back"):
        SheetKeeper(tmp_path)


def test_a_file_taken_away(keeper: SheetKeeper) -> None:
    """A file that is gone in the middle of a walk is told, and not made anew without rows."""
    keeper.path.unlink()
    with pytest.raises(StoreError, match="1 readings before"):
        keeper.keep(row("2", "172"))

    assert not keeper.path.exists()


def unwatched(folder: Path) -> dict[str, str]:
    """Environment for a process that is killed, or may not write: coverage would suffer."""
    variables = surroundings(folder)
    return {name: value for name, value in variables.items() if "COV" not in name}


KEEP_MANY = """
import dataclasses, sys
from pathlib import Path
from coilmeter.sources.keeper import SheetKeeper
from coilmeter.units import parse_reading
from coilmeter.values import Purpose, ReadingRow
keeper = SheetKeeper(Path(sys.argv[1]), resume=True)
number = len(keeper.rows)
while True:
    number += 1
    row = ReadingRow("x", 0, "H", parse_reading(f"{number}"), coil=str(number % 5),
                     purpose=Purpose.COIL)
    keeper.keep(row)
    print(number, flush=True)
"""


@needs_posix
def test_killed_at_any_moment(path: Path, tmp_path: Path) -> None:
    """Killed thirty times, every reading it had said to be kept is in the file."""
    chance = random.Random(11)  # noqa: S311 - moments, no secret
    said: set[int] = set()
    for _ in range(30):
        with subprocess.Popen(
            [sys.executable, "-c", KEEP_MANY, str(path)],
            stdout=subprocess.PIPE,
            env=unwatched(tmp_path),
        ) as process:
            assert process.stdout is not None
            lines = [process.stdout.readline() for _ in range(chance.randrange(1, 6))]
            process.kill()
            lines += process.stdout.readlines()
        said |= {int(line) for line in lines if line.endswith(b"\n")}
        numbers = [int(each.reading.text) for each in SheetKeeper(path, resume=True).rows]

        assert said <= set(numbers)
        assert len(numbers) == len(set(numbers))

    assert len(said) > 30


TOO_LARGE = """
import resource, signal, sys
# A module compiled here would be cut off by the limit, and read by whoever comes next.
sys.dont_write_bytecode = True
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
limit = int(sys.argv[1])
resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
from coilmeter.cli import main
sys.exit(main(sys.argv[2:]))
"""


@needs_posix
@pytest.mark.parametrize("room", [1, 30, 70, 100])
def test_a_full_disk_through_the_command_line(path: Path, tmp_path: Path, room: int) -> None:
    """Exit code 4, every reading taken before is in the file, and --resume goes on."""
    words = ["check", "--kind", "two-channel-rp-no-case", "--lead", "0.2", "--keep", str(path)]
    typed = b"171.3\n172\nOL 40 Mohm\n"
    done = subprocess.run(
        [sys.executable, "-c", TOO_LARGE, str(len(HEADER) + room), *words],
        input=typed,
        capture_output=True,
        env=unwatched(tmp_path),
        timeout=LONGEST_S,
        check=False,
    )
    talk = done.stderr.decode()
    whole = path.read_bytes()
    again = SheetKeeper(path, resume=True)

    assert 4 == done.returncode
    assert "Traceback" not in talk
    assert "File too large" in talk
    assert str(path) in talk
    assert "--resume" in talk
    assert whole.endswith(b"\n")
    assert "" == again.cut
    assert talk.count("taken  ") == len(again.rows)
