"""Words spoken aloud: by which program, in what order, and what is left unsaid."""

from __future__ import annotations

import os
import shutil
import sys
import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from helpers import cli
from test_cli_check_live import LIVE, bench
from walk_helpers import ohms_of, steps_of, template

from coilmeter.cli import speech
from coilmeter.cli.screen import Lines
from coilmeter.cli.speech import PROGRAMS, Speaker, find_program
from coilmeter.cli.spoken import Aloud, spoken
from coilmeter.errors import InputError
from coilmeter.units import parse_reading
from coilmeter.values import numbered_kind
from coilmeter.walks.events import (
    AskBridge,
    Begun,
    Contact,
    Event,
    Finished,
    Lift,
    LiftLonger,
    MeterAway,
    NearZeroHeld,
    ReadsLikeACoil,
    Refused,
    Taken,
)

LEADS, COIL, PATH, *_ = steps_of(numbered_kind(2), lead_null=True, isolation=True)
ROW = replace(template(), reading=parse_reading("171.3 ohm"))
WRITES = "import sys; open(sys.argv[1], 'a').write(sys.stdin.read() + '\\n')"
HANGS = "import sys, time; open(sys.argv[1], 'w').write('begun'); time.sleep(60)"


def program(code: str, path: Path) -> tuple[str, ...]:
    """Make a speech program of a line of Python, that writes instead of speaking."""
    return (sys.executable, "-S", "-E", "-c", code, str(path))


def test_the_first_program_of_the_system_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """Which one speaks depends on the system only."""
    monkeypatch.setattr(shutil, "which", lambda name: f"bin/{name}" if name == "say" else None)

    assert find_program() == ("bin/say", "-f", "-")


def test_a_system_without_one_is_told_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    """Asked to speak, the tool must not be silent without a word."""
    monkeypatch.setattr(shutil, "which", lambda _: None)

    with pytest.raises(InputError, match="no speech program") as caught:
        find_program()

    assert all(name in caught.value.hint for name, *_ in PROGRAMS)


def test_texts_are_spoken_in_order_to_the_end(tmp_path: Path) -> None:
    """At a good end, what was said last is heard."""
    out = tmp_path / "said"
    with Speaker(program(WRITES, out)) as speaker:
        speaker.say("first")
        speaker.say("")
        speaker.say("-h; rm")

    assert out.read_text() == "first\n-h; rm\n"
    assert not speaker.failed


def test_what_is_overtaken_is_not_spoken(tmp_path: Path, wait: Callable[[Path], None]) -> None:
    """A voice that lags behind would name the wrong pins."""
    out = tmp_path / "said"
    with Speaker(program(HANGS, out)) as speaker:
        speaker.say("old")
        speaker.say("older still waiting")
        wait(out)
        speaker.hush()

    assert out.read_text() == "begun"
    assert not speaker.failed


def test_an_error_silences_it_at_once(tmp_path: Path, wait: Callable[[Path], None]) -> None:
    """An error message must not wait for a voice."""
    out = tmp_path / "said"
    speaker = Speaker(program(HANGS, out))
    speaker.__enter__()
    speaker.say("old")
    wait(out)
    speaker.__exit__(KeyError, KeyError(), None)

    assert not speaker._thread.is_alive()


@pytest.mark.parametrize("broken", [("no-such-program-here",), ("false",)])
def test_a_program_that_fails_ends_nothing(broken: tuple[str, ...]) -> None:
    """A missing sound card is no reason to lose a measurement."""
    with Speaker(broken) as speaker:
        speaker.say("words")

    assert speaker.failed


def test_a_program_that_hangs_is_ended(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The measurement must be able to end."""
    monkeypatch.setattr(speech, "_LONGEST_S", 0.2)
    with Speaker(program(HANGS, tmp_path / "said")) as speaker:
        speaker.say("old")
        speaker._thread.join(0.5)

    assert speaker.failed


@pytest.mark.parametrize(
    ("event", "verdict", "words"),
    [
        (Begun(COIL, 2, 7), "", "coil 1: pin 1 and pin 2"),
        (Begun(PATH, 3, 7), "", f"{PATH.key}: {PATH.where}"),
        (Contact(COIL), "", ""),
        (Lift(COIL), "", ""),
        (Taken(COIL, ROW), "intact", "171.3 ohms, intact"),
        (
            Taken(COIL, replace(ROW, reading=parse_reading("OL 40 Mohm"))),
            "open",
            "O L 40 mega ohms, open",
        ),
        (AskBridge(COIL), "", "O L. Bridge pin 1 and pin 2 with a metal tip"),
        (NearZeroHeld(COIL), "", "near zero. Lift the tip, or press K"),
        (LiftLonger(COIL), "", "lift for a full second"),
        (
            ReadsLikeACoil(PATH, ROW),
            "",
            f"that reads like a coil. Are the clips on {PATH.where}?",
        ),
        (Refused("turn it to ohms", ohms_of(1.0)), "", "turn it to ohms"),
        (MeterAway("the meter is unplugged", "see"), "", "the meter is unplugged"),
        (Finished(3, 0), "", "done: 3 taken"),
    ],
    ids=lambda value: type(value).__name__ if not isinstance(value, str) else "",
)
def test_what_is_said(event: Event, verdict: str, words: str) -> None:
    """Few words, and no sign that a voice would stumble over."""
    said = spoken(event, verdict)

    assert said == words


def test_a_walk_is_shown_and_heard(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What was taken, then where to go; a step that begins again is not said again."""
    out = tmp_path / "said"
    with Aloud(Lines(), Speaker(program(WRITES, out))) as screen:
        for event in (Begun(COIL, 1, 2), Begun(COIL, 1, 2), Lift(COIL)):
            screen.happened(event, "")
        screen.reading(ohms_of(171.3), None)
        with screen.paused():
            pass

    assert out.read_text() == "coil 1: pin 1 and pin 2\n"
    assert capsys.readouterr().err.count("coil 1") == 2


@pytest.mark.skipif(os.name != "posix", reason="the stand-in for the program is a script")
def test_a_check_is_spoken(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each value with its verdict, then the next pins, in order and to the end."""
    said = tmp_path / "said"
    program_ = tmp_path / "bin" / PROGRAMS[0][0]
    program_.parent.mkdir()
    program_.write_text(f"#!/bin/sh\ncat >> {said}\necho >> {said}\n")
    program_.chmod(0o755)
    monkeypatch.setenv("PATH", f"{program_.parent}{os.pathsep}{os.environ['PATH']}")
    with bench("plain", tmp_path, f"{LIVE} --speak") as process:
        ran = process.end()
    lines = said.read_text().splitlines()

    assert ran.code == 0
    assert "coil 1: pin 1 and pin 2" in lines
    assert "O L, isolated" in lines
    assert lines[-1] == "done: 4 taken"
    assert sum(line.endswith("ohms, intact") for line in lines) == 2


def test_what_is_typed_needs_no_voice() -> None:
    """Whoever types looks at the screen."""
    ran = cli("check", "--coils", "2", "--speak")

    assert ran.code == 2
    assert "--speak without --port" in ran.err


@pytest.fixture
def wait() -> Callable[[Path], None]:
    """Wait until a file is there."""

    def until(path: Path) -> None:
        pause = threading.Event()
        for _ in range(500):
            if path.exists() and path.read_text():
                return
            pause.wait(0.02)
        raise AssertionError(path)

    return until
