"""Scripts of the simulator, and lines that come while it runs."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import io
import os
import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import pytest
from helpers import shipped
from simulated_checks import needs_pty

from coilmeter.cli.simulating_input import TypedLines
from coilmeter.cli.simulating_script import Script, read_script
from coilmeter.errors import InputError, MistakesError
from coilmeter.sources.simulated_made import sound_head
from coilmeter.sources.simulated_station import Station
from coilmeter.wire import find


@dataclass
class StillClock:
    """A clock that is set by hand."""

    time_s: float = 1000.0
    sleeps: list[float] = field(default_factory=list)

    def now(self) -> float:
        """Give the time."""
        return self.time_s

    def sleep(self, seconds: float) -> None:
        """Let no time pass."""
        self.sleeps.append(seconds)


CLOCK: Final = StillClock()


def make_station() -> Station:
    """Put a head on a bench whose clock is set by hand."""
    CLOCK.time_s = 1000.0
    head = sound_head(shipped().kind("one-channel-rp"), shipped().bands)
    return Station(head, shipped().meter("handheld-4000"), find("plain"), CLOCK)


def script_of(folder: Path, text: str, station: Station) -> Script:
    """Read the text of a script."""
    path = folder / "practice.txt"
    path.write_text(text, encoding="utf-8")
    return Script(read_script(path, station), station)


def due(script: Script, at_s: float) -> list[str]:
    """Give the lines that are due so many seconds after the start."""
    CLOCK.time_s = 1000.0 + at_s
    return [line.text for line in script.due()]


def test_lines_come_when_their_time_has_come(tmp_path: Path) -> None:
    """Times are counted from wait to wait; blank lines and remarks say nothing."""
    station = make_station()
    text = (
        "# practice\nclip 1 2   # on the coil\n\nwait 2.5\nopen coil 1\nwait 1s\nmend\nlift\n"
    )
    script = script_of(tmp_path, text, station)
    found, ended = [], []
    for at_s in (0.0, 2.4, 2.9, 3.4, 3.5, 99.0):
        found.append(due(script, at_s))
        ended.append(script.ended)

    # The third came late, and the next wait counts from when it was due.
    assert [["clip 1 2"], [], ["open coil 1"], [], ["mend", "lift"], []] == found
    assert [False, False, False, False, True, True] == ended


def test_late_lines_all_come_at_once(tmp_path: Path) -> None:
    """Where the program could not run for a while, nothing is left out."""
    station = make_station()
    script = script_of(tmp_path, "wait 1\nlift\nwait 1\nshort\nwait 1\nlift\n", station)

    assert ["lift", "short", "lift"] == due(script, 60.0)


def test_waiting_until_the_port_is_opened(tmp_path: Path) -> None:
    """Each wait for an opening takes one that has come since the last."""
    station = make_station()
    text = "wait open\nshort\nwait 2\nlift\nwait open\nclip 1 2\n"
    script = script_of(tmp_path, text, station)
    found = [due(script, 50.0)]
    station.wire.opened()
    found += [
        due(script, 60.0),
        due(script, 61.9),
        due(script, 62.0),
    ]
    station.wire.opened()
    found += [due(script, 70.0)]

    assert [[], ["short"], [], ["lift"], ["clip 1 2"]] == found


def test_again_and_again(tmp_path: Path) -> None:
    """A repeat begins at the first line, and keeps the rhythm."""
    station = make_station()
    script = script_of(tmp_path, "short\nwait 1\nlift\nwait 1\nrepeat\n", station)
    found = [due(script, step / 2) for step in range(7)]

    assert [["short"], [], ["lift"], [], ["short"], [], ["lift"]] == found
    assert not script.ended


def test_every_mistake_of_a_script_at_once(tmp_path: Path) -> None:
    """Each with its line, what stands there and what would be right; nothing is begun."""
    path = tmp_path / "practice.txt"
    path.write_text("repeat\nclip 1 7\nwait\nwait long\n\nwait open now\nhodl on\nrepeat it\n")
    with pytest.raises(MistakesError) as caught:
        read_script(path, make_station())
    mistakes = caught.value.mistakes

    assert [1, 2, 3, 4, 6, 7, 8] == [each.line for each in mistakes]
    assert "'clip 1 7'" == mistakes[1].seen
    assert "it would never stop" in mistakes[0].expected
    assert "such as 'wait 2.5'" in mistakes[2].expected
    assert "did you mean hold?" in mistakes[5].expected
    assert "nothing was simulated" in str(caught.value)


def test_a_script_that_cannot_be_read(tmp_path: Path) -> None:
    """Not there, or no text."""
    (tmp_path / "bytes").write_bytes(b"lift\n\xff")
    for name, words in (("none", "cannot be read"), ("bytes", "byte 6 is not UTF-8")):
        with pytest.raises(InputError, match=words):
            read_script(tmp_path / name, make_station())


def test_lines_of_an_input_that_is_no_file(monkeypatch: pytest.MonkeyPatch) -> None:
    """All of it is there at once, the last line without its end too."""
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"lift\n\n short \nqu")))
    lines = TypedLines()

    assert ["lift", "short", "qu"] == lines.ready()
    assert lines.ended
    assert [] == lines.ready()


def test_no_input_at_all(monkeypatch: pytest.MonkeyPatch) -> None:
    """A program without a standard input hears nothing, and goes on."""
    monkeypatch.setattr(sys, "stdin", None)
    lines = TypedLines()

    assert [] == lines.ready()
    assert lines.ended


@pytest.mark.skipif(
    os.name != "posix", reason="the console of another system is read by a thread"
)
def test_lines_come_as_they_are_typed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing waits for a line, halves are put together, and an endless one stays short."""
    ours, theirs = os.pipe()
    with os.fdopen(ours) as near:
        monkeypatch.setattr(sys, "stdin", near)
        lines = TypedLines()
        found = [lines.ready()]
        for data in (b"li", b"ft\nsho", b"rt\n", b"x" * 5000, b"\xff\n"):
            os.write(theirs, data)
            found.append(lines.ready())
        open_still = lines.ended
        os.close(theirs)
        found.append(lines.ready())

    assert [[], [], ["lift"], ["short"], []] == found[:5]
    assert 1000 >= len(found[5][0])
    assert [False, True] == [open_still, lines.ended]
    assert [] == found[6]


@needs_pty
def test_a_terminal_that_is_gone(monkeypatch: pytest.MonkeyPatch) -> None:
    """The end of a terminal is the end of the lines, and no error."""
    near, far = os.openpty()
    with os.fdopen(far) as terminal:
        monkeypatch.setattr(sys, "stdin", terminal)
        monkeypatch.setattr(os, "tcgetpgrp", lambda _: os.getpgrp())
        lines = TypedLines()
        os.close(near)
        found = lines.ready()

    assert [] == found
    assert lines.ended


@needs_pty
def test_in_the_background_of_a_shell(monkeypatch: pytest.MonkeyPatch) -> None:
    """The terminal of another program is not read: the system would stop this one."""
    near, far = os.openpty()
    with os.fdopen(far) as terminal:
        monkeypatch.setattr(sys, "stdin", terminal)
        group = [os.getpgrp() + 1]
        monkeypatch.setattr(os, "tcgetpgrp", lambda _: group[0])
        lines = TypedLines()
        os.write(near, b"lift\n")
        behind = lines.ready()
        group[0] = os.getpgrp()
        before = lines.ready()
        os.close(near)

    assert [] == behind
    assert ["lift"] == before
