"""`coilmeter pins` live: real bytes over a pseudo-terminal, hands that follow, and no key.

Bench and command share a clock that runs faster than a real one.
"""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
import math
import os
import shlex
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from functools import partial
from pathlib import Path
from typing import Any, Final
from unittest import mock

import pytest
from helpers import Ran, cli, shipped
from pin_meters import head
from walk_processes import LineMeter, Person, Process, run

from coilmeter.cli.demonstration import moves_for
from coilmeter.cli.keys import NoKeys
from coilmeter.cli.live import run_live
from coilmeter.sources.clock import FastClock, RealClock
from coilmeter.sources.port import MeterStream
from coilmeter.sources.servers import serve_pty, serve_socket
from coilmeter.sources.sheet import read_sheet
from coilmeter.sources.simulated import Hands, SimulatedBench, SimulatedHead, SimulatedMeter
from coilmeter.sources.simulated_person import Attendant
from coilmeter.values import CASE, Purpose
from coilmeter.walks.events import Event, NearZeroHeld
from coilmeter.wire import find

SPEED: Final = 16.0
FORM: Final = "digits14"
SCRAMBLED: Final = head("1-4 184", "2-8 185", "3-5 186", "6-7 183")
SMALL: Final = head("1-4 184", "2-3 186")
LINE: Final = f"--format {FORM} --meter handheld-4000 --temperature 20 --as json"
needs_pty = pytest.mark.skipif(not hasattr(os, "openpty"), reason="no pseudo-terminals here")


class OneKey(NoKeys):
    """A keyboard whose one key is ``k``, pressed when near zero is held."""

    def __init__(self) -> None:
        self.pressed_so_far = 0
        self._next = ""

    def hear(self, event: Event) -> None:
        """Press the key after a question about a short."""
        if isinstance(event, NearZeroHeld):
            self._next = "k"

    def pressed(self) -> str:
        """Give the key once."""
        pressed, self._next = self._next, ""
        self.pressed_so_far += len(pressed)
        return pressed


@contextmanager
def bench(on: SimulatedHead) -> Iterator[tuple[str, OneKey]]:
    """Serve a head on a pseudo-terminal, with hands that do what the walk asks for."""
    clock, wire, keys = FastClock(SPEED), find(FORM), OneKey()
    hands = Hands(on, clock)
    meter = SimulatedMeter(shipped().meters["handheld-4000"], noise_counts=0.3, lead_ohm=0.2)

    @contextmanager
    def keyboard() -> Iterator[OneKey]:
        yield keys

    def listen(attendant: Attendant, event: Event) -> None:
        attendant.order(moves_for(event))
        keys.hear(event)

    with ExitStack() as stack:
        url = stack.enter_context(serve_pty(SimulatedBench(meter, hands, wire)))
        attendant = stack.enter_context(Attendant(hands))
        patches: dict[str, Callable[..., Any]] = {
            "RealClock": lambda: clock,
            "keyboard": keyboard,
            "run_live": partial(run_live, listener=partial(listen, attendant)),
        }
        for name, replacement in patches.items():
            stack.enter_context(mock.patch(f"coilmeter.cli.measuring.{name}", replacement))
        patient = partial(MeterStream, silent_after=math.inf)
        stack.enter_context(mock.patch("coilmeter.cli.connection.MeterStream", patient))
        yield url, keys


def mapped(on: SimulatedHead, line: str, folder: Path) -> tuple[Ran, dict[str, Any], OneKey]:
    """Map a head live; the run, its document, and the keyboard."""
    kept = folder / "live.csv"
    with bench(on) as (url, keys):
        ran = cli("pins", *shlex.split(f"{line} {LINE}"), "--port", url, "--keep", str(kept))
    return ran, dict(json.loads(ran.out)), keys


def coils(found: dict[str, Any]) -> list[list[str]]:
    """Pins of each coil."""
    return [coil["pins"] for coil in found["coils"]]


@needs_pty
def test_eight_scrambled_pins_without_a_key(tmp_path: Path) -> None:
    """Done when: an intact head of eight pins is mapped hands free, nothing pressed."""
    ran, found, keys = mapped(SCRAMBLED, "--pins 8 --rows 4", tmp_path)
    rows = read_sheet(tmp_path / "live.csv").rows

    assert 0 == ran.code
    assert 0 == keys.pressed_so_far
    assert "certain" == found["status"]
    assert [["1", "4"], ["2", "8"], ["3", "5"], ["6", "7"]] == coils(found)
    assert [184, 185, 186, 183] == pytest.approx(
        [coil["resistance_ohm"] for coil in found["coils"]], abs=0.4
    )
    assert 1 + found["readings"] == len(rows)
    # Every OL was proved by the tip, and every row has its bytes.
    assert {"bridged"} == {row.proof for row in rows if row.reading.text == "OL"}
    assert all(row.raw for row in rows)
    assert {Purpose.FREE, Purpose.LEAD_NULL} == {row.purpose for row in rows}


