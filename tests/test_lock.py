"""Two runs and one readings file: the second is refused, whatever became of the first."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import errno
import gc
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from helpers import cli
from walk_processes import command, run, surroundings

from coilmeter.errors import StoreError
from coilmeter.sources import lock
from coilmeter.sources.keeper import SheetKeeper
from coilmeter.sources.lock import FileLock
from coilmeter.sources.sheet import read_sheet
from coilmeter.units import parse_reading
from coilmeter.values import Purpose, ReadingRow

ROW = ReadingRow("x", 0, "H", parse_reading("171"), coil="1", purpose=Purpose.COIL)
CHECK = ["check", "--kind", "one-erase", "--lead", "nulled"]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Name a file that is not there yet."""
    return tmp_path / "head.csv"


@contextmanager
def typing(folder: Path) -> Iterator[subprocess.Popen[bytes]]:
    """Run a check of its own process in a folder, up to its first question."""
    variables = {
        name: value for name, value in surroundings(folder).items() if "COV" not in name
    }
    with subprocess.Popen(
        command(*CHECK),
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        cwd=folder,
        env=variables,
    ) as process:
        assert process.stderr is not None
        said = b""
        while b"reading> " not in said and (byte := process.stderr.read(1)):
            said += byte
        try:
            yield process
        finally:
            process.kill()


@pytest.mark.parametrize("more", [[], ["--resume"]])
def test_a_second_process_is_refused(tmp_path: Path, more: list[str]) -> None:
    """Exit 4, what is the matter and what to do; the first goes on and loses nothing."""
    with typing(tmp_path) as first:
        second = run(tmp_path, *CHECK, *more, stdin=b"9\n")
        _, talk = first.communicate(b"4.7\nOL 40 Mohm\n")

    assert 4 == second.code
    assert "head.csv: another run is writing this file now" in second.err
    assert "--keep" in second.err
    assert "Traceback" not in second.err
    assert "" == second.out
    assert 0 == first.returncode
    assert b"2 readings are kept" in talk
    assert ["4.7", "OL 40 Mohm"] == [
        row.reading.text for row in read_sheet(tmp_path / "head.csv").rows
    ]
    assert ["head.csv"] == [each.name for each in tmp_path.iterdir()]


def test_after_a_kill_the_next_one_goes_on(tmp_path: Path) -> None:
    """The system lets go of what a killed process held; what it left is in no one's way."""
    with typing(tmp_path) as first:
        first.kill()
        first.wait()
    left = {each.name for each in tmp_path.iterdir()}
    then = run(tmp_path, *CHECK, "--resume", stdin=b"4.7\nquit\n")

    assert {"head.csv", ".head.csv.lock"} == left
    assert 1 == then.code
    assert "1 reading is kept in head.csv" in then.err
    assert ["head.csv"] == [each.name for each in tmp_path.iterdir()]


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX systems")
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_after_a_stop_nothing_is_left(tmp_path: Path, number: int) -> None:
    """Told to end, it takes its lock file with it."""
    with typing(tmp_path) as first:
        first.send_signal(number)
        _, talk = first.communicate()

    assert 128 + number == first.returncode
    assert b"No readings were kept" in talk
    assert ["head.csv"] == [each.name for each in tmp_path.iterdir()]


@pytest.mark.parametrize("words", [["--keep", "no/such/folder.csv"], ["--resume"], []])
def test_no_lock_outlives_a_refusal(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: list[str]
) -> None:
    """A run that cannot begin leaves nothing behind."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "head.csv").write_text("some notes\n")
    ran = cli(*CHECK, *words)

    assert 4 == ran.code
    assert ["head.csv"] == [each.name for each in tmp_path.iterdir()]


def test_held_from_the_making_to_the_closing(path: Path) -> None:
    """Within one process it is the same; closed twice is closed."""
    with SheetKeeper(path) as keeper:
        with pytest.raises(StoreError, match="another run is writing"):
            SheetKeeper(path, resume=True)
        during = FileLock.beside(path).exists()
    keeper.close()
    with SheetKeeper(path, resume=True) as other:
        other.keep(ROW)

    assert during
    assert [path] == list(path.parent.iterdir())


def test_a_closed_one_keeps_nothing(path: Path) -> None:
    """The file may be another run's by then."""
    with SheetKeeper(path) as keeper:
        keeper.keep(ROW)
    before = path.read_bytes()
    with pytest.raises(StoreError, match="closed") as caught:
        keeper.keep(ROW)

    assert "resume" in str(caught.value)
    assert before == path.read_bytes()


