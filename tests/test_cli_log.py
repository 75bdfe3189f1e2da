"""`coilmeter log`: real ports and processes, how it ends, and what stays behind."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import csv
import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from helpers import Ran, cli
from walk_processes import LONGEST_S, LineMeter, Process, command, eventually, run, surroundings

from coilmeter.cli.logging_run import LogJob, run_log
from coilmeter.cli.logging_stop import Stopper
from coilmeter.errors import (
    InputError,
    MeterSilentError,
    MeterUnreadableError,
    PortLostError,
    StoreError,
)
from coilmeter.sources import port as port_module
from coilmeter.sources.clock import FastClock
from coilmeter.sources.port import MeterStream
from coilmeter.sources.rawlog import Kind
from coilmeter.sources.rawlog_reader import Happened, LogReader
from coilmeter.sources.rawlog_replay import Replay
from coilmeter.wire import find

PLAIN = find("plain")
DIGITS14 = find("digits14")

Client = socket.socket


@contextmanager
def serving(work: Callable[[Client], None], log: Path) -> Iterator[str]:
    """Serve one client on a loopback socket with a thread; give the address.

    Nothing is sent until the log is there: what came before the port was open is dropped.
    """
    with socket.create_server(("127.0.0.1", 0)) as listener:

        def take() -> None:
            client, _ = listener.accept()
            with client, suppress(OSError):
                with suppress(TimeoutError):
                    eventually(lambda: log.exists() or gone(client), "a log")
                work(client)

        thread = threading.Thread(target=take)
        thread.start()
        yield f"socket://127.0.0.1:{listener.getsockname()[1]}"
        thread.join(LONGEST_S)
    assert not thread.is_alive()


def gone(client: Client) -> bool:
    """Whether a client has hung up."""
    client.settimeout(0.01)
    try:
        return not client.recv(99)
    except TimeoutError:
        return False
    finally:
        client.settimeout(None)


def sends(*pieces: bytes, then: float = 0.0) -> Callable[[Client], None]:
    """Make a meter that sends pieces, a moment between them, then waits and goes away."""

    def work(client: Client) -> None:
        for piece in pieces:
            client.sendall(piece)
            time.sleep(0.03)
        end = time.monotonic() + then
        while time.monotonic() < end:
            client.settimeout(0.05)
            with suppress(TimeoutError):
                if not client.recv(99):
                    return

    return work


def happenings(path: Path) -> list[tuple[Kind, str]]:
    """Tell what the log says beside readings."""
    with LogReader(path) as reader:
        return [
            (event.kind, event.text) for event in reader.events() if isinstance(event, Happened)
        ]


def tally(path: Path) -> Any:
    """Replay a log and give its account."""
    replay = Replay([path])
    for _ in replay.events():
        pass
    return replay.tally


def stream_of(path: Path) -> bytes:
    """Bytes of the meter that are in a log."""
    with LogReader(path) as reader:
        return b"".join(getattr(event, "data", b"") for event in reader.events())


LINES = [f"{171 + number / 10:.1f} ohm auto\r\n".encode() for number in range(8)]


def test_every_byte_with_its_time_and_meaning(tmp_path: Path) -> None:
    """Until the readings asked for are there; the CSV has the same, timed by RFC 3339."""
    log, table = tmp_path / "a.rawlog", tmp_path / "a.csv"
    begun = datetime.now(UTC)
    with LineMeter("171.3 ohm auto").serving() as meter:
        words = f"log --port {meter.url} --format plain --count 7".split()
        ran = cli(*words, "--out", str(log), "--csv", str(table))
    with table.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    times = [datetime.fromisoformat(row["time"]) for row in rows]

    assert 0 == ran.code
    assert "" == ran.out
    assert f"logging plain at {meter.url} to {log}" in ran.err
    assert "7 readings, 1 rejected, 120 bytes in " in ran.err
    assert f"kept in {log}\n" in ran.err
    assert [(Kind.END, "the readings asked for were taken")] == happenings(log)
    assert b"171.3 ohm auto\n" * 8 == stream_of(log)
    assert ["171.3"] * 7 == [row["value"] for row in rows]
    assert all(re.fullmatch(r"2\d{3}-\d\d-\d\dT[\d:]{8}\.\d{3}Z", row["time"]) for row in rows)
    assert sorted(times) == times
    assert timedelta(seconds=-1) < times[0] - begun < timedelta(seconds=30)


def test_exactly_as_many_readings_as_asked_for(tmp_path: Path) -> None:
    """Readings that came in the same piece as the last one are left out of log and count."""
    log = tmp_path / "a.rawlog"
    frame = bytes(DIGITS14.examples[1].raw)
    with serving(sends(frame * 9 + frame[:5], then=1), log) as url:
        code = run_log(LogJob(url, DIGITS14, log, count=4))

    assert 0 == code
    assert frame * 4 == stream_of(log)


def test_ended_after_the_time_asked_for(tmp_path: Path) -> None:
    """With --for it ends by itself; half a frame at the end is kept."""
    log = tmp_path / "a.rawlog"
    with serving(sends(b"".join(LINES), b"172.", then=LONGEST_S), log) as url:
        ran = cli("log", "--port", url, "--format", "plain", "--out", str(log), "--for", "1s")

    assert 0 == ran.code
    assert b"".join(LINES) + b"172." == stream_of(log)
    assert [(Kind.END, "the time asked for was over")] == happenings(log)
    assert len(b"\n172.") == tally(log).unfinished


def test_a_log_without_a_reading_is_not_sound(tmp_path: Path) -> None:
    """Ended in time with nothing in it: 1, so that a script notices."""
    log = tmp_path / "a.rawlog"
    with serving(sends(then=LONGEST_S), log) as url:
        ran = cli("log", "--port", url, "--format", "plain", "--out", str(log), "--for", "1s")

    assert 1 == ran.code
    assert "0 readings, 0 rejected, 0 bytes" in ran.err


def test_the_port_is_lost(tmp_path: Path) -> None:
    """All before it is kept, and the log says where it was lost."""
    log = tmp_path / "a.rawlog"
    with serving(sends(*LINES, b"172."), log) as url:
        ran = cli("log", "--port", url, "--format", "plain", "--out", str(log))
    kinds = [kind for kind, _ in happenings(log)]

    assert 3 == ran.code
    assert "the port is gone" in ran.err
    assert "7 readings arrived before and are kept" in ran.err
    assert f"kept in {log}" in ran.err
    assert b"".join(LINES) + b"172." == stream_of(log)
    assert [Kind.UNPLUGGED, Kind.END] == kinds
    assert 1 == tally(log).gaps


def test_a_silence_is_a_record_and_no_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A meter that falls silent for an hour leaves one record, and the log goes on."""
    log = tmp_path / "a.rawlog"
    frames = [bytes(example.raw) for example in DIGITS14.examples[:3]]

    def work(client: Client) -> None:
        client.sendall(frames[0])
        time.sleep(1.0)
        client.sendall(frames[1])
        time.sleep(1.0)
        client.sendall(frames[2])

    monkeypatch.setattr(port_module, "SILENT_AFTER_S", 5.0)
    with serving(work, log) as url:
        code = run_log(LogJob(url, DIGITS14, log, count=3, clock=FastClock(20.0)))
    found = happenings(log)

    assert 0 == code
    assert [Kind.SILENT, Kind.SILENT, Kind.END] == [kind for kind, _ in found]
    assert "no byte came for" in found[0][1]
    assert b"".join(frames) == stream_of(log)
    assert 2 == capsys.readouterr().err.count("; the log goes on")
    assert 2 == tally(log).gaps


