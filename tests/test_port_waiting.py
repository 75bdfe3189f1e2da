"""What is told of a port that is gone or silent, how often, and for how long it is waited."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import pytest
from cables import GONE, Cable, HandClock, frame, has, lasting, poll_until, put_in, shown

from coilmeter.errors import (
    CoilmeterError,
    PortBusyError,
    PortDeniedError,
    PortLostError,
    PortMissingError,
)
from coilmeter.sources.port_events import LinkBack, LinkRefused, TimedReading, TimedReject
from coilmeter.sources.port_lasting import HELD_S, REFUSED_S, RETRY_S
from coilmeter.wire import find

BLOCK11 = find("block11")


@pytest.fixture
def cable(monkeypatch: pytest.MonkeyPatch) -> Cable:
    """Have every port be this cable."""
    return put_in(monkeypatch)


def test_a_meter_that_fell_asleep_is_woken_again(cable: Cable) -> None:
    """One that needs the wake byte gets it while it is silent, and its lines stay."""
    clock = HandClock()
    with lasting(clock, BLOCK11) as stream:
        cable.arriving.append(frame(1.0, BLOCK11))
        events = stream.poll()
        for _ in range(3):
            clock.time += 5.0
            events += stream.poll()
        cable.arriving.append(frame(2.0, BLOCK11))
        events += stream.poll()

    assert [1.0, "FellSilent", "TalksAgain", 2.0] == shown(events)
    assert [b"H", b"H", b"H"] == cable.done[1:]


@pytest.mark.parametrize(
    "refusal", [PortBusyError("busy"), PortDeniedError("denied")], ids=["busy", "denied"]
)
def test_a_port_that_does_not_open_yet(cable: Cable, refusal: CoilmeterError) -> None:
    """Tried for a while, then told once, and tried on until it opens."""
    clock = HandClock()
    with lasting(clock) as stream:
        cable.arriving += [frame(1.0), GONE]
        events = [*stream.poll(), *stream.poll()]
        cable.refusal = PortMissingError("not there")
        for _ in range(20):
            clock.time += RETRY_S
            events += stream.poll()
        cable.refusal = refusal
        there = clock.time
        for _ in range(20):
            clock.time += RETRY_S
            events += stream.poll()
        cable.refusal = None
        cable.arriving.append(frame(2.0))
        clock.time += RETRY_S
        events += [*stream.poll(), *stream.poll()]
    told = [event for event in events if isinstance(event, LinkRefused)]

    assert [1.0, "LinkLost", "LinkRefused", "LinkBack", 2.0] == shown(events)
    assert refusal is told[0].error
    assert there + REFUSED_S + RETRY_S == told[0].at


def test_the_time_it_was_away(cable: Cable) -> None:
    """Back since it was opened, under its name, though that is told with the first byte."""
    clock = HandClock()
    with lasting(clock) as stream:
        cable.arriving.append(GONE)
        stream.poll()
        clock.time += 7.0
        stream.poll()
        clock.time += HELD_S / 2
        cable.arriving.append(frame(2.0))
        (back, _) = stream.poll()

    assert LinkBack(107.0, "loop://", 7.0) == back


def test_a_port_that_closes_at_once_is_not_back(cable: Cable) -> None:
    """Some servers take a connection and drop it: one loss is told, and no return."""
    clock = HandClock()
    with lasting(clock) as stream:
        cable.arriving.append(GONE)
        events = stream.poll()
        for _ in range(5):
            clock.time += RETRY_S
            cable.arriving.append(GONE)
            events += [*stream.poll(), *stream.poll()]
        clock.time += RETRY_S
        events += stream.poll()
        clock.time += HELD_S
        events += stream.poll()

    assert ["LinkLost", "LinkBack"] == shown(events)


def test_waiting_has_an_end_where_one_is_set(cable: Cable) -> None:
    """Told as lost first, then an error with what to do."""
    clock = HandClock()
    with lasting(clock, wait_s=10.0) as stream:
        cable.arriving.append(GONE)
        events = stream.poll()
        cable.refusal = PortMissingError("not there")
        for _ in range(9):
            clock.time += 1.0
            events += stream.poll()
        clock.time += 1.0
        with pytest.raises(PortLostError, match="and not back after 10 s") as caught:
            stream.poll()

    assert ["LinkLost"] == shown(events)
    assert "plug the cable in again" in caught.value.hint


def test_not_waiting_at_all(cable: Cable) -> None:
    """With no patience the loss is told, and is an error then."""
    with lasting(HandClock(), wait_s=0.0) as stream:
        cable.arriving.append(GONE)
        events = stream.poll()
        with pytest.raises(PortLostError, match="the port is gone; 0 readings arrived before"):
            stream.poll()

    assert ["LinkLost"] == shown(events)
    assert 1 == len(cable.done)


def test_silence_is_told_once_until_a_byte_comes(cable: Cable) -> None:
    """Bytes that are no reading end a silence; only a reading ends the trouble."""
    clock = HandClock()
    with lasting(clock) as stream:
        cable.arriving.append(frame(1.0))
        events = stream.poll()
        for arriving in (b"", b"", b"\0", b"", b"", frame(2.0)):
            clock.time += 5.0
            cable.arriving.append(arriving)
            events += stream.poll()

    assert [1.0, "FellSilent", "FellSilent", "TalksAgain", b"\0", 2.0] == shown(events)


def test_bytes_that_cannot_be_read_are_told_once_until_a_reading(cable: Cable) -> None:
    """Each rejected piece is handed out; the trouble is told once, and its end."""
    clock = HandClock()
    with lasting(clock) as stream:
        cable.arriving.append(frame(1.0))
        events = stream.poll()
        for _ in range(40):
            clock.time += 0.5
            cable.arriving.append(b"\x7e\x81" * 7)
            events += stream.poll()
        cable.arriving.append(b"\x7e" + frame(2.0))
        events += poll_until(stream, has(TimedReading))
    told = [item for item in shown(events) if isinstance(item, str | float)]

    assert [1.0, "Unreadable", "TalksAgain", 2.0] == told
    assert has(TimedReject, 30)(events)


def test_silent_from_its_return_on(cable: Cable) -> None:
    """Plugged in and still switched off: both are told, in this order."""
    clock = HandClock()
    with lasting(clock) as stream:
        cable.arriving += [frame(1.0), GONE]
        events = [*stream.poll(), *stream.poll(), *stream.poll()]
        for _ in range(8):
            clock.time += 2.5
            events += stream.poll()

    assert [1.0, "LinkLost", "LinkBack", "FellSilent"] == shown(events)
