"""`coilmeter impedance` on a meter: real bytes through a port, no key, every trouble told."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
import math
import os
import re
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from unittest import mock

import pytest
from helpers import Ran, cli, shipped
from impedance_helpers import METER, SOUND, four
from walk_processes import LineMeter, Process

from coilmeter.cli.impedance_live import run_tones
from coilmeter.compute.coil_model import CoilModel
from coilmeter.sources.clock import Clock, FastClock, RealClock
from coilmeter.sources.impedance_sheet import read_volts
from coilmeter.sources.port import MeterStream
from coilmeter.sources.servers import serve_pty, serve_socket
from coilmeter.sources.simulated_ac import SimulatedBridge
from coilmeter.sources.simulated_thread import BenchThread
from coilmeter.values import Function
from coilmeter.walks.impedance_told import ToneBegun, ToneEvent
from coilmeter.wire import find

needs_pty = pytest.mark.skipif(not hasattr(os, "openpty"), reason="no pseudo-terminals here")
HEAD = four(SOUND, CoilModel(302.0, 0.102), SOUND.with_shorted(0.01), CoilModel(300.0, 0.1005))
OHMS = (
    "head,kind,coil,reading,purpose\n"
    + "".join(
        f"K-07,four-channel-rp,{name},{coil.dc_ohm:.1f},coil\n" for name, coil in HEAD.items()
    )
    + "".join(
        f"K-07,four-channel-rp,{a}-{b},OL 40 Mohm,coil-to-coil\n" for a, b in ("12", "23", "34")
    )
    + "".join(f"K-07,four-channel-rp,{n}-case,OL 40 Mohm,coil-to-case\n" for n in "1234")
)


class Prober(BenchThread):
    """Someone at the bench who connects and probes what is asked for."""

    def __init__(
        self, bench: SimulatedBridge, asked: Callable[[], list[tuple[str, str]]]
    ) -> None:
        super().__init__("prober", bench.clock)
        self._bench = bench
        self._asked = asked

    def work(self) -> None:
        """Lift, connect and probe for each step that has been told of."""
        done = 0
        while self.wait_until(self.clock.now() + 0.05):
            for coil, across in self._asked()[done:]:
                self._bench.lift()
                self.wait_until(self.clock.now() + 0.8)
                if coil != self._bench.coil:
                    self._bench.connect(coil)
                self._bench.probe(across)
                done += 1


def bench_of(
    coils: dict[str, CoilModel], form: str, clock: Clock, **how: float
) -> SimulatedBridge:
    """Make a bench whose meter has errors of every sort."""
    return SimulatedBridge(
        coils,
        shipped().meter(METER),
        find(form),
        clock,
        resistor_ohm=10.05e3,
        drive_volt=0.15,
        roll_off_hz=15e3,
        gain_error=0.01,
        noise_counts=0.4,
        offset_counts=2.0,
        input_farad=1.2e-10,
        full_scale_volt=0.4,
        rate_hz=8.0,
        **how,  # type: ignore[arg-type]
    )


@contextmanager
def fast_bench(coils: dict[str, CoilModel]) -> Iterator[str]:
    """Serve a bench on a pseudo-terminal; it and the command share one fast clock."""
    clock = FastClock(8.0)
    bench = bench_of(coils, "digits14", clock)
    steps: list[tuple[str, str]] = []
    lock = threading.Lock()

    def listener(event: ToneEvent) -> None:
        if isinstance(event, ToneBegun):
            with lock:
                steps.append((event.step.coil, event.step.across))

    def asked() -> list[tuple[str, str]]:
        with lock:
            return list(steps)

    job = "coilmeter.cli.impedance_job"
    with (
        serve_pty(bench) as url,
        Prober(bench, asked),
        mock.patch(f"{job}.RealClock", return_value=clock),
        mock.patch(
            "coilmeter.cli.connection.MeterStream", partial(MeterStream, silent_after=math.inf)
        ),
        mock.patch(f"{job}.run_tones", partial(run_tones, listener=listener)),
    ):
        yield url


@needs_pty
def test_one_per_cent_of_shorted_turns_passes_ohms_and_is_caught(tmp_path: Path) -> None:
    """The whole way over a pseudo-terminal: four channels, ohms matched, one coil caught."""
    ohms, volts = tmp_path / "K-07.csv", tmp_path / "K-07-ac.csv"
    ohms.write_text(OHMS)
    by_ohms = cli("judge", str(ohms), "--meter", METER, "--lead", "nulled")
    with fast_bench(HEAD) as url:
        ran = cli(
            *("impedance", "--head", "K-07", "--kind", "four-channel-rp", "--meter", METER),
            *("--resistor", "10 kohm +/- 1 %", "--keep", str(volts), "--ohms", str(ohms)),
            *("--port", url, "--format", "digits14", "--as", "json"),
        )
    (head,) = json.loads(ran.out)["heads"]
    signs = [coil["sign"] for coil in head["coils"]]
    (point,) = head["coils"][0]["points"]
    both = cli("judge", str(ohms), "--meter", METER, "--impedance", str(volts))

    assert by_ohms.out.startswith("MATCHED")
    assert 1 == ran.code
    assert ["no sign", "no sign", "shorted turns suspected", "no sign"] == signs
    assert point["inductance_low_h"] < 0.1 < point["inductance_high_h"]
    assert point["q_low"] < SOUND.q_at(10e3) < point["q_high"]
    assert both.out.startswith("UNMATCHED")
    assert "done: 12 taken" in ran.err


@needs_pty
def test_a_worn_head_is_told_apart(tmp_path: Path) -> None:
    """The same way, beside a good coil: wear, in all coils, and no shorted turns."""
    good = tmp_path / "good.csv"
    with fast_bench({"1": SOUND}) as url:
        measured(url, good, "one-good")
    with fast_bench({"1": SOUND.worn(0.4, 0.5), "2": SOUND.worn(0.42, 0.5)}) as url:
        ran = measured(url, tmp_path / "worn.csv", "worn", "--reference", str(good))
    (head,) = json.loads(ran.out)["heads"]

    assert ["wear suspected", "wear suspected"] == [coil["sign"] for coil in head["coils"]]


def measured(url: str, keep: Path, head: str, *words: str) -> Ran:
    """Measure the coils that are there."""
    coils = ["--coil", "1"] if head == "one-good" else []
    return cli(
        *("impedance", "--head", head, "--kind", "two-channel-rp", "--meter", METER),
        *("--resistor", "10 kohm +/- 1 %", "--keep", str(keep), *coils),
        *("--port", url, "--format", "digits14", "--as", "json", *words),
    )


def test_real_time_and_killed_half_way(tmp_path: Path) -> None:
    """A process of its own, killed: what was announced is on disk, and --resume goes on."""
    clock = RealClock()
    bench = bench_of({"1": SOUND, "2": SOUND}, "plain", clock)
    words = (
        *("impedance", "--head", "A", "--kind", "two-channel-rp", "--meter", METER),
        *("--resistor", "10 kohm +/- 1 %", "--format", "plain", "--as", "json"),
    )
    with serve_socket(bench) as url:
        first = Process(tmp_path, *words, "--port", url)
        with Prober(bench, partial(steps_in, first)):
            first.wait_for("taken  ", times=2)
            first.kill()
        kept = read_volts(tmp_path / "A-ac.csv").rows
        second = Process(tmp_path, *words, "--port", url, "--resume")
        with Prober(bench, partial(steps_in, second)):
            ran = second.end()
    (head,) = json.loads(ran.out)["heads"]

    assert sum(len(row.volts) for row in kept) >= 2
    assert 0 == ran.code
    assert "[1/6]" not in ran.err
    assert ["no sign", "no sign"] == [coil["sign"] for coil in head["coils"]]


def steps_in(process: Process) -> list[tuple[str, str]]:
    """Find the steps that a process has asked for so far: coil, and where to probe."""
    return re.findall(r"^\[\d+/\d+\] coil (\w+) at [^,]+, v_(\w+):", process.talk, re.MULTILINE)


def test_a_meter_on_dc_volts(tmp_path: Path) -> None:
    """Told which knob to turn, and nothing is taken; Ctrl-C says where it stands."""
    with LineMeter("98.4 mV dc").serving() as meter:
        process = Process(
            tmp_path,
            *("impedance", "--coils", "1", "--resistor", "10 kohm +/- 1 %"),
            *("--port", meter.url, "--format", "plain"),
        )
        process.wait_for("the meter is on DC volts: turn it to AC volts")
        process.interrupt()
        ran = process.end()

    assert 130 == ran.code
    assert "No voltages were kept" in ran.err


def test_no_meter_there(tmp_path: Path) -> None:
    """A port where nobody listens: exit code 3."""
    ran = cli(
        *("impedance", "--coils", "1", "--resistor", "10 kohm +/- 1 %"),
        *("--keep", str(tmp_path / "a.csv"), "--port", "socket://127.0.0.1:9"),
        *("--format", "plain"),
    )

    assert 3 == ran.code


def test_the_bench_knows_its_function() -> None:
    """The simulated meter says AC volts on the wire."""
    bench = bench_of({"1": SOUND}, "plain", FastClock(1.0))

    assert Function.AC_VOLTAGE is bench.show().function
    assert b" ac" in bench.frame()
