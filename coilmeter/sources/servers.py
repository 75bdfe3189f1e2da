"""Simulated bytes behind a port that any program can open.

The bytes come as those of a meter do: frames go out at the meter's own rate whether or not
anybody listens, and what a listener does not take in time is lost.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Protocol, runtime_checkable

from coilmeter.sources.clock import Clock
from coilmeter.sources.outlet_pty import PtyOutlet
from coilmeter.sources.outlets import Outlet, SocketOutlet
from coilmeter.sources.simulated_thread import BenchThread


class FrameSource(Protocol):
    """What can be served: a bench, or anything else that makes frames at a rate."""

    @property
    def clock(self) -> Clock:
        """The clock that paces the frames."""
        ...

    @property
    def rate_hz(self) -> float:
        """How often it is asked for a frame, in hertz of that clock."""
        ...

    def frame(self) -> bytes:
        """Return the bytes of one frame, now; none where there is nothing to say."""
        ...


@runtime_checkable
class Listening(Protocol):
    """A source that hears what a client writes too; that of any other is dropped."""

    def opened(self) -> None:
        """Take note that someone has opened the port."""
        ...

    def hear(self, data: bytes) -> None:
        """Take what a client wrote; an answer is given by `frame`."""
        ...


@contextmanager
def serve(source: FrameSource, outlet: Outlet) -> Iterator[BenchThread]:
    """Serve the frames of `source` at an outlet, which may be unplugged meanwhile.

    Yields
    ------
    BenchThread
        What serves: it ends before its time only by an error, which comes out on leaving.

    Raises
    ------
    CoilmeterError
        When the port cannot be made.

    """
    outlet.plug()
    try:
        with _Stream(source, outlet) as stream:
            yield stream
    finally:
        outlet.unplug()


@contextmanager
def serve_socket(source: FrameSource, *, port: int = 0) -> Iterator[str]:
    """Serve the frames of `source` on a loopback socket, to one client at a time.

    Parameters
    ----------
    source
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
    outlet = SocketOutlet(port)
    with serve(source, outlet):
        yield outlet.where


@contextmanager
def serve_pty(source: FrameSource) -> Iterator[str]:
    """Serve the frames of `source` on a pseudo-terminal, as if on a serial port.

    Yields
    ------
    str
        Path of the device to open.

    Raises
    ------
    CoilmeterError
        When this system has no pseudo-terminals.

    """
    outlet = PtyOutlet()
    with serve(source, outlet):
        yield outlet.where


class _Stream(BenchThread):
    """Offers the frames of a source to an outlet, at the rate of the source."""

    def __init__(self, source: FrameSource, outlet: Outlet) -> None:
        super().__init__("coilmeter-server", source.clock)
        self._source = source
        self._listening = source if isinstance(source, Listening) else None
        self._outlet = outlet
        self._arrivals = outlet.arrivals

    def work(self) -> None:
        """Send frames; those missed while this thread could not run are not made up for."""
        due_s = self.clock.now()
        while self.wait_until(due_s):
            heard = self._outlet.listen()
            if heard is not None:
                self._tell(heard)
                frame = self._source.frame()
                if frame:
                    self._outlet.offer(frame)
            due_s = max(due_s + 1 / self._source.rate_hz, self.clock.now())

    def _tell(self, heard: bytes) -> None:
        """Hand on that someone came, and what was written."""
        if self._listening is None:
            return
        if self._arrivals != self._outlet.arrivals:
            self._arrivals = self._outlet.arrivals
            self._listening.opened()
        if heard:
            self._listening.hear(heard)