@needs_pty
def test_an_open_coil(tmp_path: Path) -> None:
    """Its pins find no partner, are read twice, and nothing is pressed."""
    ran, found, keys = mapped(SMALL.with_open("2"), "--pins 4", tmp_path)

    assert 1 == ran.code
    assert 0 == keys.pressed_so_far
    assert ("certain", [["1", "4"]], ["2", "3"]) == (
        found["status"],
        coils(found),
        found["floating"],
    )
    assert "no partner found: once more" in ran.err
    assert any(
        "an open coil between pins 2 and 3, or two unused pins" in note
        for note in found["notes"]
    )


@needs_pty
def test_a_resistive_bridge(tmp_path: Path) -> None:
    """Two coils and the 60 ohm between them come out by themselves."""
    ran, found, keys = mapped(SMALL.with_leak("1", "2", 60.0), "--pins 4", tmp_path)
    (group,) = [each for each in found["groups"] if each["shape"] == "bridged coils"]
    (bridge,) = [link for link in group["links"] if not link["is_coil"]]

    assert 1 == ran.code
    assert 0 == keys.pressed_so_far
    assert [["1", "4"], ["2", "3"]] == coils(found)
    assert ["1", "2"] == bridge["pins"]
    assert 60 == pytest.approx(bridge["resistance_ohm"], abs=1.0)


@needs_pty
def test_a_dead_bridge_takes_the_one_key(tmp_path: Path) -> None:
    """Near zero is never taken by itself: a tip and a short look the same."""
    ran, found, keys = mapped(SMALL.with_leak("1", "2", 0.0), "--pins 4 --no-case", tmp_path)

    assert 1 == ran.code
    assert 1 == keys.pressed_so_far
    assert ["1", "2"] in [node for group in found["groups"] for node in group["pins"]]


@needs_pty
def test_a_leak_to_the_case(tmp_path: Path) -> None:
    """600 ohm from 30 % of the way: the other end is read, and the place is told."""
    ran, found, keys = mapped(SMALL.with_leak(("1", 0.3), CASE, 600.0), "--pins 4", tmp_path)
    (leak,) = [path for path in found["isolation"] if path["verdict"] == "leaking"]

    assert 1 == ran.code
    assert 0 == keys.pressed_so_far
    assert [["1", "4"], ["2", "3"]] == coils(found)
    assert 600 == pytest.approx(leak["resistance_ohm"], abs=15)
    assert "% of the way from pin 1 to pin 4" in " ".join(filter(None, leak["places"]))


def test_in_real_time_as_a_process(tmp_path: Path) -> None:
    """Two pins, over a socket, by someone who reads the talk: started, mapped, ended."""
    meter = SimulatedMeter(shipped().meters["handheld-4000"], lead_ohm=0.2)
    hands = Hands(head("1-2 184", case=False), RealClock())
    with ExitStack() as stack:
        url = stack.enter_context(serve_socket(SimulatedBench(meter, hands, find("plain"))))
        line = f"pins --pins 2 --no-case --head P --port {url} --format plain"
        process = Process(tmp_path, *shlex.split(f"{line} --meter handheld-4000"))
        stack.callback(process.kill)
        stack.enter_context(Person(hands, process))
        ran = process.end()

    assert 0 == ran.code
    assert "CERTAIN: head P, 2 pins, 1 reading" in ran.out
    assert "2 readings are kept in P-pins.csv." in ran.err


def test_stopped_half_way(tmp_path: Path) -> None:
    """Ctrl-C keeps what was read, says where, and --resume goes on typed."""
    with LineMeter("0.2 ohm").serving() as meter:
        line = f"pins --pins 2 --no-case --head P --port {meter.url} --format plain"
        process = Process(tmp_path, *shlex.split(line))
        process.wait_for("taken  leads")
        process.interrupt()
        ran = process.end()
    rest = ["pins", "--pins", "2", "--no-case", "--head", "P", "--resume"]
    then = run(tmp_path, *rest, stdin=b"184.2\n")

    assert 130 == ran.code
    assert (
        "1 reading is kept in P-pins.csv. Go on with the same command and --resume." in ran.err
    )
    assert "Traceback" not in ran.err
    assert 0 == then.code
    assert "CERTAIN: head P" in then.out


def test_a_port_that_is_not_there(tmp_path: Path) -> None:
    """Exit 3, and nothing is lost."""
    ran = run(tmp_path, "pins", "--pins", "2", "--port", "no-such-port", "--format", "plain")

    assert 3 == ran.code
    assert "No readings were kept" in ran.err
    assert "Traceback" not in ran.err
