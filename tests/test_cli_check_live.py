"""`coilmeter check` live: real bytes, real time and no key, and every trouble of a port."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import functools
import json
import os
import shlex
import threading
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any

import pytest
import serial
from helpers import cli, shipped
from walk_helpers import in_order
from walk_processes import LineMeter, Person, Process, eventually, run

from coilmeter.cli import connection
from coilmeter.cli.checking import key_of_row
from coilmeter.sources.clock import RealClock
from coilmeter.sources.port import MeterStream
from coilmeter.sources.servers import serve_pty, serve_socket
from coilmeter.sources.sheet import read_sheet
from coilmeter.sources.simulated import (
    Hands,
    SimulatedBench,
    SimulatedHead,
    SimulatedMeter,
)
from coilmeter.wire import find

KIND = "two-channel-rp-no-case"


HEAD = SimulatedHead.of_kind(
    shipped().kinds[KIND], {"1": 171.0, "2": 173.0}, temperature_degc=20.0
)


needs_pty = pytest.mark.skipif(not hasattr(os, "openpty"), reason="no pseudo-terminals here")


def words(text: str, *more: str) -> list[str]:
    """Split a command line."""
    return ["check", *shlex.split(text), *more]


def kept(path: Path) -> list[tuple[str, str]]:
    """Read what is in a kept file: coil and reading."""
    return [(row.coil, row.reading.text) for row in read_sheet(path).rows]


def document(text: str) -> dict[str, Any]:
    """Read the one head of a JSON document."""
    (head,) = json.loads(text)["heads"]
    return dict(head)


@contextmanager
def bench(form: str, folder: Path, line: str, *, pty: bool = False) -> Iterator[Process]:
    """Run a check of a simulated head, with someone who follows its words."""
    meter = SimulatedMeter(shipped().meters["handheld-4000"], noise_counts=0.3, lead_ohm=0.2)
    hands = Hands(HEAD, RealClock())
    served = SimulatedBench(meter, hands, find(form))
    with ExitStack() as stack:
        url = stack.enter_context(serve_pty(served) if pty else serve_socket(served))
        process = Process(folder, *words(f"{line} --port {url} --format {form}"))
        stack.callback(process.kill)
        stack.enter_context(Person(hands, process))
        yield process


LIVE = f"--kind {KIND} --meter handheld-4000 --temperature 20 --as json"


@pytest.mark.parametrize(
    ("form", "pty"),
    [pytest.param("digits14", True, marks=needs_pty), ("plain", False)],
    ids=["digits14 over a pseudo-terminal", "plain over a socket"],
)
def test_from_start_to_table_without_a_key(tmp_path: Path, form: str, *, pty: bool) -> None:
    """Real bytes, real time, no key: two sound coils, and a path proved by the tip."""
    with bench(form, tmp_path, LIVE, pty=pty) as process:
        ran = process.end()
    head = document(ran.out)
    rows = {key_of_row(row): row for row in read_sheet(tmp_path / "head.csv").rows}

    assert 0 == ran.code
    assert "matched" == head["grade"]
    assert ["intact", "intact"] == [coil["verdict"] for coil in head["coils"]]
    assert 171.0 == pytest.approx(head["coils"][0]["resistance_20c_ohm"], abs=0.3)
    assert 173.0 == pytest.approx(head["coils"][1]["resistance_20c_ohm"], abs=0.3)
    assert ["isolated"] == [path["verdict"] for path in head["isolation"]]
    assert "bridged" == rows["1 to 2"].proof
    assert all(row.raw for row in rows.values())
    assert "done: 4 taken" in ran.err
    assert "4 readings, 6 clip moves\n" in ran.err


def test_killed_half_way_and_gone_on_with(tmp_path: Path) -> None:
    """Killed after two readings: nothing that was announced is lost, and the rest follows."""
    with bench("plain", tmp_path, LIVE) as process:
        process.wait_for("taken  ", times=2)
        process.kill()
    said = process.talk.count("taken  ")
    before = kept(tmp_path / "head.csv")
    with bench("plain", tmp_path, f"{LIVE} --resume") as process:
        ran = process.end()
    after = kept(tmp_path / "head.csv")

    assert len(before) >= said
    assert before == after[: len(before)]
    assert 0 == ran.code
    assert "[1/4]" not in ran.err
    assert 4 == len(after)
    assert ["intact", "intact"] == [coil["verdict"] for coil in document(ran.out)["coils"]]


def test_stopped_by_a_key_press(tmp_path: Path) -> None:
    """Ctrl-C ends with 130, says where the readings are, and --resume goes on typed."""
    with LineMeter("0.2 ohm").serving() as meter:
        line = f"{LIVE} --port {meter.url} --format plain"
        process = Process(tmp_path, *words(line))
        process.wait_for("taken  leads")
        process.interrupt()
        ran = process.end()
    answers = {"coil 1": "171", "coil 2": "172", "1 to 2": "OL 40 Mohm"}
    rest = in_order(shipped().kind(KIND), answers, lead_null=True, done=["leads"])
    then = run(tmp_path, *words(f"{LIVE} --resume"), stdin="\n".join(rest).encode())

    assert 130 == ran.code
    assert "1 reading is kept in head.csv. Go on with the same command and --resume." in ran.err
    assert "Traceback" not in ran.err
    assert "" == ran.out
    assert 0 == then.code
    assert "matched" == document(then.out)["grade"]


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX systems")
def test_told_to_end_by_the_system(tmp_path: Path) -> None:
    """SIGTERM ends with 143, says where the readings are, and leaves no lock behind."""
    with LineMeter("0.2 ohm").serving() as meter:
        line = f"{LIVE} --port {meter.url} --format plain"
        process = Process(tmp_path, *words(line))
        process.wait_for("taken  leads")
        process.terminate()
        ran = process.end()

    assert 143 == ran.code
    assert "1 reading is kept in head.csv. Go on with the same command and --resume." in ran.err
    assert ran.err.endswith("coilmeter: stopped.\n")
    assert "Traceback" not in ran.err
    assert "" == ran.out
    assert [("", "0.2 ohm")] == kept(tmp_path / "head.csv")
    assert {"head.csv", "out.txt", "talk.txt"} == {each.name for each in tmp_path.iterdir()}


def test_a_meter_that_stays_unplugged(tmp_path: Path) -> None:
    """The other side closes for longer than is waited: exit 3, and where the readings are."""
    with LineMeter("0.2 ohm").serving() as meter:
        line = f"{LIVE} --port {meter.url} --format plain --wait 1s"
        process = Process(tmp_path, *words(line))
        process.wait_for("taken  leads")
    ran = process.end()

    assert 3 == ran.code
    assert "it is joined again when it is served again, nothing is lost" in ran.err
    assert "the port is gone" in ran.err
    assert "and not back after 1 s" in ran.err
    assert "1 reading is kept in head.csv. Go on with the same command and --resume." in ran.err
    assert "Traceback" not in ran.err


def test_a_meter_on_volts(tmp_path: Path) -> None:
    """The knob to turn is said, once, and nothing is taken."""
    with LineMeter("1.500 V dc").serving() as meter:
        process = Process(tmp_path, *words(f"{LIVE} --port {meter.url} --format plain"))
        process.wait_for("the meter is on DC volts: turn it to ohms")
        meter.line = "171.3 ohm hold"
        process.wait_for("HOLD is on")
        process.interrupt()
        ran = process.end()

    assert 1 == ran.err.count("DC volts")
    assert "taken" not in ran.err
    assert "No readings were kept" in ran.err


@pytest.fixture
def hasty(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """Lose patience with a meter after half a second instead of five."""
    monkeypatch.chdir(tmp_path)
    hasty = functools.partial(MeterStream, silent_after=0.5, unreadable_after=0.5)
    monkeypatch.setattr(connection, "MeterStream", hasty)
    return tmp_path


@contextmanager
def terminal() -> Iterator[tuple[int, str]]:
    """Open a pseudo-terminal on which nothing is sent; give the meter's end and a name."""
    meter, ours = os.openpty()
    try:
        yield meter, os.ttyname(ours)
    finally:
        os.close(ours)
        os.close(meter)


