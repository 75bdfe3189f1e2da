"""How a log ends when it is not meant to: full disks, signals, lost ports and screens."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from helpers import Ran, cli
from rawlog_meters import (
    LINES,
    PLAIN,
    sends,
    serving,
    tally,
)
from walk_processes import LONGEST_S, LineMeter, Process, command, run, surroundings

from coilmeter.cli.logging_run import LogJob, run_log
from coilmeter.cli.logging_stop import Stopper
from coilmeter.errors import (
    InputError,
    PortLostError,
    StoreError,
)
from coilmeter.sources.rawlog_file import GrowingFile


def test_no_file_is_written_over(tmp_path: Path) -> None:
    """Neither log nor CSV; and a log that has nothing in it is not left in the way."""
    log, table = tmp_path / "a.rawlog", tmp_path / "a.csv"
    table.write_text("someone's readings\n", encoding="utf-8")
    with (
        serving(sends(then=LONGEST_S), log) as url,
        pytest.raises(StoreError, match="no CSV file"),
    ):
        run_log(LogJob(url, PLAIN, log, table=table))
    log_was_left = log.exists()
    log.write_text("someone's log\n", encoding="utf-8")
    with serving(sends(then=LONGEST_S), log) as url:
        ran = cli("log", "--port", url, "--format", "plain", "--out", str(log))

    assert not log_was_left
    assert 4 == ran.code
    assert "no raw log is ever written over" in ran.err
    assert "someone's log\n" == log.read_text(encoding="utf-8")
    assert "someone's readings\n" == table.read_text(encoding="utf-8")


def test_a_csv_file_that_cannot_even_be_begun(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A disk that is full from the start: told, and no log is left in the way."""
    log, whole = tmp_path / "a.rawlog", GrowingFile.append

    def append(file: GrowingFile, data: bytes) -> None:
        if file.path.suffix == ".csv":
            raise StoreError("the disk is full")
        whole(file, data)

    monkeypatch.setattr(GrowingFile, "append", append)
    with serving(sends(then=LONGEST_S), log) as url, pytest.raises(StoreError, match="full"):
        run_log(LogJob(url, PLAIN, log, table=tmp_path / "a.csv"))

    assert not log.exists()


def test_ctrl_c_says_where_the_log_is(tmp_path: Path) -> None:
    """Stopped by hand: 130, all kept, the end written."""
    with LineMeter("171.3 ohm auto").serving() as meter:
        words = f"log --port {meter.url} --format plain --out a.rawlog".split()
        process = Process(tmp_path, *words)
        process.wait_for(" rejected  ")
        process.interrupt()
        ran = process.end()
    log = tmp_path / "a.rawlog"
    readings = re.search(r"(\d+) readings, 1 rejected, \d+ bytes in .*: kept in a", ran.err)

    assert 130 == ran.code
    assert readings is not None
    assert int(readings[1]) == tally(log).decoded
    assert f"stopped by signal {signal.SIGINT}" == tally(log).ended


@pytest.mark.skipif(os.name != "posix", reason="signals of this kind are not on this system")
def test_told_to_end_by_the_system(tmp_path: Path) -> None:
    """SIGTERM closes the log as Ctrl-C does, with the exit code that shells know."""
    with LineMeter("171.3 ohm auto").serving() as meter:
        words = f"log --port {meter.url} --format plain --out a.rawlog".split()
        process = Process(tmp_path, *words)
        process.wait_for(" rejected  ")
        process.process.send_signal(signal.SIGTERM)
        ran = process.end()

    assert 143 == ran.code
    assert "kept in a.rawlog" in ran.err
    assert f"stopped by signal {signal.SIGTERM}" == tally(tmp_path / "a.rawlog").ended


FULL_DISK = """
import resource, signal, sys
# A module compiled here would be cut off by the limit, and read by whoever comes next.
sys.dont_write_bytecode = True
from coilmeter.cli import main
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
resource.setrlimit(resource.RLIMIT_FSIZE, (3000, hard))
code = main(sys.argv[1:])
resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
sys.exit(code)
"""


@pytest.mark.skipif(os.name != "posix", reason="limits of this kind are not on this system")
@pytest.mark.parametrize("full", ["log", "csv"])
def test_a_full_disk(tmp_path: Path, full: str) -> None:
    """A file that can grow no further: 4, and every record before it is read."""
    log = tmp_path / "a.rawlog"
    # The line decides which of the two files is full first.
    line = "171.3 ohm auto" if full == "log" else "171.3 ohm auto hold rel lowbat max min"
    more = [] if full == "log" else ["--csv", "a.csv"]
    with LineMeter(line, rate_hz=200.0).serving() as meter:
        words = ["log", "--port", meter.url, "--format", "plain", "--out", "a.rawlog", *more]
        done = subprocess.run(
            [sys.executable, "-c", FULL_DISK, *words],
            stdin=subprocess.DEVNULL,
            capture_output=True,
            cwd=tmp_path,
            env=surroundings(tmp_path),
            timeout=LONGEST_S,
            check=False,
        )
    ran = Ran(done.returncode, done.stdout.decode(), done.stderr.decode())
    found = tally(log)

    assert 4 == ran.code
    assert "cannot be written any further (File too large)" in ran.err
    assert "lines before are in it" in ran.err
    assert found.decoded > 10
    assert 0 == found.damages
    assert b"" == found.cut
    assert "Traceback" not in ran.err


def test_a_reader_of_the_talk_that_goes_away(tmp_path: Path) -> None:
    """A log is not ended by a closed screen."""
    log = tmp_path / "a.rawlog"
    with LineMeter("171.3 ohm auto").serving() as meter:
        process = subprocess.Popen(
            command("log", *f"--port {meter.url} --format plain --out {log} --for 3s".split()),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            cwd=tmp_path,
            env=surroundings(tmp_path),
        )
        assert process.stderr is not None
        process.stderr.readline()
        process.stderr.close()
        process.wait(LONGEST_S)

    assert "the time asked for was over" == tally(log).ended
    assert tally(log).lasted_s >= 3


def test_signals_outside_of_the_main_thread() -> None:
    """Where no signal can come, none is waited for."""
    seen: list[int | None] = []

    def work() -> None:
        with Stopper() as stopper:
            seen.append(stopper.signal)

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()

    assert [None] == seen


def test_what_was_ignored_stays_ignored() -> None:
    """A shell has Ctrl-C ignored by what runs in its background."""
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        with Stopper() as stopper:
            signal.raise_signal(signal.SIGINT)
            signal.raise_signal(signal.SIGTERM)
            signal.raise_signal(signal.SIGTERM)
            first = stopper.signal
    finally:
        signal.signal(signal.SIGINT, before)

    assert signal.SIGTERM == first


def test_the_console_says_what_a_port_error_says(tmp_path: Path) -> None:
    """As a process: no traceback, the message of the port, and a record of it."""
    with serving(sends(*LINES), tmp_path / "a.rawlog") as url:
        words = f"log --port {url} --format plain --out a.rawlog --wait 0s".split()
        ran = run(tmp_path, *words)

    assert 3 == ran.code
    assert "Traceback" not in ran.err
    assert "next: the other side closed the connection" in ran.err


def test_the_wrapped_errors_are_those_of_the_port(tmp_path: Path) -> None:
    """Called as a function, the same errors come out."""
    with serving(sends(LINES[0]), tmp_path / "a.rawlog") as url, pytest.raises(PortLostError):
        run_log(LogJob(url, PLAIN, tmp_path / "a.rawlog"))
    with pytest.raises(InputError):
        run_log(LogJob("", PLAIN, tmp_path / "b.rawlog"))
