"""One simulated head, read by ohms and then by AC volts: what only the second can tell."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
import re
import shlex
from pathlib import Path
from typing import Final

import pytest
from helpers import Ran, cli, shipped
from simulated_checks import check, do, needs_pty, station_with
from simulated_tones import tones
from simulator_processes import Simulator, simulator
from walk_processes import Process, run

from coilmeter.compute.coil_model import CoilModel
from coilmeter.sources.clock import RealClock
from coilmeter.sources.simulated_core import core_for
from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.sources.simulated_thread import BenchThread
from coilmeter.values import Role

KIND: Final = "four-channel-rp"
OHMS: Final = {"1": 300.0, "2": 301.0, "3": 299.0, "4": 300.4}
HENRY: Final = {"1": 0.1, "2": 0.102, "3": 0.0995, "4": 0.1005}
CORE_Q: Final = 8.0
NO_SIGN: Final = "no sign"
SHORTED: Final = "shorted turns suspected"
WORN: Final = "wear suspected"


def head() -> SimulatedHead:
    """Put four coils side by side as the shorted-turn table of docs/method.md has them."""
    made = SimulatedHead.of_kind(shipped().kind(KIND), OHMS)
    for coil, henry in HENRY.items():
        made = made.with_core(coil, inductance_h=henry)
    return made


def signs(ran: Ran) -> list[str]:
    """Find the sign of each coil in the document that was put out."""
    (found,) = json.loads(ran.out)["heads"]
    return [coil["sign"] for coil in found["coils"]]


def named(head_name: str, kind: str = KIND) -> tuple[str, ...]:
    """Words that name a head and its kind."""
    return ("--head", head_name, "--kind", kind)


@needs_pty
def test_one_per_cent_of_shorted_turns_passes_ohms_and_is_caught(tmp_path: Path) -> None:
    """The same head under the same simulated meter: matched in ohms, caught at 10 kHz.

    Its ohms are taken by `check`, its volts by `impedance`, both over a pseudo-terminal and
    hands-free; `judge` puts the two together.
    """
    station = station_with(head().with_shorted_turns("3", 0.01), "digits14", pty=True)
    by_ohms = check(station, tmp_path, "--kind", KIND, "--head", "S-1", "--temperature", "20")
    again = station_with(station.head, "digits14", pty=True)
    ohms = str(tmp_path / "head.csv")
    by_volts = tones(again, tmp_path, *named("S-1"), "--ohms", ohms, "--temperature", "20")
    (found,) = json.loads(by_volts.out)["heads"]
    shorted = next(coil for coil in found["coils"] if coil["coil"] == "3")
    shares = re.search(r"about ([\d.]+) to ([\d.]+) % of them", " ".join(shorted["why"]))
    both = cli(
        *("judge", ohms, "--meter", station.model.name, "--temperature", "20"),
        *("--impedance", str(tmp_path / "volts.csv")),
    )

    assert by_ohms.out.startswith("MATCHED")
    assert [NO_SIGN, NO_SIGN, SHORTED, NO_SIGN] == signs(by_volts)
    assert shares is not None
    assert float(shares[1]) <= 1.0 <= float(shares[2])
    assert 1 == by_volts.code
    assert both.out.startswith("UNMATCHED")
    assert "shorted turns suspected in coil 3" in " ".join(both.out.split())


@needs_pty
def test_a_worn_head_is_told_apart(tmp_path: Path) -> None:
    """Beside a good head of its kind: wear in all coils, no shorted turns, and the gap left."""
    good, old = tmp_path / "good", tmp_path / "old"
    good.mkdir()
    old.mkdir()
    sound = tones(station_with(head(), "digits14", pty=True), good, *named("good"))
    station = station_with(head(), "digits14", pty=True)
    station.wear(0.4)
    worn = tones(station, old, *named("old"), "--reference", str(good / "volts.csv"))
    (found,) = json.loads(worn.out)["heads"]
    depth = [
        re.search(r"If it is wear, (\d+) to (\d+) % of the depth", " ".join(coil["why"]))
        for coil in found["coils"]
    ]

    assert [NO_SIGN] * 4 == signs(sound)
    assert 0 == sound.code
    assert [WORN] * 4 == signs(worn)
    assert all(each is not None and int(each[1]) <= 40 <= int(each[2]) for each in depth)


@pytest.mark.parametrize(
    ("form", "meter"),
    [
        ("block14", ""),
        ("segments14", ""),
        ("scpi", "bench-6-digit"),
        ("prompt", "bench-6-digit"),
    ],
)
def test_formats_over_a_socket(form: str, meter: str, tmp_path: Path) -> None:
    """A block format, one of segments, two that are asked: the coil comes out as it is.

    What R, L and Q truly are follows from the model of the shorted-turn table alone.
    """
    station = station_with(head().with_shorted_turns("1", 0.01), form, meter=meter)
    ran = tones(station, tmp_path, *named("S-1"), "--coil", "1")
    (found,) = json.loads(ran.out)["heads"]
    ((point,),) = [coil["points"] for coil in found["coils"]]
    true = CoilModel(300.0, 0.1, 1 / CORE_Q, shorted=0.01)

    assert point["inductance_low_h"] < true.inductance_at(10e3) < point["inductance_high_h"]
    assert point["q_low"] < true.q_at(10e3) < point["q_high"]
    assert point["q"] == pytest.approx(2.6, rel=0.1)  # docs/method.md, table of shorted turns


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (["creep 3"], "Is the coil shorted, or the head still connected to a board? Unplug it"),
        (["short coil 1"], "Is the coil shorted, or the head still connected to a board?"),
        (["open coil 1"], "so no current flows. Is the coil connected, and not open?"),
        (["source off"], "is the tone on, and are the probes on A and C"),
        (["function dc volts"], "the meter is on DC volts: turn it to AC volts"),
        (["function ac volts", "range 400 mV", "source 2 V"], "over-range: choose the next"),
    ],
)
def test_what_cannot_be_a_coil_is_told_live(
    lines: list[str], told: str, tmp_path: Path
) -> None:
    """Switched at the simulator: said while it is so, nothing is claimed, what came is kept."""
    station = station_with(head(), "digits14")
    do(station, *lines)
    ran = tones(station, tmp_path, *named("S-1"), "--coil", "1", patience_s=24.0)

    assert 1 == ran.code
    assert told in ran.err
    if ran.out:
        # Some voltages were taken: a coil of which nothing is claimed.
        (found,) = json.loads(ran.out)["heads"]
        assert ([], ["1"]) == (found["coils"], found["refused"])
    else:
        assert "othing to judge" in ran.err


class Reader(BenchThread):
    """Someone who reads the talk of `impedance` and types at the simulator what it asks for."""

    def __init__(self, process: Process, meter: Simulator) -> None:
        super().__init__("reader", RealClock())
        self._process = process
        self._meter = meter

    def work(self) -> None:
        """Follow each step as it comes."""
        done = 0
        while self.wait_until(self.clock.now() + 0.05):
            asked = re.findall(
                r"^\[\d+/\d+\] coil (\w+) at .*?, v_(\w+):", self._process.talk, re.MULTILINE
            )
            for coil, across in asked[done:]:
                self._meter.type("lift")
                self.wait_until(self.clock.now() + 0.8)
                if across == "total":
                    self._meter.type(f"connect coil {coil}")
                self._meter.type(f"probe {across}")
                done += 1


@pytest.mark.parametrize(
    ("words", "form"),
    [
        pytest.param(
            ["--link", "bench", "--fault", "function ac volts", "--fault", "range 400 mV"],
            "digits14",
            marks=needs_pty,
        ),
        (["--socket", "--meter", "bench-6-digit"], "scpi"),
    ],
)
def test_two_programs_at_one_port(words: list[str], form: str, tmp_path: Path) -> None:
    """`simulate` and `impedance` as two processes in real time, without a key pressed."""
    bench, desk = tmp_path / "bench", tmp_path / "desk"
    bench.mkdir()
    desk.mkdir()
    more = ["--kind", "one-channel-rp", "--format", form, "--rate", "20", *words]
    with simulator(bench, *more) as meter:
        (address,) = meter.addresses
        port = str(bench / address) if address == "bench" else address
        process = Process(
            desk,
            *("impedance", "--head", "E-1", "--kind", "one-channel-rp", "--as", "json"),
            *("--resistor", "10 kohm +/- 1 %", "--port", port, "--format", form),
            *("--meter", "handheld-4000" if form == "digits14" else "bench-6-digit"),
        )
        with Reader(process, meter):
            ran = process.end()
    (found,) = json.loads(ran.out)["heads"]
    ((point,),) = [coil["points"] for coil in found["coils"]]
    true = core_for(224.0, Role.RECORD_PLAYBACK).coil(224.0)

    assert "done: 3 taken" in ran.err
    assert point["inductance_low_h"] < true.inductance_at(10e3) < point["inductance_high_h"]
    assert point["q_low"] < true.q_at(10e3) < point["q_high"]


def test_hands_that_go_round_by_themselves(tmp_path: Path) -> None:
    """`round` in a script reads what `impedance` asks for, without a look at its screen."""
    script = tmp_path / "script.txt"
    script.write_text("wait open\nround\nwait 60\n")
    words = ["--kind", "one-erase", "--format", "plain", "--socket", "--rate", "20"]
    more = ["--fault", "function ac volts", "--script", str(script), "--meter", "handheld-4000"]
    with simulator(tmp_path, *words, *more) as meter:
        (address,) = meter.addresses
        meter.wait_until(lambda: "in another terminal" in meter.talk, "what to type")
        found = re.search(r"coilmeter (impedance .*)", meter.talk)
        assert found is not None
        ran = run(tmp_path, *shlex.split(found[1]), "--keep", "volts.csv")

    assert f"--port {address} " in meter.talk
    assert "done: 3 taken" in ran.err
    assert "no reference" in ran.out