@needs_pty
@pytest.mark.usefixtures("hasty")
def test_a_silent_meter() -> None:
    """The port is open and nothing comes: a list to go through, exit 3."""
    with terminal() as (_, name):
        ran = cli(*words(f"--coils 2 --port {name} --format digits14"))

    assert 3 == ran.code
    assert "no byte came" in ran.err
    assert "its data output too" in ran.err
    assert "No readings were kept" in ran.err


@needs_pty
@pytest.mark.usefixtures("hasty")
def test_a_busy_port() -> None:
    """Another program holds it: exit 3, and what to close."""
    with terminal() as (_, name), serial.Serial(name, exclusive=True):
        ran = cli(*words(f"--coils 2 --port {name} --format digits14"))

    assert 3 == ran.code
    assert "another program holds the port" in ran.err


@pytest.mark.usefixtures("hasty")
def test_a_meter_of_another_format() -> None:
    """Bytes that make no frame: which they were, and what to change; exit 3."""
    with LineMeter("+4.7E+03,OHM,NONE", rate_hz=50).serving() as meter:
        ran = cli(*words(f"--coils 2 --port {meter.url} --format digits14"))

    assert 3 == ran.code
    assert "none is a frame of digits14" in ran.err
    assert "choose another format" in ran.err


def test_an_unverified_format_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the bytes are from memory only, the display must be compared."""
    from dataclasses import replace  # noqa: PLC0415 - only here

    from coilmeter.wire import plain  # noqa: PLC0415 - only here

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(
        type(plain.FORMAT), "facts", replace(plain.FORMAT.facts, verified=False)
    )
    ran = cli(*words("--coils 2 --port socket://127.0.0.1:9 --format plain"))

    assert "! the format plain is not verified: compare its readings" in ran.err


def test_nothing_is_left_running(tmp_path: Path) -> None:
    """The helpers of these tests end what they began."""
    threads = set(threading.enumerate())
    with LineMeter().serving() as meter:
        process = Process(tmp_path, *words(f"{LIVE} --port {meter.url} --format plain"))
        process.wait_for("[1/4]")
        process.kill()

    eventually(lambda: threads >= set(threading.enumerate()), "threads to end")
    assert process.process.poll() is not None
