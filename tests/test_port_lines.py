"""Rousing a silent meter: control lines in turn, the wake byte, and what is reported."""

from __future__ import annotations

import os
import socket

import pytest

from coilmeter.errors import MeterSilentError
from coilmeter.sources.poll_lines import Rouser, combinations
from coilmeter.sources.poll_link import Link
from coilmeter.sources.port import MeterStream, TimedReading
from coilmeter.wire import find
from coilmeter.wire.contract import Display

DIGITS14 = find("digits14")
BLOCK11 = find("block11")
FRAME = DIGITS14.encode(Display(171.3, 0.1, 400.0))

pseudo_terminals = pytest.mark.skipif(
    not hasattr(os, "openpty"), reason="this system has no pseudo-terminals"
)


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


class FakeWires:
    """Wires that remember what was done to them, and when."""

    def __init__(self, clock: HandClock) -> None:
        self.clock = clock
        self.done: list[tuple[float, object]] = []

    def set_lines(self, lines: tuple[bool, bool]) -> None:
        """Remember."""
        self.done.append((self.clock.time - 100.0, lines))

    def write(self, data: bytes) -> None:
        """Remember."""
        self.done.append((self.clock.time - 100.0, data))


def test_all_combinations_once_those_asked_for_first() -> None:
    """The opposite comes second: one older cable needs it (S22), others the reverse."""
    for asked in [(True, True), (True, False), (False, True), (False, False)]:
        found = combinations(asked)

        assert found[0] == asked
        assert found[1] == (not asked[0], not asked[1])
        assert len(set(found)) == 4


def test_each_combination_has_its_time_and_the_wake_byte_in_the_middle() -> None:
    """In vain at the end of the last one; then it begins again with the first."""
    clock = HandClock()
    wires = FakeWires(clock)
    rouser = Rouser(wires, combinations((True, False)), b"H", 2.0, clock.time)
    ends = []
    for _ in range(24):
        clock.time += 0.5
        if not rouser.go_on(clock.time):
            ends.append(clock.time - 100.0)

    assert wires.done == [
        (1.0, b"H"),
        (2.0, (False, True)),
        (3.0, b"H"),
        (4.0, (True, True)),
        (5.0, b"H"),
        (6.0, (False, False)),
        (7.0, b"H"),
        (8.0, (True, False)),
        (9.0, b"H"),
        (10.0, (False, True)),
        (11.0, b"H"),
        (12.0, (True, True)),
    ]
    assert ends == [8.0]


def test_a_byte_gives_the_combination_its_time_again() -> None:
    """A glitch of a line is a byte too: it must not pass for a meter that talks."""
    clock = HandClock()
    wires = FakeWires(clock)
    rouser = Rouser(wires, combinations((True, False)), b"", 2.0, clock.time)
    clock.time += 1.5
    rouser.heard(clock.time)
    clock.time += 1.5
    waits = rouser.go_on(clock.time)
    clock.time += 0.5
    rouser.go_on(clock.time)

    assert waits
    assert wires.done == [(3.5, (False, True))]


def test_the_combination_that_makes_a_meter_talk_is_reported() -> None:
    """On a port with control lines the others are tried before it is called silent."""
    clock = HandClock()
    with MeterStream("loop://", DIGITS14, clock, silent_after=4.0) as stream:
        assert stream._link is not None
        port = stream._link.port
        seen = []
        for _ in range(3):
            clock.time += 2.0
            assert stream.poll(0) == []
            seen.append((port.dtr, port.rts))
        port.write(FRAME)
        (item,) = stream.poll()

        assert seen == [(False, True), (True, True), (False, False)]
        assert isinstance(item, TimedReading)
        assert stream.found_lines == stream.lines == (False, False)


def test_a_meter_that_talks_at_once_keeps_its_lines() -> None:
    """Nothing is tried, then or when it falls silent later."""
    clock = HandClock()
    with MeterStream("loop://", DIGITS14, clock) as stream:
        assert stream._link is not None
        stream._link.port.write(FRAME)
        stream.poll()
        clock.time += 5.0
        with pytest.raises(MeterSilentError, match=r"no byte came for 5\.0 s") as caught:
            stream.poll(0)

        assert stream.found_lines is None
        assert (stream._link.port.dtr, stream._link.port.rts) == (True, False)
        assert "tried" not in caught.value.hint


def test_silence_is_told_when_all_four_were_tried() -> None:
    """The error says so, and the lines are as they were asked for."""
    clock = HandClock()
    with MeterStream("loop://", DIGITS14, clock) as stream:
        for _ in range(3):
            clock.time += 2.5
            stream.poll(0)
        clock.time += 2.5
        with pytest.raises(MeterSilentError, match=r"no byte came for 10\.0 s") as caught:
            stream.poll(0)

        assert stream._link is not None
        assert (stream._link.port.dtr, stream._link.port.rts) == (True, False)
        assert "now DTR on, RTS off; the other three ways were tried too" in caught.value.hint


def test_lines_that_were_named_are_the_only_ones() -> None:
    """Who says which lines the cable needs is obeyed."""
    clock = HandClock()
    with MeterStream("loop://", DIGITS14, clock, lines=(False, True)) as stream:
        clock.time += 4.9
        early = stream.poll(0)
        clock.time += 0.1
        with pytest.raises(MeterSilentError) as caught:
            stream.poll(0)

        assert early == []
        assert stream.lines == (False, True)
        assert "tried" not in caught.value.hint


def test_the_wake_byte_goes_out_while_nothing_comes() -> None:
    """A meter that waits for it is woken, over a socket too; one that talks never gets it."""
    clock = HandClock()
    with (
        socket.create_server(("127.0.0.1", 0)) as listener,
        MeterStream(
            f"socket://127.0.0.1:{listener.getsockname()[1]}", BLOCK11, clock
        ) as stream,
        listener.accept()[0] as meter,
    ):
        meter.settimeout(10)
        clock.time += 2.4
        stream.poll(0)
        clock.time += 0.1
        stream.poll(0)
        woken = meter.recv(16)
        meter.sendall(BLOCK11.encode(Display(171.3, 0.1, 400.0)))
        items = [item for _ in range(20) for item in stream.poll()]
        clock.time += 4.0
        stream.poll(0)
        meter.setblocking(False)  # noqa: FBT003 - the standard library's own signature
        with pytest.raises(BlockingIOError):
            meter.recv(16)

        assert woken == b"H"
        assert len(items) == 1
        assert stream.found_lines is None


@pseudo_terminals
def test_a_socket_and_a_terminal_have_no_lines() -> None:
    """There is nothing to try on them; on a serial port there is."""
    near, far = os.openpty()
    terminal = Link(os.ttyname(far), 2400, (True, False))
    loop = Link("loop://", 2400, (True, False))
    with socket.create_server(("127.0.0.1", 0)) as listener:
        over_socket = Link(
            f"socket://127.0.0.1:{listener.getsockname()[1]}", 2400, (True, False)
        )
        found = [link.has_lines() for link in (terminal, loop, over_socket)]
        for link in (terminal, loop, over_socket):
            link.close()
    os.close(far)
    os.close(near)

    assert found == [False, True, False]
