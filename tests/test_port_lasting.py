"""A port that goes and comes back: nothing is joined across the gap, all begins afresh."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import socket
from contextlib import suppress

import pytest
from cables import (
    DIGITS14,
    GONE,
    Cable,
    HandClock,
    frame,
    has,
    lasting,
    poll_until,
    put_in,
    shown,
)

from coilmeter.errors import PortLostError
from coilmeter.sources import port_lasting
from coilmeter.sources.clock import FastClock, RealClock
from coilmeter.sources.poll_link import KEEP_ALIVE_S, Link
from coilmeter.sources.port import MeterStream
from coilmeter.sources.port_events import LinkBack, LinkLost, StreamEvent, TimedReading
from coilmeter.sources.port_identity import UsbIdentity
from coilmeter.sources.port_lasting import RETRY_S, LastingStream
from coilmeter.wire import find
from coilmeter.wire.contract import Display, Format
from coilmeter.wire.responder import Responder
from coilmeter.wire.scpi import FORMAT as SCPI

BLOCK11 = find("block11")
PLAIN = find("plain")


@pytest.fixture
def cable(monkeypatch: pytest.MonkeyPatch) -> Cable:
    """Have every port be this cable."""
    return put_in(monkeypatch)


def served_again(listener: socket.socket, stream: LastingStream) -> socket.socket:
    """Take the connection that a stream makes when it looks for its port."""
    listener.settimeout(0.01)
    for _ in range(400):
        assert [] == stream.poll()
        with suppress(TimeoutError):
            client, _ = listener.accept()
            client.settimeout(10)
            return client
    raise AssertionError("nobody came")


@pytest.mark.parametrize(
    ("form", "first", "rest"),
    [
        (DIGITS14, frame(2.0)[:9], frame(2.0)[9:]),
        (PLAIN, b"171.", b"3 ohm\n"),
        (PLAIN, b"17", b"1.3 ohm\n"),
    ],
)
def test_a_frame_torn_by_the_gap_is_never_joined(
    form: Format, first: bytes, rest: bytes
) -> None:
    """The halves before and after would make a frame, and make none (a real socket)."""
    before = b"hm\n" + frame(1.0, form) if form is PLAIN else frame(1.0)
    clock = RealClock()
    with socket.create_server(("127.0.0.1", 0)) as listener:
        url = f"socket://127.0.0.1:{listener.getsockname()[1]}"
        with LastingStream(MeterStream(url, form, clock), clock) as stream:
            with listener.accept()[0] as meter:
                meter.sendall(before + first)
                events = poll_until(stream, has(TimedReading))
            events += poll_until(stream, has(LinkLost))
            with served_again(listener, stream) as meter:
                meter.sendall(rest + frame(4.0, form))
                events += poll_until(stream, has(TimedReading))
    (lost,) = [event for event in events if isinstance(event, LinkLost)]

    assert first == lost.torn.removeprefix(b"\n")
    assert [1.0, "LinkLost", "LinkBack", rest, 4.0] == shown(events)[-5:]
    assert len(before + first + rest + frame(4.0, form)) == stream.meter.bytes_in
    assert 2 == stream.meter.decoded


def test_a_meter_that_is_asked_is_set_up_again() -> None:
    """After the gap the whole set-up is said, and no answer is awaited from before it."""
    clock = RealClock()
    responders = [Responder(SCPI, lambda: Display(5.0, 0.1, 400.0)) for _ in range(2)]
    with socket.create_server(("127.0.0.1", 0)) as listener:
        url = f"socket://127.0.0.1:{listener.getsockname()[1]}"
        with LastingStream(MeterStream(url, SCPI, clock), clock) as stream:
            client, _ = listener.accept()
            client.settimeout(10)
            events: list[StreamEvent] = []
            for number, responder in enumerate(responders):
                with client:
                    while not has(TimedReading, 3)(events):
                        events += stream.poll(0.01)
                        client.settimeout(0.01)
                        with suppress(TimeoutError):
                            client.sendall(responder.receive(client.recv(4096)))
                    # A query is on its way, and its answer is never sent.
                    stream.poll(0)
                if not number:
                    events = poll_until(stream, has(LinkLost))
                    client = served_again(listener, stream)
    setup = [*SCPI.dialogue.setup, SCPI.dialogue.error_query]

    assert ["LinkLost", "LinkBack", 5.0, 5.0, 5.0] == shown(events)
    for responder in responders:
        assert setup == responder.heard[: len(setup)]
    assert 0 == stream.meter.rejected


def test_the_lines_that_made_it_talk_and_the_wake_byte_again(cable: Cable) -> None:
    """A cable that had to be powered the other way is opened so, and the meter woken."""
    clock = HandClock()
    with lasting(clock, BLOCK11) as stream:
        clock.time += 2.5
        stream.poll()
        cable.arriving += [frame(1.0, BLOCK11), GONE]
        events = [*stream.poll(), *stream.poll()]
        stream.poll()
        again = len(cable.done)
        clock.time += 1.3
        events += stream.poll()
        cable.arriving.append(frame(2.0, BLOCK11))
        events += stream.poll()

    assert [1.0, "LinkLost", "LinkBack", 2.0] == shown(events)
    assert [("loop://", 2400, (True, False)), b"H", (False, True)] == cable.done[: again - 1]
    assert [("loop://", 2400, (False, True)), b"H"] == cable.done[again - 1 :]
    assert (False, True) == stream.meter.found_lines


def test_the_same_device_under_another_name(
    cable: Cable, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its old name belongs to another device now; it is found by its serial number."""
    mine, other = UsbIdentity(1, 2, "A1", "1-1"), UsbIdentity(1, 2, "B7", "1-1")
    ports = {"/dev/ttyUSB0": mine}
    monkeypatch.setattr(port_lasting, "identities", lambda: ports)
    monkeypatch.setattr(port_lasting, "identity_of", ports.get)
    clock = HandClock()
    with lasting(clock, url="/dev/ttyUSB0") as stream:
        cable.arriving.append(GONE)
        events = stream.poll()
        ports.clear()
        ports["/dev/ttyUSB0"] = other
        for _ in range(4):
            clock.time += RETRY_S
            events += stream.poll()
        alone = len(cable.done)
        ports["/dev/ttyUSB1"] = UsbIdentity(1, 2, "A1", "1-4")
        clock.time += RETRY_S
        cable.arriving.append(frame(2.0))
        events += [*stream.poll(), *stream.poll()]
        (back,) = [event for event in events if isinstance(event, LinkBack)]

        assert 1 == alone
        assert ["LinkLost", "LinkBack", 2.0] == shown(events)
        assert "/dev/ttyUSB1" == back.url == stream.meter.url