def test_silent_from_the_start(tmp_path: Path) -> None:
    """A meter that never says a thing ends the log with the check list."""
    log = tmp_path / "a.rawlog"
    with (
        serving(sends(then=LONGEST_S), log) as url,
        pytest.raises(MeterSilentError, match="no byte came") as caught,
    ):
        run_log(LogJob(url, DIGITS14, log, clock=FastClock(50.0)))

    assert "go through this list" in caught.value.hint
    assert [Kind.SILENT, Kind.END] == [kind for kind, _ in happenings(log)]
    assert "no byte ever came" == happenings(log)[1][1]


def test_the_wrong_format_keeps_every_byte(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It is said once while it runs and again at the end; the right format replays it."""
    log = tmp_path / "a.rawlog"
    frame = bytes(DIGITS14.examples[1].raw)

    def work(client: Client) -> None:
        while True:
            client.sendall(frame)
            time.sleep(0.005)

    with (
        serving(work, log) as url,
        pytest.raises(MeterUnreadableError, match="is a frame of plain"),
    ):
        run_log(LogJob(url, PLAIN, log, for_s=30.0, clock=FastClock(20.0)))
    again = Replay([log], DIGITS14)
    list(again.events())

    assert 1 == capsys.readouterr().err.count("Every byte is kept: replay it in another format")
    assert again.tally.decoded > 50
    assert 0 == again.tally.rejected


def test_split_by_size(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Each new part is said, and the parts together hold every byte."""
    log = tmp_path / "a.rawlog"
    with serving(sends(*[b"".join(LINES)] * 30, then=LONGEST_S), log) as url:
        code = run_log(LogJob(url, PLAIN, log, count=239, split_at=4096))
    parts = [tmp_path / "a.rawlog"] + [
        tmp_path / f"a-{number}.rawlog"
        for number in range(2, 99)
        if (tmp_path / f"a-{number}.rawlog").exists()
    ]
    said = capsys.readouterr().err

    assert 0 == code
    assert len(parts) > 2
    assert f"the log goes on in {parts[1]}" in said
    assert f"kept in {log} and {len(parts) - 1} more parts" in said
    assert b"".join(LINES * 30)[:-1] == b"".join(map(stream_of, parts))


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


def test_ports_and_options_that_cannot_be(tmp_path: Path) -> None:
    """Nothing is made where the port or an option is wrong."""
    log = ("--out", str(tmp_path / "a.rawlog"))
    port = ("--port", "socket://127.0.0.1:9", "--format", "plain")
    runs = {
        "no port": cli("log", *port, *log),
        "no format": cli("log", "--port", "x", *log),
        "time": cli("log", *port, *log, "--for", "10 bananas"),
        "no time": cli("log", *port, *log, "--for", "0s"),
        "size": cli("log", *port, *log, "--rotate", "10"),
        "small": cli("log", *port, *log, "--rotate", "1kB"),
        "count": cli("log", *port, *log, "--count", "0"),
    }

    assert {
        "no port": 3,
        "no format": 2,
        "time": 2,
        "no time": 2,
        "size": 2,
        "small": 2,
        "count": 2,
    } == {name: ran.code for name, ran in runs.items()}
    assert "--for: saw '10 bananas', expected a span of time such as 90s" in runs["time"].err
    assert "--rotate: saw '1kB', expected a size such as 500kB" in runs["small"].err
    assert [] == list(tmp_path.iterdir())


def test_the_usual_name_and_an_unverified_format(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without --out the name says format and time; an unverified format is told."""
    monkeypatch.chdir(tmp_path)
    frame = bytes(find("segments14").examples[0].raw)
    # Sent for ever: nobody knows beforehand what the log is called.
    with serving(sends(*[frame] * 999), tmp_path) as url:
        ran = cli("log", "--port", url, "--format", "segments14", "--count", "1")
    (log,) = tmp_path.iterdir()

    assert 0 == ran.code
    assert re.fullmatch(r"segments14-\d{8}-\d{6}\.rawlog", log.name)
    assert "! the format segments14 is not verified" in ran.err


def test_control_lines_that_made_it_talk_are_noted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where other control lines than usual had to be tried, the log says which."""
    log = tmp_path / "a.rawlog"
    whole = MeterStream.poll

    def poll(stream: Any, wait_s: float) -> Any:
        items = whole(stream, wait_s)
        if items:
            stream.lines = (False, True)
        return items

    monkeypatch.setattr(MeterStream, "poll", poll)
    with serving(sends(*LINES, then=LONGEST_S), log) as url:
        run_log(LogJob(url, PLAIN, log, count=2))

    assert (Kind.NOTE, "the meter talks with DTR off and RTS on") in happenings(log)


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
        ran = run(tmp_path, "log", "--port", url, "--format", "plain", "--out", "a.rawlog")

    assert 3 == ran.code
    assert "Traceback" not in ran.err
    assert "next: the other side closed the connection" in ran.err


def test_the_wrapped_errors_are_those_of_the_port(tmp_path: Path) -> None:
    """Called as a function, the same errors come out."""
    with serving(sends(LINES[0]), tmp_path / "a.rawlog") as url, pytest.raises(PortLostError):
        run_log(LogJob(url, PLAIN, tmp_path / "a.rawlog"))
    with pytest.raises(InputError):
        run_log(LogJob("", PLAIN, tmp_path / "b.rawlog"))
