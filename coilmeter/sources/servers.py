"""Ways out for simulated bytes: a loopback socket, or a pseudo-terminal.

Both behave like a meter that only talks: frames go out at the meter's own rate whether or
not anybody listens, and what a listener does not take in time is lost.  What a client
writes is read and dropped.
"""

from __future__ import annotations

import os
import socket
from abc import ABC, abstractmethod
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Final, Protocol

from coilmeter.errors import CoilmeterError, PortBusyError
from coilmeter.sources.clock import Clock
from coilmeter.sources.simulated_thread import BenchThread

LOOPBACK: Final = "127.0.0.1"
_SEND_BUFFER: Final = 4096
"""Bytes the system may hold back for a client; few, so that a late one reads little old."""
_CHUNK: Final = 4096


class FrameSource(Protocol):
    """What can be served: a bench, or anything else that makes frames at a rate."""

    @property
    def clock(self) -> Clock:
        """The clock that paces the frames."""
        ...

    @property
    def rate_hz(self) -> float:
        """Frames per second of that clock."""
        ...

    def frame(self) -> bytes:
        """Return the bytes of one frame, now."""
        ...


@contextmanager
def serve_socket(bench: FrameSource, *, port: int = 0) -> Iterator[str]:
    """Serve the frames of `bench` on a loopback socket, to one client at a time.

    A client that goes away may be followed by another; one that comes while another is
    connected waits for its turn.

    Parameters
    ----------
    bench
        Makes the frames.
    port
        TCP port; 0 for any free one.

    Yields
    ------
    str
        The address as pyserial opens it, ``socket://127.0.0.1:PORT``.

    Raises
    ------
    PortBusyError
        When another program holds `port`.

    """
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as listener:
        if os.name == "posix":
            # Only there does it mean "in spite of connections winding up"; elsewhere two
            # programs could then hold the port at once.
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, _SEND_BUFFER)
        try:
            listener.bind((LOOPBACK, port))
            listener.listen(1)
        except OSError as error:
            raise PortBusyError(
                f"port {port} of this computer cannot be listened on: {error}",
                hint="choose another port, or 0 for any free one.",
            ) from error
        listener.settimeout(0)
        outlet = _SocketOutlet(listener)
        try:
            with _Stream(bench, outlet):
                yield f"socket://{LOOPBACK}:{listener.getsockname()[1]}"
        finally:
            outlet.close()


@contextmanager
def serve_pty(bench: FrameSource) -> Iterator[str]:
    """Serve the frames of `bench` on a pseudo-terminal, as if on a serial port.

    Frames sent before anyone opens the device wait there until its buffer (a few kilobytes)
    is full; opening it with pyserial empties it.

    Yields
    ------
    str
        Path of the device to open.

    Raises
    ------
    CoilmeterError
        When this system has no pseudo-terminals.

    """
    try:
        import pty  # noqa: PLC0415 - not on every system
        import tty  # noqa: PLC0415 - as above
    except ImportError as error:
        raise CoilmeterError(
            "this system has no pseudo-terminals",
            hint="use a loopback socket instead: it carries the same bytes.",
        ) from error
    near, far = pty.openpty()
    # The far end stays open here too: without a holder its settings and the next client are
    # at the system's mercy.
    try:
        tty.setraw(far)
        os.set_blocking(near, False)
        with _Stream(bench, _PtyOutlet(near)):
            yield os.ttyname(far)
    finally:
        os.close(far)
        os.close(near)


class _Stream(BenchThread):
    """Offers the frames of a bench to an outlet, at the rate of the bench."""

    def __init__(self, bench: FrameSource, outlet: _Outlet) -> None:
        super().__init__("coilmeter-server", bench.clock)
        self._bench = bench
        self._outlet = outlet

    def work(self) -> None:
        """Send frames; those missed while this thread could not run are not made up for."""
        period_s = 1 / self._bench.rate_hz
        due_s = self.clock.now()
        while self.wait_until(due_s):
            if self._outlet.has_listener():
                self._outlet.offer(self._bench.frame())
            due_s = max(due_s + period_s, self.clock.now())


class _Outlet(ABC):
    """Sends whole frames, or drops them, without ever waiting.

    A frame of which the system took only a part is finished before another one is begun, so
    that a slow client sees gaps and no torn frames.
    """

    def __init__(self) -> None:
        self._rest = b""

    def offer(self, frame: bytes) -> None:
        """Send `frame`, or drop it where the listener is not keeping up."""
        if self._rest:
            self._rest = self._rest[self._write(self._rest) :]
            if self._rest:
                return
        sent = self._write(frame)
        self._rest = frame[sent:] if sent else b""

    @abstractmethod
    def has_listener(self) -> bool:
        """Whether a frame has somewhere to go; drops what the listener has written."""

    @abstractmethod
    def _write(self, data: bytes) -> int:
        """Write without waiting; how many bytes were taken."""


class _SocketOutlet(_Outlet):
    """Sends to the one client of a listening socket."""

    def __init__(self, listener: socket.socket) -> None:
        super().__init__()
        self._listener = listener
        self._client: socket.socket | None = None

    def has_listener(self) -> bool:
        """Accept a client where there is none, and notice when it has gone."""
        if self._client is None:
            with suppress(OSError):
                self._client, _ = self._listener.accept()
                self._client.settimeout(0)
                # Each frame by itself and at once: its time of arrival is part of it.
                self._client.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            return self._client is not None
        try:
            gone = not self._client.recv(_CHUNK)
        except BlockingIOError:
            gone = False
        except OSError:
            gone = True
        if gone:
            self.close()
        return not gone

    def close(self) -> None:
        """Let the client go."""
        if self._client is not None:
            self._client.close()
            self._client = None
            self._rest = b""

    def _write(self, data: bytes) -> int:
        """Send without waiting; a client that breaks off is let go."""
        if self._client is None:
            return 0
        try:
            return self._client.send(data)
        except BlockingIOError:
            return 0
        except OSError:
            self.close()
            return 0


class _PtyOutlet(_Outlet):
    """Sends into the near end of a pseudo-terminal."""

    def __init__(self, near: int) -> None:
        super().__init__()
        self._near = near

    def has_listener(self) -> bool:
        """Whether anyone listens cannot be told here, and a serial meter does not know."""
        with suppress(OSError):
            os.read(self._near, _CHUNK)
        return True

    def _write(self, data: bytes) -> int:
        """Write without waiting; nothing is taken while the terminal is full."""
        try:
            return os.write(self._near, data)
        except OSError:
            return 0
