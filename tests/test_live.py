"""A walk that listens: keys, typing in between, and what reaches the screen."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import io
import sys
from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, suppress
from pathlib import Path
from typing import TypeAlias

import pytest
from walk_helpers import OL, VOLTS, job_in, names, ohms_of

from coilmeter.cli.checking import key_of_row
from coilmeter.cli.live import run_live
from coilmeter.cli.screen import Lines
from coilmeter.cli.typed import ask, run_typed, say
from coilmeter.errors import PortLostError
from coilmeter.sources.port_events import StreamEvent, TimedReading, TimedReject
from coilmeter.values import Reading
from coilmeter.walks.contact import State
from coilmeter.walks.events import Event, Planned
from coilmeter.wire.contract import Rejected

Part: TypeAlias = tuple[Reading, float] | str | StreamEvent
PORT = "/dev/ttyUSB0"


class Script:
    """A meter and a keyboard in one: readings come in heaps, and keys are pressed between.

    Parameters
    ----------
    parts
        Readings with how long they last in seconds, keys, or what becomes of the connection.

    """

    def __init__(self, *parts: Part) -> None:
        self._parts = list(parts)
        self._keys = ""
        self.at = 0.0
        self.paused_times = 0

    def poll(self) -> list[StreamEvent]:
        """Give what comes next."""
        if not self._parts:
            raise PortLostError("the script is over")
        part = self._parts.pop(0)
        if isinstance(part, str):
            self._keys = part
            return []
        if not isinstance(part, tuple):
            return [part]
        reading, seconds = part
        items: list[StreamEvent] = [TimedReject(self.at, Rejected(b"?", "no frame", 0))]
        for _ in range(round(seconds * 10)):
            self.at += 0.1
            items.append(TimedReading(self.at, reading))
        return items

    def pressed(self) -> str:
        """Keys pressed since the last call."""
        keys, self._keys = self._keys, ""
        return keys

    @contextmanager
    def paused(self) -> Iterator[None]:
        """Count how often the terminal was given back."""
        self.paused_times += 1
        yield


class Watching(Lines):
    """A screen that remembers what it was told."""

    def __init__(self) -> None:
        self.events: list[tuple[Event, str]] = []
        self.shown: list[tuple[Reading, State | None]] = []
        self.paused_times = 0

    def happened(self, event: Event, verdict: str) -> None:
        """Remember an event."""
        self.events.append((event, verdict))

    def reading(self, reading: Reading, state: State | None) -> None:
        """Remember a reading."""
        self.shown.append((reading, state))

    def paused(self) -> AbstractContextManager[None]:
        """Count how often it had to go away."""
        self.paused_times += 1
        return super().paused()


def drive(
    folder: Path, *parts: Part, lead: str = "0.2"
) -> tuple[Script, Watching, list[tuple[str, str]]]:
    """Run a walk over a script; give what was kept as step and text."""
    script, screen = Script(*parts), Watching()
    job = job_in(folder, lead=lead)
    with suppress(PortLostError):
        run_live(job.walk(), job, script, screen, port=PORT, keys=script)
    return script, screen, [(key_of_row(row), row.reading.text) for row in job.keeper.rows]


def type_lines(monkeypatch: pytest.MonkeyPatch, data: bytes) -> None:
    """Have lines come from standard input."""
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data), encoding="utf-8"))


def test_hands_free_to_the_end(tmp_path: Path) -> None:
    """No key: two coils and a path, each with its verdict so far."""
    _, screen, kept = drive(
        tmp_path,
        (OL, 1.5),
        (ohms_of(171.3), 2.0),
        (OL, 8.0),
        (ohms_of(0.2), 0.6),
        (OL, 2.5),
        (ohms_of(172.0), 2.0),
    )
    verdicts = [verdict for event, verdict in screen.events if verdict]

    assert [("coil 1", "171.3 ohm"), ("1 to 2", "OL"), ("coil 2", "172.0 ohm")] == kept
    assert ["intact", "isolated", "intact"] == verdicts
    assert Planned(3, 3, 4) == screen.events[0][0]
    assert "Finished" == names([event for event, _ in screen.events])[-1]


def test_only_the_latest_of_a_heap_is_shown(tmp_path: Path) -> None:
    """A meter that sends more than anyone sees does not slow the screen down."""
    _, screen, _ = drive(tmp_path, (OL, 1.5), (ohms_of(171.3), 2.0), "q")

    assert [(OL, State.WAITING), (ohms_of(171.3), State.LIFTING)] == screen.shown


def test_q_ends_it(tmp_path: Path) -> None:
    """What comes after it is not read."""
    script, _, kept = drive(tmp_path, (OL, 1.5), (ohms_of(171.3), 2.0), "Qsss", (OL, 1.0))

    assert [("coil 1", "171.3 ohm")] == kept
    assert 1 == len(script._parts)


@pytest.mark.parametrize(
    ("keys", "expected"),
    [
        ("o", ["Taken", "Finished"]),
        ("s", ["Skipped"]),
        ("x1 ", []),
        ("k", []),
        ("b", []),
        ("r", []),
    ],
)
def test_one_key_one_command(tmp_path: Path, keys: str, expected: list[str]) -> None:
    """Each key does what the screen says, and other keys nothing."""
    _, screen, _ = drive(tmp_path, (OL, 1.5), keys, "q")

    assert expected[:1] == names([event for event, _ in screen.events])[:1]


def test_back_from_the_keyboard(tmp_path: Path) -> None:
    """The older reading is kept as free, and the new one counts."""
    _, _, kept = drive(
        tmp_path,
        (OL, 1.5),
        (ohms_of(171.3), 2.0),
        "b",
        (OL, 1.5),
        (ohms_of(175.0), 2.0),
        "q",
    )

    assert [("", "171.3 ohm"), ("coil 1", "175.0 ohm")] == kept


def test_typed_in_between(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The screen makes room, a mistake is told and asked again, and the walk goes on."""
    type_lines(monkeypatch, b"17x\n171\n")
    script, screen, kept = drive(
        tmp_path, (OL, 1.5), "t", "", (OL, 1.5), (ohms_of(2.4e6, 1e3), 3.0), "q"
    )
    talk = capsys.readouterr().err

    assert [("coil 1", "171"), ("1 to 2", "2400 kohm")] == kept
    assert (1, 1) == (script.paused_times, screen.paused_times)
    assert "coil 1, reading> " in talk
    assert "saw '17x'" in talk


