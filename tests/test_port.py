"""Live ports: real pseudo-terminals and loopback sockets, and everything that goes wrong."""

from __future__ import annotations

import os
import socket
import struct
import time
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from coilmeter.errors import (
    MeterSilentError,
    MeterUnreadableError,
    PortLostError,
)
from coilmeter.sources.clock import RealClock
from coilmeter.sources.port import LONGEST_WAIT_S, MeterStream, TimedReading, TimedReject
from coilmeter.wire import find
from coilmeter.wire.contract import Display

DIGITS14 = find("digits14")
PLAIN = find("plain")

pseudo_terminals = pytest.mark.skipif(
    not hasattr(os, "openpty"), reason="this system has no pseudo-terminals"
)


class HandClock:
    """A clock that a test sets; its sleep lets the time pass at once."""

    def __init__(self) -> None:
        self.time = 100.0

    def now(self) -> float:
        """Return the time as set."""
        return self.time

    def sleep(self, seconds: float) -> None:
        """Let the time pass at once."""
        self.time += seconds


def frame(ohm: float) -> bytes:
    """Encode a reading on a 400 ohm range."""
    return DIGITS14.encode(Display(ohm, 0.1, 400.0))


@contextmanager
def terminal() -> Iterator[tuple[int, str]]:
    """Open a pseudo-terminal; give the meter's end and the name of the other."""
    meter, ours = os.openpty()
    try:
        yield meter, os.ttyname(ours)
    finally:
        os.close(ours)
        os.close(meter)


@contextmanager
def server() -> Iterator[tuple[socket.socket, str]]:
    """Listen on the loopback address; give the listener and its URL."""
    with socket.create_server(("127.0.0.1", 0)) as listener:
        yield listener, f"socket://127.0.0.1:{listener.getsockname()[1]}"


def poll_until(stream: MeterStream, count: int) -> list[TimedReading | TimedReject]:
    """Poll until so many items came; give up after some hundred empty polls."""
    items: list[TimedReading | TimedReject] = []
    for _ in range(200):
        items += stream.poll()
        if len(items) >= count:
            return items
    raise AssertionError(f"{len(items)} of {count} items came")


def values(items: list[TimedReading | TimedReject]) -> list[float | None]:
    """Keep the values of the readings."""
    return [item.reading.value for item in items if isinstance(item, TimedReading)]


@pseudo_terminals
def test_readings_arrive_over_a_pseudo_terminal() -> None:
    """Bytes in any pieces become readings with the clock's time, and are counted."""
    clock = HandClock()
    with terminal() as (meter, name), MeterStream(name, DIGITS14, clock) as stream:
        os.write(meter, frame(1.0)[5:] + frame(2.0) + frame(3.0)[:4])
        first = poll_until(stream, 2)
        clock.time = 101.5
        os.write(meter, frame(3.0)[4:])
        second = poll_until(stream, 1)

        assert isinstance(first[0], TimedReject)
        assert first[0].rejected.raw == frame(1.0)[5:]
        assert values(first) == [2.0]
        assert values(second) == [3.0]
        assert [item.at for item in first + second] == [100.0, 100.0, 101.5]
        assert (stream.bytes_in, stream.decoded, stream.rejected) == (37, 2, 1)


def test_readings_arrive_over_a_socket() -> None:
    """A loopback socket carries the same bytes."""
    with (
        server() as (listener, url),
        MeterStream(url, DIGITS14, RealClock()) as stream,
        listener.accept()[0] as meter,
    ):
        meter.sendall(frame(212.3) * 3)

        assert values(poll_until(stream, 3)) == [212.3] * 3


def test_readings_arrive_over_a_port_without_a_descriptor() -> None:
    """Where a port cannot be waited for by the system, it is asked again and again."""
    with MeterStream("loop://", DIGITS14, RealClock()) as stream:
        assert stream._link is not None
        assert stream.poll() == []
        stream._link.port.write(frame(212.3))

        assert values(poll_until(stream, 1)) == [212.3]


def test_a_byte_that_comes_while_waiting_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    """Waiting on a port without a descriptor ends early when bytes come, or at its end."""
    with MeterStream("loop://", DIGITS14, RealClock()) as stream:
        assert stream._link is not None
        port = stream._link.port
        naps: list[float] = []
        monkeypatch.setattr(time, "sleep", naps.append)
        stream.poll(60.0)
        asked = sum(naps)
        monkeypatch.setattr(time, "sleep", lambda _: port.write(frame(1.0)[: len(naps)]))
        stream.poll()

        assert asked == pytest.approx(LONGEST_WAIT_S)
        assert stream.bytes_in == len(naps)


def test_the_first_line_is_refused_where_its_beginning_may_be_missing() -> None:
    """Of '234.5 ohm' cut on opening, '4.5 ohm' would be left: the line is not believed."""
    with (
        server() as (listener, url),
        MeterStream(url, PLAIN, RealClock()) as stream,
        listener.accept()[0] as meter,
    ):
        meter.sendall(b"4.5 ohm\n234.5 ohm\n")
        items = poll_until(stream, 2)

        assert isinstance(items[0], TimedReject)
        assert "its beginning may be missing" in items[0].rejected.reason
        assert values(items) == [234.5]
        assert (stream.decoded, stream.rejected) == (1, 1)


def test_the_line_after_a_refused_first_one_is_whole() -> None:
    """Once a line end was seen, the next line is believed."""
    with (
        server() as (listener, url),
        MeterStream(url, PLAIN, RealClock()) as stream,
        listener.accept()[0] as meter,
    ):
        meter.sendall(b"hm\n234.5 ohm\n")

        assert values(poll_until(stream, 2)) == [234.5]


