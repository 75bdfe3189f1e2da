"""What the screen shows while AC volts are read: in plain lines, and drawn."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import io
import sys

import pytest
from impedance_bench import shown
from screens_drawn import console_on

from coilmeter.cli.impedance_screen import KEYS, ToneBench, ToneLines, make_tone_screen
from coilmeter.cli.impedance_words import WIRING, tone_sentence
from coilmeter.units.voltages import VoltageText
from coilmeter.values import Function
from coilmeter.values.impedance_rows import AcVolts, ImpedanceRow
from coilmeter.walks.events import Finished, LowBattery, MeterAway, MeterBack, Refused
from coilmeter.walks.impedance_contact import VoltsState
from coilmeter.walks.impedance_steps import ToneStep, plan_tones
from coilmeter.walks.impedance_told import (
    ToneAgain,
    ToneBegun,
    ToneCaution,
    ToneEvent,
    ToneMade,
    ToneMoving,
    ToneQuiet,
    ToneSkipped,
    TonesPlanned,
    ToneStillOn,
    ToneTaken,
    ToneTouched,
)

TOTAL, RESISTOR, *_ = plan_tones(["1", "2"], [10e3])
VOLTS = AcVolts(VoltageText(0.15, 1e-4, "150.0 mV"))
ROW = ImpedanceRow("", 0, "A", "1", 10e3, volts={"total": VOLTS})
READING = shown(0.15)


class Drawn:
    """A big screen on a terminal that is a string."""

    def __init__(self, width: int = 80, height: int = 40) -> None:
        self.file = io.StringIO()
        self.size = (width, height)
        self.bench = ToneBench(console_on(self.file, *self.size))

    def now(self, *events: ToneEvent) -> str:
        """Show events, then give the screen as drawn last."""
        for event in events:
            self.bench.happened(event)
        paper = io.StringIO()
        console_on(paper, *self.size).print(self.bench._live.renderable)
        return paper.getvalue()


def test_where_the_probes_go_and_what_is_taken() -> None:
    """The step, the live value, the wiring, the list of what is taken, the keys."""
    drawn = Drawn()
    first = drawn.now(ToneBegun(TOTAL, 1, 6))
    drawn.bench.reading(READING, VoltsState.WAITING)
    waiting = drawn.now()
    taken = drawn.now(
        ToneTaken(TOTAL, ROW), ToneBegun(RESISTOR, 2, 6), ToneMade(TOTAL, "L 100 mH")
    )

    assert "[1/6] v_total: tone to 10 kHz; connect coil 1; probes on A and C" in first
    assert WIRING.splitlines()[0].strip() in waiting
    assert KEYS in waiting
    assert "taken  coil 1 at 10 kHz, v_total  150.0 mV" in taken
    assert "coil 1 at 10 kHz: L 100 mH" in taken


LONG = plan_tones(["left front, upper gap"], [12.5e3])[0]


@pytest.mark.parametrize("step", [TOTAL, RESISTOR, LONG])
@pytest.mark.parametrize("width", [40, 60, 80, 100, 140])
def test_the_points_are_never_cut_off(step: ToneStep, width: int) -> None:
    """Whatever else a narrow screen has no room for, it says where the probes go."""
    line = Drawn(width).now(ToneBegun(step, 1, 6)).splitlines()[1]

    assert f"probes on {' and '.join(step.points)}" in line


def test_a_wide_screen_says_all_of_it() -> None:
    """With room for it, nothing of the step is left out."""
    line = Drawn(140).now(ToneBegun(TOTAL, 1, 6)).splitlines()[1]

    assert tone_sentence(ToneBegun(TOTAL, 1, 6)) in line


def test_a_small_terminal_keeps_value_advice_and_keys() -> None:
    """On 80 by 24 and on 80 by 16 nothing needed is cut off."""
    for height in (24, 16):
        drawn = Drawn(height=height)
        drawn.now(ToneBegun(TOTAL, 1, 6), ToneQuiet(TOTAL))
        drawn.bench.reading(READING, VoltsState.SETTLING)
        text = drawn.now()

        assert len(text.splitlines()) <= height
        assert "nothing there" in text
        assert KEYS in text
        assert "mV" in text


def test_a_refusal_stays_until_the_dial_is_right() -> None:
    """METER stands in big letters; with the dial on AC volts, the advice goes, tone or not."""
    drawn = Drawn()
    direct = shown(0.1, function=Function.DC_VOLTAGE)
    drawn.now(ToneBegun(TOTAL, 1, 6), Refused("the meter is on DC volts", direct))
    drawn.bench.reading(direct, VoltsState.WAITING)
    refused = drawn.now()
    drawn.bench.reading(shown(-0.001, resolution=1e-3), VoltsState.WAITING)

    assert "the meter is on DC volts" in refused
    assert "the meter is on DC volts" not in drawn.now()


def test_bells() -> None:
    """One for a voltage, two for a coil, three for what asks for hands."""
    drawn = Drawn()
    drawn.now(ToneTaken(TOTAL, ROW))
    once = drawn.file.getvalue().count("\a")
    drawn.now(ToneMade(TOTAL, "L"), ToneCaution("loud"), ToneTouched(TOTAL))

    assert 1 == once
    assert 1 + 2 + 3 == drawn.file.getvalue().count("\a")


def test_it_leaves_what_was_taken_and_gets_out_of_the_way() -> None:
    """After the end the list stands; while a person types, nothing is drawn."""
    drawn = Drawn()
    with drawn.bench as bench:
        drawn.now(ToneBegun(TOTAL, 1, 6), ToneTaken(TOTAL, ROW))
        with bench.paused():
            pass

    assert drawn.file.getvalue().rstrip().endswith("v_total  150.0 mV")


def test_plain_lines(capsys: pytest.CaptureFixture[str]) -> None:
    """A line an event on standard error, none for a reading."""
    with ToneLines() as lines:
        lines.happened(ToneBegun(TOTAL, 1, 6))
        lines.happened(ToneTaken(TOTAL, ROW))
        lines.reading(READING, None)
        with lines.paused():
            pass
    found = capsys.readouterr()

    assert "" == found.out
    assert 2 == len(found.err.splitlines())
    assert found.err.splitlines()[1].startswith("    taken")


def test_the_screen_that_fits(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lines in a pipe, the big screen on a terminal."""
    monkeypatch.setattr(sys.stderr, "isatty", lambda: False, raising=False)
    assert isinstance(make_tone_screen(), ToneLines)
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    assert isinstance(make_tone_screen(), ToneBench)


@pytest.mark.parametrize(
    ("event", "words"),
    [
        (TonesPlanned(6, 6), "6 voltages"),
        (TonesPlanned(2, 6), "2 of 6 voltages left"),
        (ToneMoving(TOTAL), "does not settle"),
        (ToneStillOn(TOTAL), "lift the probes for a moment"),
        (ToneAgain(TOTAL, "no triangle"), "read all three of coil 1 at 10 kHz again"),
        (ToneSkipped(TOTAL), "skipped coil 1 at 10 kHz"),
        (LowBattery(READING), "battery is low"),
        (MeterAway("unplugged", "plug it in"), "unplugged: plug it in"),
        (MeterBack("back"), "back"),
        (Finished(3, 3), "done: 3 taken, 3 skipped"),
        (ToneTouched(TOTAL), "contact"),
    ],
)
def test_sentences(event: ToneEvent, words: str) -> None:
    """Each event has its line."""
    assert words in tone_sentence(event)
