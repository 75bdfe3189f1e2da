"""`coilmeter flex` as a process of its own: real bytes, signals, a kill, a pulled plug."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
import os
import signal
import time
import xml.etree.ElementTree as ET
from contextlib import ExitStack
from pathlib import Path

import pytest
from flex_benches import (
    KIND,
    bench_of,
    flexing,
    lifting,
    loose,
    process,
    still,
)
from flex_benches import Person as FlexPerson
from helpers import cli
from unplugging import HAS_TERMINALS, Plug
from walk_processes import LineMeter, Process

from coilmeter.cli.speech import PROGRAMS
from coilmeter.sources.clock import RealClock
from coilmeter.sources.rawlog_replay import Replay
from coilmeter.sources.sheet import read_sheet
from coilmeter.values import Purpose, Stability

ABOUT = ("--head", "K-07", "--kind", KIND, "--coil", "2", "--meter", "handheld-4000")


def logs(folder: Path) -> list[Path]:
    """Raw logs in a folder."""
    return sorted(folder.glob("*.rawlog"))


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="no pseudo-terminals here")
def test_a_loose_joint_over_a_pseudo_terminal(tmp_path: Path) -> None:
    """From the bytes to the grade of the head; the log judged again says the same."""
    words = (*ABOUT, "--for", "9s", "--as", "json", "--plot", "picture.svg")
    with process(tmp_path, loose, *words, pty=True) as run:
        ran = run.end()
    found = flexing(ran.out)
    (log,) = logs(tmp_path)
    (row,) = read_sheet(tmp_path / "K-07.csv").rows
    again = cli("flex", "--from", str(log), *ABOUT, "--as", "json")
    judged = cli("judge", str(tmp_path / "K-07.csv"), "--as", "json")
    (head,) = json.loads(judged.out)["heads"]
    picture = ET.parse(tmp_path / "picture.svg").getroot()  # noqa: S314 - our own

    assert 1 == ran.code
    assert "Traceback" not in ran.err
    assert ("intermittent", "K-07", "2", "3-4") == tuple(
        found[key] for key in ("verdict", "head", "coil", "pins")
    )
    assert 4 <= found["dropouts"] <= 7
    assert 0.3 == pytest.approx(found["longest_s"], abs=0.15)
    assert 173.2 == pytest.approx(found["median_ohm"], abs=0.3)
    assert ran.err.count("drop-out ") == found["dropouts"]
    assert found | {"source": ""} == flexing(again.out) | {"source": ""}
    assert Purpose.FREE is row.purpose
    assert f"flexed: {log.name}" == row.note
    assert ("unstable", "unstable") == (head["grade"], head["coils"][1]["verdict"])
    assert head["coils"][1]["flex"]["dropouts"] == found["dropouts"]
    assert "svg" in picture.tag


def test_steady_until_the_clips_are_lifted(tmp_path: Path) -> None:
    """No key: the clips are lifted, the question is asked, they touch each other."""
    with process(tmp_path, lifting, *ABOUT, "--for", "0", form="plain") as run:
        ran = run.end()
    (row,) = read_sheet(tmp_path / "K-07.csv").rows

    assert 0 == ran.code
    assert ran.out.startswith("STEADY: coil 2 of head K-07, pin 3 and pin 4\n")
    assert "done: the clips touch each other, so they were lifted" in ran.err
    assert "! Mains plug out" in ran.err
    assert "Every byte is kept in K-07-flex-2-" in ran.err
    assert Stability.STEADY == (row.flex and row.flex.stability)
    assert "173" in row.reading.text


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_stopped_by_a_signal(tmp_path: Path, number: int) -> None:
    """Everything is kept, and how to judge it is said; nothing counts as evidence yet."""
    with process(tmp_path, loose, *ABOUT, "--for", "1m", form="plain") as run:
        run.wait_for("back after", times=2)
        run.process.send_signal(number)
        ran = run.end()
    (log,) = logs(tmp_path)
    again = cli("flex", "--from", str(log))

    assert 128 + number == ran.code
    assert "" == ran.out
    assert "So far: intermittent, 2 drop-outs" in ran.err
    assert f"Judge what is in it with: coilmeter flex --from {log.name}" in ran.err
    assert "Traceback" not in ran.err
    assert not (tmp_path / "K-07.csv").exists()
    assert 1 == again.code
    assert again.out.startswith("INTERMITTENT: ")


def test_killed_it_loses_nothing(tmp_path: Path) -> None:
    """Ended as by a power cut after two drop-outs: both are in the log."""
    with process(tmp_path, loose, *ABOUT, "--for", "1m", form="plain") as run:
        run.wait_for("back after", times=2)
        run.kill()
    (log,) = logs(tmp_path)
    again = cli("flex", "--from", str(log), "--as", "json")

    assert ("intermittent", 2) == tuple(
        flexing(again.out)[key] for key in ("verdict", "dropouts")
    )


def test_a_meter_that_is_unplugged(tmp_path: Path) -> None:
    """Where nobody waits for it: exit 3, and where the bytes are."""
    with LineMeter("171.3 ohm auto").serving() as meter:
        at = ("--port", meter.url, "--format", "plain", "--wait", "0")
        run = Process(tmp_path, "flex", *ABOUT, *at)
        run.wait_for("now move")
        meter.line = "OL 40 Mohm auto"
        run.wait_for("drop-out 1")
        meter.close()
        ran = run.end()
    (log,) = logs(tmp_path)
    replay = Replay([log])
    list(replay.events())

    assert 3 == ran.code
    assert "the port is gone" in ran.err
    assert "So far: undecided" in ran.err
    assert f"kept in {log.name}" in ran.err
    assert replay.tally.ended
    assert replay.tally.decoded > 30


@pytest.mark.parametrize(
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
def test_unplugged_and_plugged_in_again(tmp_path: Path, form: str, *, pty: bool) -> None:
    """Pulled within a frame while the joint is moved: it goes on, and no drop-out is made.

    The time without a meter is no time of moving, live as in the log judged again.
    """
    bench = bench_of(RealClock(), form, 10.0)
    with ExitStack() as stack:
        plug = stack.enter_context(Plug(bench, tmp_path / "meter" if pty else None))
        at = ("--port", plug.url, "--format", form, "--for", "12s", "--as", "json")
        run = Process(tmp_path, "flex", *ABOUT, *at)
        stack.callback(run.kill)
        stack.enter_context(FlexPerson(bench.hands, still, lambda: run.talk))
        run.wait_for("now move")
        plug.pull()
        run.wait_for("nothing is lost (Ctrl-C ends)")
        time.sleep(2.0)
        plug.push_in()
        ran = run.end()
    found = flexing(ran.out)
    (log,) = logs(tmp_path)
    again = cli("flex", "--from", str(log), *ABOUT, "--as", "json")
    replay = Replay([log])
    list(replay.events())

    assert 0 == ran.code
    assert "the meter is back" in ran.err
    assert ("steady", 0) == (found["verdict"], found["dropouts"])
    assert found["readings"] >= 100
    assert found | {"source": ""} == flexing(again.out) | {"source": ""}
    assert 1 == replay.tally.gaps
    assert replay.tally.gaps_s > 2.0


@pytest.mark.skipif(os.name != "posix", reason="the stand-in for the program is a script")
def test_a_flexing_is_spoken(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What to do, each drop-out, and the verdict at the end, for whoever looks at the head."""
    said = tmp_path / "said"
    program = tmp_path / "bin" / PROGRAMS[0][0]
    program.parent.mkdir()
    program.write_text(f"#!/bin/sh\ncat >> {said}\necho >> {said}\n")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", f"{program.parent}{os.pathsep}{os.environ['PATH']}")
    with process(tmp_path, loose, *ABOUT, "--for", "8s", "--speak", form="plain") as run:
        ran = run.end()
    lines = said.read_text().splitlines()

    assert 1 == ran.code
    assert lines[0].startswith("put the clips on")
    assert "now move it" in lines
    assert "drop-out 2" in lines
    assert lines[-1].startswith("intermittent: a joint opens")


def test_in_this_process_from_the_command_line(tmp_path: Path) -> None:
    """Without a coil nothing is kept but the log; the least time there is is time enough."""
    log = tmp_path / "a.rawlog"
    with LineMeter("171.3 ohm auto").serving() as meter:
        ran = cli(
            *("flex", "--port", meter.url, "--format", "plain", "--for", "8s"),
            *("--log", str(log)),
        )

    assert 0 == ran.code
    assert ran.out.startswith("STEADY: a coil, the two ends\nno change above 0.5 ohm")
    assert [log] == list(tmp_path.iterdir())
