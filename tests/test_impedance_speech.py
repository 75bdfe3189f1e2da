"""What is said aloud while AC volts are read."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import pytest
from helpers import cli
from simulated_checks import station_with
from simulated_tones import tones
from test_cli_impedance_simulated import head, named
from test_speech import WRITES, program

from coilmeter.cli.impedance_screen import ToneLines
from coilmeter.cli.impedance_spoken import ToneAloud, tone_spoken
from coilmeter.cli.speech import PROGRAMS, Speaker
from coilmeter.units.voltages import parse_voltage
from coilmeter.values import Function, Reading
from coilmeter.values.impedance_rows import AcVolts, ImpedanceRow
from coilmeter.walks.events import Finished, MeterAway, Refused
from coilmeter.walks.impedance_steps import ToneStep
from coilmeter.walks.impedance_told import (
    ToneAgain,
    ToneBegun,
    ToneCaution,
    ToneEvent,
    ToneMade,
    ToneQuiet,
    ToneSkipped,
    ToneStillOn,
    ToneTaken,
    ToneTouched,
)

STEP = ToneStep("3", 1e4, "resistor")
ROW = ImpedanceRow("", 0, "A", "3", volts={"resistor": AcVolts(parse_voltage("98.4 mV"))})
READING = Reading(Function.DC_VOLTAGE, 0.1, "volt", raw=b"", display="0.1 V")


@pytest.mark.parametrize(
    ("event", "words"),
    [
        (ToneTouched(STEP), ""),
        (ToneBegun(STEP, 2, 3), "probes on A and B, across the resistor"),
        (
            ToneBegun(replace(STEP, across="total", connect=True, retune=True), 1, 3),
            "tone to 10 kilohertz. connect coil 3. probes on A and C, across the source",
        ),
        (ToneTaken(STEP, ROW), "98.4 millivolts"),
        (ToneMade(STEP, "L 89.7 mH, Q 2.6"), "L 89.7 millihenries, Q 2.6"),
        (ToneAgain(STEP, "long"), "read all three of coil 3 again: they make no circuit"),
        (ToneQuiet(STEP), "nothing on A and B, across the resistor. Is the tone on?"),
        (ToneStillOn(STEP), "lift the probes for a moment"),
        (ToneCaution("0.2 V across the coil"), "0.2 volts across the coil"),
        (ToneSkipped(STEP), "skipped coil 3 at 10 kilohertz"),
        (Refused("turn it to AC volts", READING), "turn it to AC volts"),
        (MeterAway("unplugged", "plug it in"), "unplugged"),
        (Finished(3, 0), "done: 3 taken"),
    ],
)
def test_what_is_said(event: ToneEvent, words: str) -> None:
    """Few words, no signs, units as they are read aloud."""
    said = tone_spoken(event)

    assert words == said


def test_shown_and_heard(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The screen shows the whole line, the voice says less."""
    out = tmp_path / "said"
    with ToneAloud(ToneLines(), Speaker(program(WRITES, out))) as screen:
        screen.happened(ToneBegun(STEP, 2, 3))
        screen.reading(READING, None)
        with screen.paused():
            pass

    assert "probes on A and B, across the resistor\n" == out.read_text()
    assert "[2/3] coil 3 at 10 kHz, v_resistor" in capsys.readouterr().err


@pytest.mark.skipif(os.name != "posix", reason="the stand-in for the program is a script")
def test_a_walk_is_spoken(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The last words are said to their end, before the program ends."""
    said = tmp_path / "said"
    program_ = tmp_path / "bin" / PROGRAMS[0][0]
    program_.parent.mkdir()
    program_.write_text(f"#!/bin/sh\ncat >> {said}\necho >> {said}\n")
    program_.chmod(0o755)
    monkeypatch.setenv("PATH", f"{program_.parent}{os.pathsep}{os.environ['PATH']}")
    ran = tones(station_with(head(), "plain"), tmp_path, *named("A"), "--coil", "1", "--speak")
    lines = said.read_text().splitlines()

    assert "done: 3 taken" in ran.err
    assert "done: 3 taken" == lines[-1]
    assert any(line.startswith("L 100") and "millihenries" in line for line in lines)


def test_what_is_typed_needs_no_voice() -> None:
    """Whoever types looks at the screen."""
    ran = cli("impedance", "--coils", "2", "--speak")

    assert 2 == ran.code
    assert "--speak without --port" in ran.err
