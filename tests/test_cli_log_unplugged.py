"""A log whose meter is unplugged goes on in the same file, and the gap is marked."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import csv
import itertools
import json
import time
from pathlib import Path

import pytest
from helpers import cli
from rawlog_meters import DIGITS14, happenings, tally
from unplugging import HAS_TERMINALS, Plug
from walk_processes import Process

from coilmeter.sources.clock import Clock, RealClock
from coilmeter.sources.rawlog import Kind
from coilmeter.sources.rawlog_reader import LogReader, Stretch
from coilmeter.sources.rawlog_replay import Replay
from coilmeter.sources.rawlog_tally import Answers
from coilmeter.values import Reading
from coilmeter.wire import find
from coilmeter.wire.contract import Display, Format


class Counting:
    """A meter that shows 100.0, 100.1, 100.2 and so on, so that each reading is told apart."""

    rate_hz = 20.0

    def __init__(self, form: Format) -> None:
        self.clock: Clock = RealClock()
        self._form = form
        self._next = itertools.count(1000)

    def frame(self) -> bytes:
        """Make the next frame."""
        return self._form.encode(Display(next(self._next) / 10, 0.1, 400.0))


FORMS = pytest.mark.parametrize(
    ("form", "pty"),
    [
        pytest.param(
            "digits14",
            True,
            marks=pytest.mark.skipif(not HAS_TERMINALS, reason="no pseudo-terminals here"),
        ),
        ("plain", False),
    ],
    ids=["digits14 on a pseudo-terminal", "plain on a socket"],
)


def words(plug: Plug, form: str, more: str) -> list[str]:
    """Make the words of a command that logs to the file a.rawlog."""
    return ["log", *f"--port {plug.url} --format {form} --out a.rawlog {more}".split()]


def readings_of(path: Path) -> list[tuple[float, float | None]]:
    """Decode a log again: times and values."""
    replay = Replay([path])
    return [
        (at, item.value)
        for event in replay.events()
        if isinstance(event, Answers)
        for at, item in zip(event.at, event.items, strict=True)
        if isinstance(item, Reading)
    ]


@FORMS
def test_it_goes_on_in_the_same_file(tmp_path: Path, form: str, *, pty: bool) -> None:
    """Pulled within a frame: what was torn, that it was gone, that it is back, and readings.

    Neither the log nor the CSV has anything from within the gap, and no reading is made of
    the halves on both its sides.
    """
    wire = find(form)
    with Plug(Counting(wire), tmp_path / "meter" if pty else None) as plug:
        process = Process(tmp_path, *words(plug, form, "--csv a.csv --count 90"))
        process.wait_for(" rejected  ")
        plug.pull()
        process.wait_for("nothing is lost (Ctrl-C ends)")
        time.sleep(1.0)
        plug.push_in()
        ran = process.end()
    log = tmp_path / "a.rawlog"
    happened = happenings(log)
    with (tmp_path / "a.csv").open(encoding="utf-8", newline="") as file:
        table = [(float(row["at_s"]), float(row["value"])) for row in csv.DictReader(file)]
    found = tally(log)
    (gap,) = found.first_gaps
    frame = wire.encode(Display(100.0, 0.1, 400.0))
    decoded = readings_of(log)
    values = [value for _, value in table]

    assert 0 == ran.code
    assert "the meter is back\n" in ran.err
    assert "90 readings" in ran.err
    assert [Kind.UNPLUGGED, Kind.PLUGGED, Kind.END] == [kind for kind, _ in happened]
    assert f"open again as {plug.url}" == happened[1][1]
    assert 90 == found.decoded == len(table)
    assert len(frame) // 2 <= found.unfinished <= len(frame) // 2 + 1
    assert (Kind.UNPLUGGED, 1) == (gap.kind, found.gaps)
    assert gap.lasted_s > 1.0
    assert not [at for at, _ in decoded if gap.start < at < gap.end]
    assert [(round(at, 6), value) for at, value in decoded] == table
    assert sorted(values) == values
    assert all(100.0 <= value < 130.0 for value in values)
    assert 0 == found.damages


@FORMS
def test_the_gap_in_a_replay(tmp_path: Path, form: str, *, pty: bool) -> None:
    """It is counted and shown, as a table and as JSON."""
    with Plug(Counting(find(form)), tmp_path / "meter" if pty else None) as plug:
        process = Process(tmp_path, *words(plug, form, "--count 60"))
        process.wait_for(" rejected  ")
        plug.pull()
        process.wait_for("nothing is lost (Ctrl-C ends)")
        plug.push_in()
        process.end()
    log = str(tmp_path / "a.rawlog")
    table, document = cli("replay", log), cli("replay", log, "--as", "json")
    account = json.loads(document.out)["replay"]

    assert (0, 0) == (table.code, document.code)
    assert "gaps         1, " in table.out
    assert "  unplugged from " in table.out
    assert 1 == account["gaps"]
    assert "unplugged" == account["first_gaps"][0]["kind"]
    assert account["unfinished_bytes"] > 0


def test_the_time_asked_for_ends_it_though_the_meter_is_away(tmp_path: Path) -> None:
    """Unplugged and never back: --for ends the log as always, with what was read."""
    with Plug(Counting(DIGITS14)) as plug:
        process = Process(tmp_path, *words(plug, "digits14", "--for 4s"))
        process.wait_for(" rejected  ")
        plug.pull()
        ran = process.end()
    happened = happenings(tmp_path / "a.rawlog")

    assert 0 == ran.code
    assert [Kind.UNPLUGGED, Kind.END] == [kind for kind, _ in happened]
    assert "the time asked for was over" == happened[-1][1]


def test_a_wait_that_is_over_ends_it(tmp_path: Path) -> None:
    """What was logged is kept, and the exit code is that of a port in trouble."""
    with Plug(Counting(DIGITS14)) as plug:
        process = Process(tmp_path, *words(plug, "digits14", "--wait 1s"))
        process.wait_for(" rejected  ")
        plug.pull()
        ran = process.end()
    happened = happenings(tmp_path / "a.rawlog")

    assert 3 == ran.code
    assert "and not back after 1 s" in ran.err
    assert "kept in a.rawlog" in ran.err
    assert [Kind.UNPLUGGED, Kind.END] == [kind for kind, _ in happened]
    assert "the port was lost" == happened[-1][1]


def test_ctrl_c_while_the_meter_is_away(tmp_path: Path) -> None:
    """There is always a way out: 130, and all is kept."""
    with Plug(Counting(DIGITS14)) as plug:
        process = Process(tmp_path, *words(plug, "digits14", "--wait ever"))
        process.wait_for(" rejected  ")
        plug.pull()
        process.wait_for("nothing is lost (Ctrl-C ends)")
        process.interrupt()
        ran = process.end()
    with LogReader(tmp_path / "a.rawlog") as reader:
        kept = sum(len(event.sizes) for event in reader.events() if isinstance(event, Stretch))

    assert 130 == ran.code
    assert kept > 10
    assert [Kind.UNPLUGGED, Kind.END] == [kind for kind, _ in happenings(tmp_path / "a.rawlog")]