def test_a_fast_clock_waits_less_of_real_time() -> None:
    """Its seconds are those of the clock it was given: ten of them pass in a tenth."""
    clock = FastClock(100.0)
    with socket.create_server(("127.0.0.1", 0)) as listener:
        url = f"socket://127.0.0.1:{listener.getsockname()[1]}"
        stream = LastingStream(MeterStream(url, DIGITS14, clock), clock, wait_s=10.0)
        with stream:
            listener.accept()[0].close()
            listener.close()
            with pytest.raises(PortLostError, match="not back after 10 s"):
                poll_until(stream, has(LinkBack))


def test_a_connection_whose_other_side_dies_without_a_word_is_noticed() -> None:
    """The system is told to ask, so that a computer without power is a loss and no silence."""
    with socket.create_server(("127.0.0.1", 0)) as listener:
        link = Link(f"socket://127.0.0.1:{listener.getsockname()[1]}", 9600, (True, True))
        connection = link.port._socket  # type: ignore[attr-defined]
        asks = connection.getsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE)
        after_s = [
            connection.getsockopt(socket.IPPROTO_TCP, getattr(socket, name))
            for name in ("TCP_KEEPIDLE", "TCP_KEEPINTVL")
            if hasattr(socket, name)
        ]
        link.close()

    assert asks
    assert {KEEP_ALIVE_S} >= set(after_s)
