"""A simulated bench that is pulled out within a frame, and plugged in again where it was."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from types import TracebackType
from typing import Self

from coilmeter.sources.clock import Clock
from coilmeter.sources.servers import FrameSource, serve_pty, serve_socket


class TornSource:
    """Frames of a bench, until half of one is the last that comes."""

    def __init__(self, bench: FrameSource) -> None:
        self._bench = bench
        self.torn = False
        self.ended = False

    @property
    def clock(self) -> Clock:
        """The clock of the bench."""
        return self._bench.clock

    @property
    def rate_hz(self) -> float:
        """Frames a second."""
        return self._bench.rate_hz

    def frame(self) -> bytes:
        """Make a frame, the half of one, or none any more."""
        if self.ended:
            return b""
        frame = self._bench.frame()
        if not self.torn:
            return frame
        self.ended = True
        return frame[: len(frame) // 2]


class Plug:
    """A bench at one address, plugged in between ``with`` and its end unless it is pulled.

    Parameters
    ----------
    bench
        Makes the frames.
    link
        Name of the device on a pseudo-terminal, as a system's rules give a cable a name that
        lasts; None for a loopback socket.

    """

    def __init__(self, bench: FrameSource, link: Path | None = None) -> None:
        self._bench = bench
        self._link = link
        self._stack = ExitStack()
        self._port = 0
        self._source = TornSource(bench)
        self.url = ""

    def __enter__(self) -> Self:
        self.push_in()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._stack.close()

    def push_in(self) -> None:
        """Plug it in, under the name it had."""
        self._source = TornSource(self._bench)
        if self._link is None:
            self.url = self._stack.enter_context(serve_socket(self._source, port=self._port))
            self._port = int(self.url.rpartition(":")[2])
            return
        device = self._stack.enter_context(serve_pty(self._source))
        self._link.unlink(missing_ok=True)
        self._link.symlink_to(device)
        self.url = str(self._link)

    def pull(self) -> None:
        """Pull it out within a frame; the name of the device goes with it."""
        self._source.torn = True
        _wait_for(lambda: self._source.ended)
        # What was sent is on its way: a real cable carries it before it is pulled.
        time.sleep(0.2)
        if self._link is not None:
            self._link.unlink()
        self._stack.close()


def _wait_for(found: Callable[[], bool]) -> None:
    end = time.monotonic() + 10
    while not found():
        if time.monotonic() > end:
            raise TimeoutError("the bench sends no frames")
        time.sleep(0.01)


HAS_TERMINALS = hasattr(os, "openpty")
