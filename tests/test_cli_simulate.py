"""`coilmeter simulate` as its user runs it: two programs at one port, lines typed, a script."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import os
import re
import threading
from pathlib import Path
from typing import Final

import pytest
from helpers import cli
from simulated_checks import needs_pty
from simulator_processes import KIND, read_while, simulator
from walk_processes import eventually, run

from coilmeter.cli.checking import key_of_row
from coilmeter.errors import MeterError
from coilmeter.sources.clock import RealClock
from coilmeter.sources.port import MeterStream, TimedReject
from coilmeter.sources.sheet import read_sheet
from coilmeter.values import Flag, Reading
from coilmeter.wire import find


def test_lines_switch_what_a_program_reads(tmp_path: Path) -> None:
    """Clips, faults and settings that are typed arrive in the bytes of the socket."""
    form = find("digits14")
    words = ["--kind", KIND, "--format", "digits14", "--socket", "--rate", "20"]
    with simulator(tmp_path, *words) as meter:
        (address,) = meter.addresses
        with MeterStream(address, form, RealClock()) as stream:
            lifted = read_while(stream, lambda _: True)
            meter.type("clip 1 2", "the clips are on 1 and 2")
            coil = read_while(stream, lambda each: each.value == pytest.approx(224.2, abs=0.3))
            meter.type("open coil 1", "coil 1 is open")
            broken = read_while(stream, lambda each: each.overload)
            meter.type("battery low", "the battery is low")
            low = read_while(stream, lambda each: Flag.LOW_BATTERY in each.flags)
            meter.type("corrupt 1", "100.00% of the frames are spoilt")
            eventually(
                lambda: any(isinstance(item, TimedReject) for item in stream.poll()), "damage"
            )
            meter.type("open coil 9", "no coil of this head is called '9'")
            meter.type("status", "clips: 1 and 2")
        meter.type("quit")
        ran = meter.end()

    assert re.fullmatch(r"socket://127\.0\.0\.1:\d+", address)
    assert lifted.overload
    assert "224" in coil.display
    assert broken.overload
    assert low.overload
    assert 0 == ran.code
    assert (
        f"coilmeter check --kind {KIND} --no-bin --port {address} --format digits14" in ran.err
    )
    assert "Traceback" not in ran.err


@needs_pty
def test_unplugged_and_plugged_in_again(tmp_path: Path) -> None:
    """The device is gone, another is behind the same link; Ctrl-C takes the link away."""
    words = ["--kind", KIND, "--format", "plain", "--link", "bench", "--rate", "20"]
    link, form = tmp_path / "bench", find("plain")
    with simulator(tmp_path, *words) as meter:
        with MeterStream(str(link), form, RealClock()) as stream:
            read_while(stream, lambda _: True)
            meter.type("unplug", "unplugged")
            with pytest.raises(MeterError):
                read_while(stream, lambda _: False)
        gone = not os.path.lexists(link)
        meter.type("plug", "plugged in: bench")
        with MeterStream(str(link), form, RealClock()) as stream:
            again = read_while(stream, lambda _: True)
        meter.process.send_signal(2)
        ran = meter.end()

    assert gone
    assert again.overload
    assert 130 == ran.code
    assert ran.err.endswith("coilmeter: stopped.\n")
    assert ["bench"] == ran.out.split()
    assert not os.path.lexists(link)


@needs_pty
def test_plugged_in_without_a_link_the_new_device_is_told(tmp_path: Path) -> None:
    """The output names each device that can be opened, one after the other."""
    with simulator(tmp_path, "--kind", KIND, "--format", "plain", "--pty") as meter:
        (first,) = meter.addresses
        holder = os.open(first, os.O_RDWR | os.O_NOCTTY)  # so that its name is not free
        meter.type("unplug", "unplugged")
        meter.type("plug", "plugged in")
        meter.wait_until(lambda: len(meter.addresses) == 2, "another address")
        os.close(holder)
        second = meter.addresses[1]
        meter.process.terminate()
        ran = meter.end()

    assert first != second
    assert 143 == ran.code


SCRIPT: Final = """
# a coil, read, then broken under the clips
wait open
clip 1 2
wait 0.5
hold on
wait 0.3
quit
"""


def test_a_script_runs_by_itself(tmp_path: Path) -> None:
    """Its lines are shown as they are done, and it may end the simulator."""
    (tmp_path / "practice.txt").write_text(SCRIPT)
    words = ["--kind", KIND, "--format", "plain", "--socket", "--script", "practice.txt"]
    form = find("plain")
    with simulator(tmp_path, *words, "--fault", "coil 1 300 ohm", "--rate", "30") as meter:
        with MeterStream(meter.addresses[0], form, RealClock()) as stream:
            coil = read_while(stream, lambda each: each.value == pytest.approx(300.2, abs=0.3))
            held = read_while(stream, lambda each: Flag.HOLD in each.flags)
        ran = meter.end()

    assert 0 == ran.code
    assert coil.is_ohms
    assert held.value == pytest.approx(300.2, abs=0.3)
    assert "coil 1 has 300 ohm at 20 degC" in ran.err
    said = [line for line in ran.err.splitlines() if line.startswith("> ")]
    assert ["> clip 1 2", "> hold on"] == said


@needs_pty
def test_a_meter_that_sleeps_is_woken_by_the_check(tmp_path: Path) -> None:
    """In real time, with hands that walk: a check of a coil without a key pressed."""
    words = ["--kind", KIND, "--format", "block11", "--link", "bench", "--asleep", "--walk"]
    check = [
        "check",
        "--kind",
        KIND,
        "--no-isolation",
        "--port",
        "bench",
        "--format",
        "block11",
    ]
    with simulator(tmp_path, *words) as meter:
        ran = run(tmp_path, *check, "--meter", "handheld-4000", "--temperature", "20")
        talk = meter.talk
    rows = {key_of_row(row): row for row in read_sheet(tmp_path / "head.csv").rows}

    assert "done: 2 taken" in ran.err
    assert 224.2 == pytest.approx(rows["coil 1"].reading.ohm or 0.0, abs=0.3)
    assert "its data output is off" in talk
    assert "the port was opened: the hands begin the walk" in talk
    for move in ("clips together", "lift", "clip 1 and 2"):
        assert f"  {move}\n" in talk


def test_ended_by_its_input() -> None:
    """Lines may come from a pipe; the end of it does not end the simulator, quit does."""
    ran = cli(
        *("simulate", "--kind", "two-channel-rp", "--format", "block14", "--socket"),
        *("--fault", "open coil 2", "--fault", "leak 1 case 1 kohm", "--asleep"),
        stdin=b"hold on\nrel on\nnonsense\nquit\n",
    )

    assert 0 == ran.code
    assert ran.out.startswith("socket://127.0.0.1:")
    assert "hand-held, 22 000 count (handheld-22000), block14, 10 readings/s" in ran.err
    assert "coil 2: broken at 0.5 of its wire" in ran.err
    assert "1 to case: 1 kohm" in ran.err
    assert "the format block14 is not verified" in ran.err
    assert "its data output is off" in ran.err
    assert "the display is frozen" in ran.err
    assert "the display shows no ohms" in ran.err
    assert "saw 'nonsense'" in ran.err


def test_a_script_in_one_go(tmp_path: Path) -> None:
    """What a line of a script cannot do is told, and the script goes on to its end."""
    script = tmp_path / "practice.txt"
    script.write_text("rel on\nclip 1 2\nwait 0.2\nunplug\nplug\nwait 0.1\nquit\n")
    ran = cli(
        *("simulate", "--kind", KIND, "--format", "digits14", "--socket"),
        *("--script", str(script)),
        stdin=b"status\n",
    )

    assert 0 == ran.code
    assert 1 == ran.out.count("socket://")
    assert (
        "> rel on\n  the display shows no ohms that could be taken off\n    next: " in ran.err
    )
    assert "> unplug\n  unplugged\n> plug\n  plugged in: socket://127.0.0.1:" in ran.err
    assert "display: nothing yet" in ran.err


@needs_pty
def test_the_walk_begins_when_the_port_is_opened(tmp_path: Path) -> None:
    """Whoever opens the port sees the clips together first, each time anew."""
    link, form = tmp_path / "bench", find("plain")
    seen: list[Reading] = []

    def come_and_go() -> None:
        eventually(link.exists, "the link")
        with MeterStream(str(link), form, RealClock()) as stream:
            seen.append(
                read_while(stream, lambda each: each.value == pytest.approx(0.2, abs=0.2))
            )

    script = tmp_path / "practice.txt"
    script.write_text("wait open\nwait 3\nquit\n")
    client = threading.Thread(target=come_and_go)
    client.start()
    ran = cli(
        *("simulate", "--kind", KIND, "--format", "plain", "--link", str(link), "--walk"),
        *("--script", str(script)),
    )
    client.join()

    assert 0 == ran.code
    assert seen
    assert "the port was opened: the hands begin the walk\n  clips together\n" in ran.err


def test_a_head_of_no_kind(tmp_path: Path) -> None:
    """A file that names none: the line for the other terminal counts its coils."""
    head = tmp_path / "head.toml"
    head.write_text('case = false\n[coils.A]\npins = ["1", "2"]\nresistance = "184 ohm"\n')
    words = ["simulate", "--head", str(head), "--format", "words", "--socket"]
    ran = cli(*words, stdin=b"walk\nquit\n")

    assert 0 == ran.code
    assert "coils at 20 degC: A (1-2) 184 ohm; no case" in ran.err
    assert "coilmeter check --coils 1 --no-bin --port socket://127.0.0.1:" in ran.err
    assert "a head of a known kind" in ran.err
