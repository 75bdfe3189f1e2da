"""Meters that must be asked, over a loopback socket: set-up, over-range, silence, refusals."""

from __future__ import annotations

import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace

import pytest
import serial

from coilmeter.errors import (
    InputError,
    MeterSilentError,
    MeterUnreadableError,
    PortLostError,
)
from coilmeter.sources.clock import RealClock
from coilmeter.sources.poll_link import Link
from coilmeter.sources.port import MeterStream, TimedReading, TimedReject
from coilmeter.wire import find
from coilmeter.wire.contract import Display
from coilmeter.wire.dialogue import Dialogue, ErrorEntry, PolledFormat
from coilmeter.wire.prompt import FORMAT as PROMPT
from coilmeter.wire.responder import Responder
from coilmeter.wire.scpi import FORMAT as SCPI

OPEN = Display(0.0, 10e3, 40e6, overload=True)
NO_ERROR = b'+0,"No error"\r\n'


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


def ohms(value: float) -> Display:
    """Show a value on a 400 ohm range."""
    return Display(value, 0.1, 400.0)


def in_turn(*displays: Display) -> Callable[[], Display]:
    """Show one after the other, and the last one for ever."""
    left = list(displays)
    return lambda: left.pop(0) if len(left) > 1 else left[0]


@contextmanager
def serving(receive: Callable[[bytes], bytes]) -> Iterator[str]:
    """Answer one client on a loopback socket, with a thread; give the address."""
    with socket.create_server(("127.0.0.1", 0)) as listener:

        def work() -> None:
            client, _ = listener.accept()
            with client:
                while data := client.recv(4096):
                    client.sendall(receive(data))

        thread = threading.Thread(target=work)
        thread.start()
        yield f"socket://127.0.0.1:{listener.getsockname()[1]}"
        thread.join(10)
    assert not thread.is_alive()


def poll_until(stream: MeterStream, count: int) -> list[TimedReading | TimedReject]:
    """Poll until so many items came; give up after some hundred polls."""
    items: list[TimedReading | TimedReject] = []
    for _ in range(400):
        items += stream.poll()
        if len(items) >= count:
            return items
    raise AssertionError(f"{len(items)} of {count} items came")


def said(items: list[TimedReading | TimedReject]) -> list[float | str | None]:
    """Reduce readings to their values, and what was refused to its reason."""
    return [
        item.reading.value if isinstance(item, TimedReading) else item.rejected.reason
        for item in items
    ]


@pytest.mark.parametrize("form", [SCPI, PROMPT], ids=lambda form: form.name)
def test_a_meter_is_asked_over_a_socket(form: PolledFormat) -> None:
    """Readings come, an open coil among them, and nothing is refused."""
    meter = Responder(form, in_turn(ohms(171.3), OPEN, ohms(0.2)))
    with serving(meter.receive) as url, MeterStream(url, form, RealClock()) as stream:
        items = poll_until(stream, 4)

        assert said(items)[:4] == [171.3, None, 0.2, 0.2]
        assert (stream.rejected, stream.decoded) == (0, len(items))
    assert meter.heard[: len(form.dialogue.setup)] == list(form.dialogue.setup)
    assert "SYST:REM" not in meter.heard


def test_an_over_range_that_came_of_an_error_is_refused() -> None:
    """The error queue is read first, and says what was wrong."""
    displays = in_turn(ohms(1.0), OPEN, ohms(2.0))

    def show() -> Display:
        shown = displays()
        if shown.overload:
            meter.errors.append(ErrorEntry(-230, "Data corrupt or stale"))
        return shown

    meter = Responder(SCPI, show)
    with serving(meter.receive) as url, MeterStream(url, SCPI, RealClock()) as stream:
        items = poll_until(stream, 4)

        assert said(items)[:4] == [
            1.0,
            "OL ohm, but the meter reports -230 'Data corrupt or stale'",
            "the meter reports -230 'Data corrupt or stale'",
            2.0,
        ]
        assert stream.rejected == 2


def test_four_wires_are_asked_for() -> None:
    """Another dialogue of the format takes the place of the usual one."""
    meter = Responder(SCPI, lambda: ohms(0.15))
    with (
        serving(meter.receive) as url,
        MeterStream(url, SCPI, RealClock(), dialogue=SCPI.four_wire) as stream,
    ):
        poll_until(stream, 1)

    assert "CONF:FRES" in meter.heard
    assert "CONF:RES" not in meter.heard


def test_the_first_reading_of_a_meter_that_was_asked_is_whole() -> None:
    """A cut line can only be one that was not asked for: none is refused for being first."""
    meter = Responder(SCPI, lambda: ohms(5.0))
    with serving(meter.receive) as url, MeterStream(url, SCPI, RealClock()) as stream:
        assert said(poll_until(stream, 1))[0] == 5.0


