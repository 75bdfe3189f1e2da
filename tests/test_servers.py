"""Real bytes of a simulated bench over a loopback socket and a pseudo-terminal."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import errno
import gc
import os
import re
import socket
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, closing, contextmanager
from dataclasses import dataclass, field

import pytest
import serial

from coilmeter.errors import CoilmeterError, InputError, PortBusyError
from coilmeter.sources.clock import Clock, FastClock
from coilmeter.sources.outlets import SocketOutlet
from coilmeter.sources.servers import FrameSource, serve_pty, serve_socket

Server = Callable[[FrameSource], AbstractContextManager[str]]

needs_pty = pytest.mark.skipif(os.name != "posix", reason="no pseudo-terminals on this system")
both_ways = pytest.mark.parametrize(
    "serve", [serve_socket, pytest.param(serve_pty, marks=needs_pty)]
)


@dataclass
class Numbered:
    """Makes numbered frames of 1000 bytes, far more than anyone can take."""

    clock: Clock = field(default_factory=lambda: FastClock(1000.0))
    rate_hz: float = 10.0
    made: int = 0
    many: threading.Event = field(default_factory=threading.Event)
    enough: int = 3000

    def frame(self) -> bytes:
        """Make the next frame."""
        data = b"<%08d%s>" % (self.made, b"." * 990)
        self.made += 1
        if self.made == self.enough:
            self.many.set()
        return data


@dataclass
class Every:
    """Makes frames of every byte there is."""

    clock: Clock = field(default_factory=lambda: FastClock(100.0))
    rate_hz: float = 10.0

    def frame(self) -> bytes:
        """Make a frame."""
        return bytes(range(256))


@contextmanager
def opened(url: str) -> Iterator[serial.SerialBase]:
    """Open a port as any program does."""
    with closing(serial.serial_for_url(url, timeout=20)) as port:
        yield port


def test_the_socket_is_of_this_computer_only() -> None:
    """The address is that of the loopback and of a free port."""
    with serve_socket(Every()) as url:
        found = re.fullmatch(r"socket://127\.0\.0\.1:(\d+)", url)

    assert found is not None
    assert int(found[1]) > 0


@both_ways
def test_stop_leaves_nothing_behind(serve: Server) -> None:
    """After leaving there is no thread and no open file, with a client or without."""
    threads = set(threading.enumerate())
    with serve(Every()):
        pass
    with serve(Every()) as url, opened(url) as port:
        got = port.read(256)
    gc.collect()

    assert threads == set(threading.enumerate())
    assert 256 == len(got)


def test_clients_come_and_go() -> None:
    """One client after another is served, and one that comes early waits for its turn."""
    with serve_socket(Numbered()) as url:
        with opened(url) as first:
            begin = first.read(10)
            waiting = serial.serial_for_url(url, timeout=20)
        with closing(waiting):
            then = waiting.read(10)
        with opened(url) as last:
            end = last.read(10)

    assert [b"<", b"<", b"<"] == [begin[:1], then[:1], end[:1]]
    assert begin < then < end


@both_ways
def test_what_a_client_writes_is_dropped(serve: Server) -> None:
    """The meter only talks: a question changes nothing."""
    with serve(Every()) as url, opened(url) as port:
        port.read(256)
        port.write(b"*IDN?\r\n" * 100)
        got = port.read(2 * 256)

    assert 512 == len(got)


@needs_pty
def test_terminal_does_not_touch_the_bytes() -> None:
    """Carriage return, line feed and every other byte pass, though nobody set the terminal."""
    with serve_pty(Every()) as path:
        device = os.open(path, os.O_RDWR | os.O_NOCTTY)
        got = b""
        while len(got) < 512:
            got += os.read(device, 512 - len(got))
        os.close(device)

    assert bytes(range(256)) * 2 == got


def whole_frames(data: bytes) -> list[int]:
    """Numbers of the frames in `data`; nothing else may be in it but a last torn frame."""
    frames = re.findall(rb"<(\d{8})\.{990}>", data)
    torn = re.sub(rb"<\d{8}\.{990}>", b"", data)
    assert re.fullmatch(rb"(<\d{0,8}\.*)?", torn)
    return [int(number) for number in frames]


def test_client_that_stops_reading_loses_frames() -> None:
    """The server goes on; the late reader finds whole frames with a gap between them."""
    source = Numbered()
    with serve_socket(source) as url:
        host, port = url.removeprefix("socket://").split(":")
        with socket.socket() as client:
            client.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 2048)
            client.settimeout(20)
            client.connect((host, int(port)))
            went_on = source.many.wait(60)
            data = b""
            while not data or whole_frames(data)[-1] < source.enough:
                data += client.recv(65536)
    numbers = whole_frames(data)

    assert went_on
    assert sorted(set(numbers)) == numbers
    assert len(numbers) < numbers[-1]


@needs_pty
def test_terminal_nobody_reads_loses_frames() -> None:
    """On a terminal too: whole frames with a gap, and a server that goes on."""
    source = Numbered()
    with serve_pty(source) as path:
        went_on = source.many.wait(60)
        device = os.open(path, os.O_RDWR | os.O_NOCTTY)
        data = b""
        while not data or whole_frames(data)[-1] < source.enough:
            data += os.read(device, 65536)
        os.close(device)
    numbers = whole_frames(data)

    assert went_on
    assert sorted(set(numbers)) == numbers
    assert len(numbers) < numbers[-1]


@both_ways
def test_error_of_the_bench_comes_out(serve: Server) -> None:
    """A bench that fails ends the stream, and its error comes out on leaving."""
    failed = threading.Event()

    class Broken(Every):
        """Fails on its first frame."""

        def frame(self) -> bytes:
            """Fail."""
            failed.set()
            raise InputError("no frame today")

    def run() -> None:
        with serve(Broken()) as url, opened(url):
            failed.wait(20)

    with pytest.raises(InputError, match="no frame today"):
        run()


def test_port_in_use_is_told() -> None:
    """A port somebody else listens on is refused with what to do."""
    with serve_socket(Every()) as url:
        port = int(url.rsplit(":", 1)[1])

        with (
            pytest.raises(PortBusyError, match=f"port {port}"),
            serve_socket(Every(), port=port),
        ):
            pass


def test_no_terminals_on_this_system(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where there are no pseudo-terminals, the message names the socket."""
    monkeypatch.setitem(sys.modules, "pty", None)

    with pytest.raises(CoilmeterError, match="loopback socket"), serve_pty(Every()):
        pass


