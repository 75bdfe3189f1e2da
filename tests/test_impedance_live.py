"""The loop of a walk over AC volts: readings, keys, typed voltages, a meter that goes away."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import io
import sys
from collections.abc import Sequence
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path

import pytest
from impedance_bench import TRUE, Bench, shown

from coilmeter.cli.impedance_live import run_tones
from coilmeter.cli.impedance_screen import ToneLines
from coilmeter.errors import MeterSilentError, PortLostError
from coilmeter.sources.port_events import (
    FellSilent,
    LinkBack,
    LinkLost,
    StreamEvent,
    TimedReading,
    TimedReject,
)
from coilmeter.values import Reading
from coilmeter.wire.contract import Rejected


class Keys:
    """A keyboard on which keys are pressed at given polls."""

    def __init__(self, presses: dict[int, str]) -> None:
        self._presses = presses
        self._polls = 0

    def pressed(self) -> str:
        """Give the keys of this poll."""
        self._polls += 1
        return self._presses.get(self._polls, "")

    def paused(self) -> AbstractContextManager[None]:
        """Do nothing."""
        return nullcontext()


class Stream:
    """A meter that gives what it is told to, a poll after the other, then the last for ever."""

    def __init__(self, polls: Sequence[Sequence[StreamEvent]]) -> None:
        self._polls = list(polls)

    def poll(self) -> Sequence[StreamEvent]:
        """Give the next."""
        return self._polls.pop(0) if self._polls else ()


def held(volt: float, start: float, reading: Reading | None = None) -> list[list[StreamEvent]]:
    """Give two seconds of a voltage, a reading a poll."""
    return [[TimedReading(start + 0.2 * n, reading or shown(volt))] for n in range(10)]


def typed(monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    """Have lines typed at standard input."""
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode())))


def test_keys(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Next, type (with a slip), redo, skip, an unknown key, and the end."""
    bench = Bench(tmp_path / "a.csv", ("1", "2"))
    typed(monkeypatch, "what\n117.2 mV\n\n")
    polls = held(TRUE[0], 0.0) + held(TRUE[1], 2.0)
    keys = Keys({10: "n", 20: "r", 21: "t", 22: "t", 23: "x", 24: "s", 25: "Q"})
    run_tones(bench.walk, Stream(polls), ToneLines(), keys=keys)
    told = capsys.readouterr().err

    assert ["coil 1 at 10 kHz, v_total", "coil 1 at 10 kHz, v_resistor"] == list(
        bench.walk.taken
    )
    assert "saw 'what'" in told
    assert "skipped coil 1 at 10 kHz" in told
    assert not bench.walk.finished


def test_what_piled_up_while_a_person_typed_is_passed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Neither what the meter sent meanwhile nor what the probes still sit on is the next."""
    bench = Bench(tmp_path / "a.csv")
    typed(monkeypatch, "150.0 mV\n")
    air: list[list[StreamEvent]] = [[TimedReading(0.2 * n, shown(0.0006))] for n in range(5)]
    piled: list[StreamEvent] = [TimedReading(1.0 + 0.2 * n, shown(0.0006)) for n in range(10)]
    piled += [TimedReading(3.0 + 0.2 * n, shown(TRUE[0])) for n in range(20)]
    polls: list[list[StreamEvent]] = [*air, piled, []]
    polls += [*held(TRUE[0], 7.0), *held(TRUE[0], 9.0)]
    run_tones(bench.walk, Stream(polls), ToneLines(), keys=Keys({5: "t", 30: "q"}))

    assert ["coil 1 at 10 kHz, v_total"] == list(bench.walk.taken)


def test_a_meter_that_goes_away_and_comes_back(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It is told of, and the walk goes on; rejected frames are passed over."""
    bench = Bench(tmp_path / "a.csv")
    lost = LinkLost(1.0, PortLostError("gone"))
    polls: list[list[StreamEvent]] = [
        *held(TRUE[0], 0.0),
        [lost],
        [LinkBack(3.0, "port", 2.0), TimedReject(3.1, Rejected(b"x", "no frame", 0))],
    ]
    run_tones(bench.walk, Stream(polls), ToneLines(), port="port", keys=Keys({20: "q"}))
    told = capsys.readouterr().err

    assert "taken  coil 1 at 10 kHz, v_total" in told
    assert "the meter is unplugged" in told
    assert "the meter is back" in told


def test_a_meter_that_never_talks_ends_it(tmp_path: Path) -> None:
    """Nothing was measured yet: a person sets it right and begins again."""
    bench = Bench(tmp_path / "a.csv")
    silent = FellSilent(5.0, MeterSilentError("nothing came"))
    with pytest.raises(MeterSilentError):
        run_tones(bench.walk, Stream([[silent]]), ToneLines())