@pytest.mark.parametrize("data", [b"", b"\n"])
def test_nothing_typed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, data: bytes) -> None:
    """An empty line, or the end of the input, goes back to the meter."""
    type_lines(monkeypatch, data)
    _, _, kept = drive(tmp_path, (OL, 1.5), "t", "", (ohms_of(171.3), 2.0), "q")

    assert [("coil 1", "171.3 ohm")] == kept


def test_an_overload_typed_in_between(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its range is asked for at once."""
    type_lines(monkeypatch, b"OL\n40 Mohm\n")
    _, screen, kept = drive(tmp_path, (OL, 1.5), "t", "q")

    assert [("coil 1", "OL")] == kept
    assert "open" in [verdict for _, verdict in screen.events]


def test_a_listener_hears_everything(tmp_path: Path) -> None:
    """It is told the same events as the screen; without a keyboard no key is pressed."""
    heard: list[Event] = []
    script, screen = Script((OL, 1.5), (VOLTS, 0.5)), Watching()
    job = job_in(tmp_path, lead="0.2")
    with pytest.raises(PortLostError):
        run_live(job.walk(), job, script, screen, listener=heard.append)

    assert heard == [event for event, _ in screen.events]
    assert ["Refused"] == names(heard)


def typed(folder: Path, monkeypatch: pytest.MonkeyPatch, data: bytes) -> Sequence[str]:
    """Run a typed walk; give the texts that were kept."""
    type_lines(monkeypatch, data)
    job = job_in(folder, lead="0.2")
    run_typed(job.walk(), job)
    return [row.reading.text for row in job.keeper.rows]


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"171\nOL 40 Mohm\n172\n", ["171", "OL 40 Mohm", "172"]),
        (b"171\nQUIT\n172\n", ["171"]),
        (b"171\nq\n172\n", ["171"]),
        (b"171\n", ["171"]),
        (b"171", ["171"]),
        (b"", []),
        (b"skip\n172\nkeep\nquit\n", ["172"]),
        (b"170\nback\n171\nquit\n", ["170", "171"]),
        (b"170\nskip\nredo\n171\nquit\n", ["170", "171"]),
        (b"\n?\nhelp\n171\nquit\n", ["171"]),
        (b"\xff\xfe\n\0\n171\nquit\n", ["171"]),
        (b"x" * 5000 + b"\n171\nquit\n", ["171"]),
        (b"171\r\nOL 4 Mohm\r\n", ["171", "OL 4 Mohm"]),
        (b"OL\n40 Mohm\nquit\n", ["OL"]),
        (b"OL\nauto\nquit\n", ["OL"]),
        (b"OL\n\nback\n171\nquit\n", ["171"]),
        (b"OL\nbig\nback\n171\nquit\n", ["171"]),
        (b"OL\nOL\nback\n171\nquit\n", ["171"]),
        (b"OL\n-5\nback\n171\nquit\n", ["171"]),
        (b"OL\n", []),
    ],
)
def test_typed_lines(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, data: bytes, expected: list[str]
) -> None:
    """Words, mistakes, ranges and the end of the input."""
    assert expected == typed(tmp_path, monkeypatch, data)


def test_talk_is_wrapped_on_a_terminal(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Long lines break between words there, and stay whole in a log."""
    text = "one two three four\n  five"
    say(text)
    plain = capsys.readouterr().err
    monkeypatch.setenv("COLUMNS", "10")
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    say(text)

    assert f"{text}\n" == plain
    assert "one two\nthree four\n  five\n" == capsys.readouterr().err


def test_an_answer_is_seen_in_a_log(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """What comes from a pipe is written behind the question, harmlessly."""
    type_lines(monkeypatch, b"171\x1b[2J\n")
    answer = ask("reading> ")

    assert "171\x1b[2J" == answer
    assert "reading> 171?[2J\n" == capsys.readouterr().err