def test_client_lost_in_mid_frame() -> None:
    """A client that breaks off is let go, whichever call finds out; the next is waited for."""

    class Gone(socket.socket):
        """A client that was reset."""

        def recv(self, *_: object) -> bytes:
            """Find out."""
            raise ConnectionResetError(errno.ECONNRESET, "reset")

        def send(self, *_: object) -> int:
            """Find out."""
            raise BrokenPipeError(errno.EPIPE, "gone")

    outlet = SocketOutlet()
    outlet.plug()
    outlet._client = Gone()
    heard = outlet.listen()
    outlet.offer(b"nobody")
    outlet._client = Gone()
    outlet.offer(b"abc")
    left = outlet._client
    outlet.unplug()

    assert heard is None
    assert left is None


def test_rest_of_a_frame_goes_first() -> None:
    """A frame half taken is finished, and the frames meanwhile are dropped."""

    class Narrow(SocketOutlet):
        """Takes as many bytes as it is told."""

        room: tuple[int, ...] = (4, 3, 0, 1, 8, 0, 8)

        def __init__(self) -> None:
            super().__init__()
            self.got = b""
            self._rooms = iter(self.room)

        def _write(self, data: bytes) -> int:
            """Take what there is room for."""
            part = data[: next(self._rooms)]
            self.got += part
            return len(part)

    outlet = Narrow()
    for frame in (b"aaaaaaaa", b"bbbbbbbb", b"cccccccc", b"dddddddd", b"eeeeeeee", b"ffffffff"):
        outlet.offer(frame)

    assert b"aaaaaaaaddddddddffffffff" == outlet.got