def test_a_meter_that_does_not_answer_is_silent_with_its_check_list() -> None:
    """The set-up is sent again meanwhile; the error comes in its time, and polling goes on."""
    heard: list[bytes] = []

    def swallow(data: bytes) -> bytes:
        heard.append(data)
        return b""

    clock = HandClock()
    with serving(swallow) as url, MeterStream(url, SCPI, clock) as stream:
        early = stream.poll()
        clock.time += 4.0
        early += stream.poll()
        clock.time += 1.0
        with pytest.raises(MeterSilentError, match=r"no byte came for 5\.0 s") as caught:
            stream.poll()
        clock.time += 1.0
        stream.poll()

        assert early == []
        assert "the meter obeys READ?" in caught.value.hint
    assert b"".join(heard).count(b"*RST\n*CLS\nCONF:RES\nSYST:ERR?\n") == 2


def test_a_query_that_is_refused_is_told_with_the_error() -> None:
    """The meter sends nothing for READ?; its queue tells why, and the error quotes it."""
    meter = Responder(SCPI, lambda: ohms(1.0), replace(SCPI.dialogue, query="FETC?"))
    clock = HandClock()
    with serving(meter.receive) as url, MeterStream(url, SCPI, clock) as stream:
        while "READ?" not in meter.heard:
            stream.poll()
        clock.time += 4.0
        items = poll_until(stream, 1)
        with pytest.raises(MeterUnreadableError, match="it refuses READ") as caught:
            poll_until(stream, 1)

        assert said(items) == ["the meter reports -113 'Undefined header'"]
        assert "-113 'Undefined header'" in str(caught.value)
        assert "whether it obeys the commands of scpi" in caught.value.hint


def test_a_reading_behind_an_over_range_survives_an_unanswered_query() -> None:
    """What was held back comes out when its time is over: the value, and OL as refused."""
    replies = iter([NO_ERROR, b"+9.9E+37,+2.5E+00\r\n", b""])
    clock = HandClock()
    heard: list[bytes] = []

    def answer(data: bytes) -> bytes:
        heard.append(data)
        return next(replies, b"")

    with serving(answer) as url, MeterStream(url, SCPI, clock) as stream:
        while len(heard) < 3:
            stream.poll()
        clock.time += 4.0
        items = stream.poll()

        assert said(items) == [
            "OL ohm, but no answer to SYST:ERR?, so that it is not believed",
            2.5,
        ]


def test_a_serial_meter_is_made_to_listen() -> None:
    """On anything but a socket SYST:REM goes first; a loop gives it back as if a reply."""
    with MeterStream("loop://", SCPI, RealClock()) as stream:
        items = poll_until(stream, 1)

        assert isinstance(items[0], TimedReject)
        assert items[0].rejected.raw == b"SYST:REM\n"
    with pytest.raises(RuntimeError, match="not open"):
        stream.poll()


def test_a_dialogue_for_a_meter_that_talks_by_itself_is_bad_input() -> None:
    """There is nothing to ask, and silence would be the meter's fault."""
    with pytest.raises(InputError, match="digits14 talks by itself"):
        MeterStream("loop://", find("digits14"), RealClock(), dialogue=Dialogue("READ?"))


def test_readings_of_other_displays_are_left_out() -> None:
    """The clock's records and a second display are counted, and do not reach a walk."""
    stx = find("stx16")
    frames = (
        b"\x0240261125070540\r",
        b"\x0242380100000001\r",
        stx.encode(ohms(171.3)),
    )
    with (
        socket.create_server(("127.0.0.1", 0)) as listener,
        MeterStream(
            f"socket://127.0.0.1:{listener.getsockname()[1]}", stx, RealClock()
        ) as stream,
        listener.accept()[0] as meter,
    ):
        meter.sendall(b"".join(frames))
        items = poll_until(stream, 1)

        assert said(items) == [171.3]
        assert (stream.asides, stream.decoded, stream.rejected) == (2, 1, 0)


class BrokenPort:
    """A port on which one thing fails."""

    def __init__(self, error: Exception) -> None:
        self.error = error

    def __setattr__(self, name: str, value: object) -> None:
        if name in {"dtr", "rts"}:
            raise self.error
        object.__setattr__(self, name, value)

    def write(self, _: bytes) -> int:
        """Fail."""
        raise self.error


@pytest.mark.parametrize(
    ("error", "expected"),
    [
        (serial.SerialTimeoutException("Write timeout"), MeterSilentError),
        (serial.SerialException("write failed: gone"), PortLostError),
        (OSError(5, "Input/output error"), PortLostError),
    ],
)
def test_a_port_that_takes_no_bytes_is_an_error_of_its_own(
    error: Exception, expected: type[Exception], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Full for too long, or gone: both tell what to do (the failure is injected here)."""
    link = Link("loop://", 9600, (True, True))
    whole = link.port
    monkeypatch.setattr(link, "port", BrokenPort(error))

    with pytest.raises(expected) as caught:
        link.write(b"READ?\n")
    whole.close()

    assert "loop://" in str(caught.value)
    assert "next:" in str(caught.value)


def test_a_port_that_goes_while_its_lines_are_set_is_lost(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Setting a line of a port that is gone is no traceback (the failure is injected)."""
    link = Link("loop://", 9600, (True, True))
    whole = link.port
    monkeypatch.setattr(link, "port", BrokenPort(OSError(5, "Input/output error")))

    with pytest.raises(PortLostError, match="the port is gone"):
        link.set_lines((False, True))
    whole.close()
