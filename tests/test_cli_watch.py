"""`coilmeter meter watch`: the big reading, its flags and bytes, and what is no frame."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import functools
import io
import threading
from contextlib import ExitStack
from dataclasses import replace
from typing import Final

import pytest
from helpers import Ran, cli
from rich.console import Console
from rich.live import Live
from walk_helpers import VOLTS, ohms_of
from walk_processes import LineMeter

from coilmeter.cli import connection
from coilmeter.cli.watching import Watch, _Shown, facts_of, hex_of
from coilmeter.sources.port import MeterStream
from coilmeter.values import Flag, Reading

OHMS: Final = replace(ohms_of(171.3), full_scale=400.0, raw=bytes.fromhex("2B31"))


def watch(*words: str, line: str = "171.3 ohm", rate_hz: float = 50.0) -> Ran:
    """Watch a meter that sends one line over and over."""
    with LineMeter(line, rate_hz).serving() as meter:
        return cli("meter", "watch", "--port", meter.url, "--format", "plain", *words)


def drawn(*seen: Watch, width: int = 90) -> str:
    """Draw what was seen on a terminal, one after the other."""
    file = io.StringIO()
    console = Console(file=file, force_terminal=True, width=width, height=30, _environ={})
    shown = _Shown()
    shown._live = Live(console=console, auto_refresh=False, transient=True)
    shown._live.start()
    with shown:
        for each in seen:
            shown.draw(each)
        shown.line(OHMS)
        shown.note("nothing is printed beside the screen")
    return file.getvalue()


def seen(*readings: Reading, **more: str) -> Watch:
    """Have seen some readings, ten a second."""
    found = Watch()
    for number, reading in enumerate(readings):
        found.take(number / 10, reading)
    for name, text in more.items():
        setattr(found, name, text)
    return found


def test_so_many_readings() -> None:
    """Each with what it carries and its bytes; then how many there were."""
    ran = watch("--count", "3")
    lines = ran.out.splitlines()

    assert 0 == ran.code
    assert 3 == len(lines)
    assert {"171.3 ohm  [resistance, last digit 0.1 ohm]"} == {
        line.rpartition("  ")[0] for line in lines
    }
    assert all("31 37 31 2E 33 20 6F 68 6D 0A" in line for line in lines)
    # The first line after opening may have lost its beginning: it is shown as no frame.
    assert "no frame: 31 37 31" in ran.err
    assert "3 readings" in ran.err
    assert "1 stretch that are no frame" in ran.err


def test_for_a_time() -> None:
    """It ends by itself."""
    ran = watch("--for", "1s")

    assert 0 == ran.code
    assert ran.out


def test_a_time_without_a_reading() -> None:
    """It ends with 1 where it saw none."""
    ran = watch("--for", "0.5s", line="")

    assert 1 == ran.code
    assert "0 readings; 0 stretches that are no frame" in ran.err


def test_a_meter_that_says_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """The check list, and exit code 3."""
    silent = functools.partial(MeterStream, silent_after=0.3)
    monkeypatch.setattr(connection, "MeterStream", silent)
    ran = watch(line="")

    assert 3 == ran.code
    assert "go through this list" in ran.err


def test_what_is_no_frame_is_shown_with_its_reason() -> None:
    """Between readings it stops nothing."""
    with LineMeter("171.3 ohm", 40.0).serving() as meter:
        change = threading.Timer(0.5, lambda: setattr(meter, "line", "171,3 ohm"))
        back = threading.Timer(0.8, lambda: setattr(meter, "line", "172.4 ohm hold"))
        change.start()
        back.start()
        ran = cli(
            *("meter", "watch", "--port", meter.url, "--format", "plain", "--count", "40")
        )
        change.join()
        back.join()

    assert 0 == ran.code
    assert "no frame: 31 37 31 2C 33" in ran.err
    assert "(begins neither with a number (decimal point, no comma) nor with OL)" in ran.err
    assert "172.4 ohm  [resistance, last digit 0.1 ohm, hold]" in ran.out


@pytest.mark.parametrize("words", [("--count", "0"), ("--for", "soon"), ("--baud", "0")])
def test_what_cannot_be(words: tuple[str, ...]) -> None:
    """Exit code 2, and no traceback."""
    ran = watch(*words)

    assert 2 == ran.code
    assert "Traceback" not in ran.err


def test_a_meter_that_goes_is_said() -> None:
    """A line where there is no screen; it is waited for, and given up."""
    meter = LineMeter("171.3 ohm", 40.0)
    with ExitStack() as stack:
        stack.enter_context(meter.serving())
        threading.Timer(0.6, stack.close).start()
        ran = cli(*("meter", "watch", "--port", meter.url, "--format", "plain", "--wait", "1s"))

    assert 3 == ran.code
    assert "the connection to the meter is gone: it is joined again" in ran.err
    assert "Ctrl-C ends" in ran.err
    assert "and not back after 1 s" in ran.err


def test_the_big_screen() -> None:
    """Value, what it carries, bytes, what was none, advice and counts."""
    text = drawn(seen(OHMS, OHMS, OHMS, no_frame="no frame: 2C", advice="mind this"))

    assert "resistance, range to 400 ohm, last digit 0.1 ohm" in text
    assert "2B 31" in text
    assert "no frame: 2C" in text
    assert "mind this" in text
    assert "3 readings, 10.0 a second; 0 stretches that are no frame" in text
    assert "beside the screen" not in text


@pytest.mark.parametrize(
    ("flag", "mark"),
    [
        (Flag.HOLD, "HOLD"),
        (Flag.RELATIVE, "REL"),
        (Flag.MAXIMUM, "MAX"),
        (Flag.MINIMUM, "MIN"),
        (Flag.LOW_BATTERY, "BATTERY"),
        (Flag.AUTO, ""),
    ],
)
def test_flags_that_must_be_seen_from_afar(flag: Flag, mark: str) -> None:
    """Without them a reading is not what it seems."""
    found = seen(replace(OHMS, flags=frozenset({flag})))

    assert mark == found.marks
    assert flag.replace("_", " ") in facts_of(found.latest or OHMS)


def test_flags_are_drawn_large() -> None:
    """Where there is room, as large as the value."""
    plain = drawn(seen(OHMS))
    held = drawn(seen(replace(OHMS, flags=frozenset({Flag.HOLD}))))

    assert held.count("\u2588") > plain.count("\u2588") + 30


def test_a_meter_that_is_away_shows_nothing() -> None:
    """What it showed last is no longer what it shows."""
    away = seen(OHMS)
    away.latest = None

    assert "" == away.marks
    assert "2B 31" not in drawn(away)


def test_another_function_has_its_own_unit() -> None:
    """The last digit of a voltage is no resistance."""
    assert "dc voltage, last digit 0.001 volt" == facts_of(VOLTS)


def test_many_bytes_are_cut() -> None:
    """A line of bytes is a line."""
    assert hex_of(bytes(30)).endswith("00 00 ...")
    assert "00 01" == hex_of(bytes([0, 1]))


def test_a_rate_needs_time() -> None:
    """One reading has none, nor have two of one moment."""
    same = Watch()
    same.take(1.0, OHMS)
    same.take(1.0, OHMS)

    assert 0.0 == Watch().rate_hz == same.rate_hz
