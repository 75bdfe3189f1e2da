"""A cable that a test pulls out and puts in, and what comes of a stream behind it."""

from __future__ import annotations

import math
import time
from collections import deque
from collections.abc import Callable

import pytest

from coilmeter.errors import CoilmeterError, PortLostError
from coilmeter.sources import port as port_module
from coilmeter.sources.poll_lines import Lines
from coilmeter.sources.port import MeterStream
from coilmeter.sources.port_events import StreamEvent, TimedReading, TimedReject
from coilmeter.sources.port_lasting import LastingStream
from coilmeter.wire import find
from coilmeter.wire.contract import Display, Format

DIGITS14 = find("digits14")


class HandClock:
    """A clock that a test sets."""

    def __init__(self) -> None:
        self.time = 100.0

    def now(self) -> float:
        """Return the time as set."""
        return self.time

    def sleep(self, seconds: float) -> None:
        """Let the time pass at once."""
        self.time += seconds


class Cable:
    """A cable of which a test says what comes through it, and when it is there.

    It stands in for the port itself, since neither a loop nor a pseudo-terminal has control
    lines that go away.
    """

    def __init__(self) -> None:
        self.arriving: deque[bytes | Exception] = deque()
        self.refusal: CoilmeterError | None = None
        self.done: list[object] = []

    def open(self, url: str, baud: int, lines: Lines) -> Cable:
        """Open it as a `Link` is opened."""
        if self.refusal is not None:
            raise self.refusal
        self.done.append((url, baud, lines))
        return self

    def close(self) -> None:
        """Give it back."""

    def has_lines(self) -> bool:
        """Tell that it has control lines."""
        return True

    def set_lines(self, lines: Lines) -> None:
        """Set them."""
        self.done.append(lines)

    def write(self, data: bytes) -> None:
        """Take bytes."""
        self.done.append(data)

    def read(self, wait_s: float) -> bytes:  # noqa: ARG002 - as a link is read
        """Give what comes next."""
        next_one = self.arriving.popleft() if self.arriving else b""
        if isinstance(next_one, Exception):
            raise next_one
        return next_one


GONE = PortLostError("the port is gone")


def frame(ohm: float, form: Format = DIGITS14) -> bytes:
    """Encode a reading on a 400 ohm range."""
    return form.encode(Display(ohm, 0.1, 400.0))


def shown(events: list[StreamEvent]) -> list[object]:
    """Reduce readings to their values, rejected bytes to themselves, and others to names."""
    return [
        event.reading.value
        if isinstance(event, TimedReading)
        else event.rejected.raw
        if isinstance(event, TimedReject)
        else type(event).__name__
        for event in events
    ]


def put_in(monkeypatch: pytest.MonkeyPatch) -> Cable:
    """Have every port be one cable, and no real time pass."""
    found = Cable()
    monkeypatch.setattr(port_module, "Link", found.open)
    monkeypatch.setattr(time, "sleep", lambda _: None)
    return found


def lasting(
    clock: HandClock, form: Format = DIGITS14, wait_s: float = math.inf, url: str = "loop://"
) -> LastingStream:
    """Make a stream."""
    return LastingStream(MeterStream(url, form, clock), clock, wait_s=wait_s)


def poll_until(
    stream: LastingStream, wanted: Callable[[list[StreamEvent]], bool]
) -> list[StreamEvent]:
    """Poll until enough has come; give up after some hundred polls."""
    events: list[StreamEvent] = []
    for _ in range(400):
        events += stream.poll()
        if wanted(events):
            return events
    raise AssertionError(f"only {shown(events)} came")


def has(kind: type[StreamEvent], times: int = 1) -> Callable[[list[StreamEvent]], bool]:
    """Whether so many events of a kind have come."""
    return lambda events: times <= sum(isinstance(event, kind) for event in events)