@pseudo_terminals
@pytest.mark.parametrize(
    ("baud", "lines", "expected"),
    [(None, None, (2400, True, False)), (19200, (False, True), (19200, False, True))],
)
def test_the_port_is_opened_with_eight_bits_and_the_lines_set(
    baud: int | None, lines: tuple[bool, bool] | None, expected: tuple[int, bool, bool]
) -> None:
    """Rate and control lines are the format's or those asked for; bits are always 8N1."""
    with (
        terminal() as (_, name),
        MeterStream(name, DIGITS14, RealClock(), baud=baud, lines=lines) as stream,
    ):
        assert stream._link is not None
        port = stream._link.port

        assert (port.baudrate, port.dtr, port.rts) == expected
        assert (port.bytesize, port.parity, port.stopbits) == (8, "N", 1)


@pseudo_terminals
def test_a_meter_that_vanishes_from_a_terminal_is_lost() -> None:
    """Unplugging raises once, and the readings before it have been handed out."""
    meter, ours = os.openpty()
    name = os.ttyname(ours)
    with MeterStream(name, DIGITS14, RealClock()) as stream:
        os.write(meter, frame(1.0) + frame(2.0))
        before = poll_until(stream, 2)
        os.close(meter)

        with pytest.raises(PortLostError, match="2 readings arrived before") as caught:
            poll_until(stream, 1)
    os.close(ours)

    assert values(before) == [1.0, 2.0]
    assert name in str(caught.value)
    assert "plug the cable in again" in caught.value.hint


def test_a_peer_that_closes_is_lost_and_its_last_bytes_are_read() -> None:
    """Bytes sent before the end are decoded, though the end came with them."""
    with server() as (listener, url), MeterStream(url, DIGITS14, RealClock()) as stream:
        with listener.accept()[0] as meter:
            meter.sendall(frame(1.0) + frame(2.0))
        items = poll_until(stream, 2)

        with pytest.raises(PortLostError, match="2 readings arrived before") as caught:
            poll_until(stream, 1)

        assert values(items) == [1.0, 2.0]
        assert "the other side closed" in caught.value.hint


def test_a_peer_that_resets_is_lost() -> None:
    """A connection torn down with a reset is lost too, and leaves no socket open."""
    with server() as (listener, url), MeterStream(url, DIGITS14, RealClock()) as stream:
        meter, _ = listener.accept()
        # a linger time of zero makes closing a reset
        meter.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
        meter.close()

        with pytest.raises(PortLostError, match="0 readings arrived before"):
            poll_until(stream, 1)


def test_silence_raises_after_its_time_and_again() -> None:
    """No byte for the time set is an error with a check list; polling may go on."""
    clock = HandClock()
    with server() as (_, url), MeterStream(url, DIGITS14, clock) as stream:
        clock.time += 4.9
        early = stream.poll(0)
        clock.time += 0.1
        with pytest.raises(MeterSilentError, match=r"no byte came for 5\.0 s") as caught:
            stream.poll(0)
        stream.check_alive()
        clock.time += 6.0
        with pytest.raises(MeterSilentError):
            stream.check_alive()

        assert early == []
        for said in ("data output", "2400 baud", "DTR on, RTS off", url, "digits14"):
            assert said in caught.value.hint


def test_a_byte_ends_the_silence() -> None:
    """The time counts from the last byte, whatever it was."""
    clock = HandClock()
    with (
        server() as (listener, url),
        MeterStream(url, DIGITS14, clock, silent_after=2.0) as stream,
        listener.accept()[0] as meter,
    ):
        clock.time += 1.9
        meter.sendall(b"\0" * 14)
        poll_until(stream, 1)
        clock.time += 1.9

        assert stream.poll(0) == []


def test_garbage_raises_after_ten_stretches_and_five_seconds() -> None:
    """Bytes without a reading name the format and show themselves in hex."""
    clock = HandClock()
    with (
        server() as (listener, url),
        MeterStream(url, DIGITS14, clock) as stream,
        listener.accept()[0] as meter,
    ):
        items = []
        for _ in range(11):
            meter.sendall(bytes.fromhex("7E 81") * 7)
            items += poll_until(stream, 1)
            clock.time += 0.5
        with pytest.raises(MeterUnreadableError) as caught:
            stream.poll(0)
        again = stream.poll(0)

        assert len(items) == 11
        assert again == []
        assert "11 pieces of data came in 5.0 s, and none is a frame of digits14" in str(
            caught.value
        )
        assert "the first bytes were 7E 81 7E 81" in str(caught.value)
        assert "plain" in caught.value.hint
        assert "another baud rate (now 2400)" in caught.value.hint


def test_one_reading_among_garbage_is_enough() -> None:
    """A meter that is read at times is not unreadable: its rejects are only counted."""
    clock = HandClock()
    with (
        server() as (listener, url),
        MeterStream(url, DIGITS14, clock) as stream,
        listener.accept()[0] as meter,
    ):
        for _ in range(3):
            meter.sendall(b"\0" * 14 * 9)
            poll_until(stream, 9)
            clock.time += 3.0
            meter.sendall(frame(5.0))
            poll_until(stream, 1)

        assert (stream.decoded, stream.rejected) == (3, 27)
        stream.check_alive()


def test_a_stream_outside_its_with_statement_is_a_mistake_of_the_caller() -> None:
    """Polling needs an open port, and closing twice does no harm."""
    stream = MeterStream("loop://", DIGITS14, RealClock())
    with stream:
        pass
    stream.close()

    with pytest.raises(RuntimeError, match="not open"):
        stream.poll()
