"""`coilmeter log`: real ports and processes, how it ends, and what stays behind."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import csv
import re
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from helpers import cli
from rawlog_meters import (
    DIGITS14,
    LINES,
    PLAIN,
    Client,
    happenings,
    sends,
    serving,
    stream_of,
    tally,
)
from walk_processes import LONGEST_S, LineMeter

from coilmeter.cli.logging_run import LogJob, run_log
from coilmeter.errors import (
    MeterSilentError,
    MeterUnreadableError,
)
from coilmeter.sources import port as port_module
from coilmeter.sources.clock import FastClock
from coilmeter.sources.port import MeterStream
from coilmeter.sources.rawlog import Kind
from coilmeter.sources.rawlog_replay import Replay
from coilmeter.wire import find
from coilmeter.wire.contract import Display


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
        words = ("log", "--port", url, "--format", "plain", "--out", str(log))
        ran = cli(*words, "--wait", "0s")
    kinds = [kind for kind, _ in happenings(log)]

    assert 3 == ran.code
    assert "the port is gone" in ran.err
    assert "7 readings arrived before" in ran.err
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
    said = capsys.readouterr().err
    assert 2 == said.count("! nothing comes from the meter: asleep")
    assert 2 == said.count("the meter talks again")
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


def test_ports_and_options_that_cannot_be(tmp_path: Path) -> None:
    """Nothing is made where the port or an option is wrong.

    Without a format the port is listened to first: one that is not there is told as such.
    """
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
        "no format": 3,
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


def test_readings_of_other_displays_are_counted(tmp_path: Path) -> None:
    """They are in the log, and said at the end; the CSV and the count have none of them."""
    log, stx16 = tmp_path / "a.rawlog", find("stx16")
    frame = stx16.encode(Display(171.3, 0.1, 400.0))
    second_display = b"\x0242380100000001\r"
    with serving(sends(second_display, frame, second_display, frame), log) as url:
        words = ("log", "--port", url, "--format", "stx16", "--out", str(log))
        ran = cli(*words, "--count", "2")

    assert 0 == ran.code
    assert "2 readings of other displays than the main one: left out.\n2 readings, " in ran.err
    assert 2 == tally(log).asides
