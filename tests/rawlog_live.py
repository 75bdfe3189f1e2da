"""Wires that are logged as the command does, what was read live, and what a replay gives."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import pytest
from cables import HandClock

from coilmeter.sources import port as port_module
from coilmeter.sources.port import MeterStream, TimedReading, TimedReject
from coilmeter.sources.rawlog import Kind, LogHead
from coilmeter.sources.rawlog_replay import Replay
from coilmeter.sources.rawlog_tally import Answers
from coilmeter.sources.rawlog_tap import Tap
from coilmeter.sources.rawlog_writer import RawLog
from coilmeter.values import Reading
from coilmeter.wire import find, formats
from coilmeter.wire.contract import Display
from coilmeter.wire.dialogue import polled
from coilmeter.wire.responder import Responder

START = datetime(2026, 11, 25, 9, 10, 39, tzinfo=UTC)
FORMATS = sorted(formats())

Told = list[tuple[str, str]]


def told(items: list[Reading | object]) -> Told:
    """Reduce answers to what a person would compare: display or reason."""
    return [
        ("read", item.display) if isinstance(item, Reading) else ("rejected", item.reason)  # type: ignore[attr-defined]
        for item in items
    ]


def replayed(replay: Replay) -> Told:
    """Go through a replay."""
    items: list[Reading | object] = []
    for event in replay.events():
        if isinstance(event, Answers):
            assert len(event.at) == len(event.items)
            items += event.items
    return told(items)


@dataclass
class Wire:
    """A port made of pieces that are read one after the other, each with the time it takes.

    A meter that is asked answers what is written to it.
    """

    clock: HandClock
    pieces: list[tuple[float, bytes]] = field(default_factory=list)
    responder: Responder | None = None
    mute: bool = False

    def read(self, wait_s: float) -> bytes:
        """Give the next piece."""
        if not self.pieces:
            self.clock.time += wait_s
            return b""
        delay, data = self.pieces.pop(0)
        self.clock.time += delay
        return data

    def write(self, data: bytes) -> None:
        """Have the meter answer, a tenth of a second later."""
        if self.responder is not None:
            answer = self.responder.receive(data)
            if answer and not self.mute:
                self.pieces.append((0.1, answer))

    def has_lines(self) -> bool:
        """Tell that there are no control lines."""
        return False

    def close(self) -> None:
        """Let the port go."""


def logged(
    path: Path, form_name: str, wire: Wire, patch: pytest.MonkeyPatch, polls: int
) -> Told:
    """Log a wire as the command does, and give what the live source made of it."""
    form = find(form_name)
    clock = wire.clock
    tap = Tap(form, clock.now)
    items: list[Reading | object] = []
    patch.setattr(port_module, "Link", lambda *_, **__: wire)
    began = clock.now()
    head = LogHead(START, "socket://127.0.0.1:1", form_name)
    stream = MeterStream("socket://127.0.0.1:1", tap.format, clock, silent_after=math.inf)
    stream.unreadable_after = math.inf  # type: ignore[attr-defined]
    stream._health._unreadable_after = math.inf
    with RawLog(path, head) as log, stream:
        for _ in range(polls):
            arrived: list[TimedReading | TimedReject] = stream.poll()
            items += [
                item.reading if isinstance(item, TimedReading) else item.rejected
                for item in arrived
            ]
            for heard in tap.take(arrived):
                log.record(heard.at - began, heard.kind, heard.raw, heard.text)
        left = tap.forget()
        if left:
            log.record(clock.now() - began, Kind.PART, left, "the end")
    return told(items)


def example_display(name: str, value: float) -> Display:
    """Show a value on a range that the meters of a format have."""
    return Display(value, *((0.01, 220.0) if name == "block14" else (0.1, 400.0)))


def stream_of(name: str) -> bytes:
    """Bytes of a meter: the examples of a format, junk, and readings."""
    form = find(name)
    frames = [example.raw for example in form.examples]
    displays = [example_display(name, value) for value in (0.0, 171.3, 199.9)]
    frames += [form.encode(display) for display in displays]
    return b"".join([*frames, b"\x00\xffjunk\r\n", *frames[-4:]])


streaming = [name for name in FORMATS if polled(find(name)) is None]


def shows() -> list[Display]:
    """Give what a meter shows in turn, over-range in the middle."""
    over = Display(math.inf, 1e4, 40e6, overload=True)
    return (
        [Display(value, 0.1, 400.0) for value in (171.3, 171.4)]
        + [over, over]
        + [Display(98.7, 0.1, 400.0)] * 99
    )