def test_another_name_is_the_same_file(path: Path, tmp_path: Path) -> None:
    """A link to it, or a way around to it, is refused as well."""
    (tmp_path / "sub").mkdir()
    try:
        (tmp_path / "link.csv").symlink_to(path)
    except OSError:  # pragma: no cover - a system that lets nobody make links
        pytest.skip("no links can be made here")
    with SheetKeeper(path):
        for name in ("link.csv", "sub/../head.csv"):
            with pytest.raises(StoreError, match="another run is writing"):
                SheetKeeper(tmp_path / name, resume=True)


def test_forgotten_is_let_go(path: Path) -> None:
    """A caller that never closes it holds it no longer than it lives, and nothing warns."""
    keeper = SheetKeeper(path)
    keeper.keep(ROW)
    del keeper
    gc.collect()

    assert [path] == list(path.parent.iterdir())


def test_a_file_system_without_locks(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """There it goes without one: readings are worth more than a warning."""

    def refuse(_: int) -> None:
        raise OSError(errno.ENOLCK, os.strerror(errno.ENOLCK))

    monkeypatch.setattr(lock, "_take", refuse)
    with SheetKeeper(path) as keeper:
        keeper.keep(ROW)

    assert 1 == len(read_sheet(path).rows)
    assert [path] == list(path.parent.iterdir())


def test_a_lock_file_that_cannot_be_made(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The reason of the system is told, and no readings file is begun."""

    def refuse(*_: object) -> int:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    with monkeypatch.context() as patch:
        patch.setattr(os, "open", refuse)
        with pytest.raises(StoreError, match=r"cannot be locked .*Permission denied"):
            SheetKeeper(path)

    assert [] == list(path.parent.iterdir())


def test_one_removed_in_the_same_moment_is_made_again(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The lock of a file that nobody can find any more would keep nobody out."""
    usual, taken = lock._take, []

    def take(descriptor: int) -> None:
        usual(descriptor)
        taken.append(descriptor)
        if len(taken) == 1:
            FileLock.beside(path).unlink()
        if len(taken) == 2:
            FileLock.beside(path).unlink()
            FileLock.beside(path).touch()

    monkeypatch.setattr(lock, "_take", take)
    made = FileLock(path)
    with pytest.raises(BlockingIOError):
        FileLock(path)
    made.release()

    assert 3 == len(taken)
    assert [] == list(path.parent.iterdir())


RACE = """
import sys
from pathlib import Path
from coilmeter.sources.lock import FileLock
path, count = Path(sys.argv[1]), Path(sys.argv[1] + ".count")
done = 0
while done < 200:
    try:
        held = FileLock(path)
    except BlockingIOError:
        continue
    number = int(count.read_text() or 0)
    count.write_text(str(number + 1))
    held.release()
    done += 1
"""


def test_many_processes_one_at_a_time(path: Path, tmp_path: Path) -> None:
    """Four of them count in one file, each only while it holds the lock: none is lost."""
    count = Path(f"{path}.count")
    count.write_text("0")
    processes = [
        subprocess.Popen([sys.executable, "-c", RACE, str(path)], env=surroundings(tmp_path))
        for _ in range(4)
    ]
    codes = [process.wait(60) for process in processes]

    assert [0] * 4 == codes
    assert "800" == count.read_text()
    assert [count] == list(tmp_path.iterdir())
