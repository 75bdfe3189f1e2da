"""The meter's end of a port, plugged in or not; and a loopback socket for one."""

from __future__ import annotations

import os
import socket
import threading
from abc import ABC, abstractmethod
from contextlib import suppress
from typing import Final

from coilmeter.errors import PortBusyError

LOOPBACK: Final = "127.0.0.1"
_SEND_BUFFER: Final = 4096
"""Bytes the system may hold back for a client; few, so that a late one reads little old."""
_CHUNK: Final = 4096


class Outlet(ABC):
    """Sends whole frames, or drops them, without ever waiting.  May be used by two threads.

    A frame of which the system took only a part is finished before another one is begun, so
    that a slow client sees gaps and no torn frames.

    Attributes
    ----------
    where
        What a program opens: a device, or ``socket://127.0.0.1:PORT``.  It may change when
        the meter is plugged in again.
    arrivals
        How many times the port was opened, as far as that can be told.

    """

    def __init__(self) -> None:
        self.where = ""
        self.arrivals = 0
        self._rest = b""
        self._lock = threading.RLock()

    @property
    @abstractmethod
    def plugged(self) -> bool:
        """Whether the port is there."""

    def plug(self) -> None:
        """Make the port, where there is none.

        Raises
        ------
        CoilmeterError
            When the system has none to give.

        """
        with self._lock:
            if not self.plugged:
                self._rest = b""
                self._plug()

    def unplug(self) -> None:
        """Take the port away, whoever has it open."""
        with self._lock:
            if self.plugged:
                self._unplug()

    def listen(self) -> bytes | None:
        """Give what was written since the last call; None where a frame has nowhere to go."""
        with self._lock:
            return self._listen() if self.plugged else None

    def offer(self, frame: bytes) -> None:
        """Send `frame`, or drop it where the listener is not keeping up."""
        with self._lock:
            if self._rest:
                self._rest = self._rest[self._write(self._rest) :]
                if self._rest:
                    return
            sent = self._write(frame)
            self._rest = frame[sent:] if sent else b""

    @abstractmethod
    def _plug(self) -> None:
        """Make the port."""

    @abstractmethod
    def _unplug(self) -> None:
        """Take the port away."""

    @abstractmethod
    def _listen(self) -> bytes | None:
        """Give what was written, of a port that is there."""

    @abstractmethod
    def _write(self, data: bytes) -> int:
        """Write without waiting; how many bytes were taken."""


class SocketOutlet(Outlet):
    """A loopback socket, for one client at a time.

    A client that goes away may be followed by another; one that comes while another is
    connected waits for its turn.

    Parameters
    ----------
    port
        TCP port; 0 for any free one, which is then kept.

    """

    def __init__(self, port: int = 0) -> None:
        super().__init__()
        self._port = port
        self._listener: socket.socket | None = None
        self._client: socket.socket | None = None

    @property
    def plugged(self) -> bool:
        """Whether clients may come."""
        return self._listener is not None

    def _plug(self) -> None:
        listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        try:
            if os.name == "posix":
                # Only there does it mean "in spite of connections winding up"; elsewhere two
                # programs could then hold the port at once.
                listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, _SEND_BUFFER)
            listener.bind((LOOPBACK, self._port))
            listener.listen(1)
        except (OSError, OverflowError) as error:
            listener.close()
            raise PortBusyError(
                f"port {self._port} of this computer cannot be listened on: {error}",
                hint="choose another port, or 0 for any free one.",
            ) from error
        listener.settimeout(0)
        self._listener = listener
        self._port = listener.getsockname()[1]
        self.where = f"socket://{LOOPBACK}:{self._port}"

    def _unplug(self) -> None:
        self._let_go()
        if self._listener is not None:
            self._listener.close()
            self._listener = None

    def _listen(self) -> bytes | None:
        if self._client is None:
            self._accept()
            return None if self._client is None else b""
        try:
            heard = self._client.recv(_CHUNK)
        except BlockingIOError:
            return b""
        except OSError:
            heard = b""
        if not heard:
            self._let_go()
            return None
        return heard

    def _accept(self) -> None:
        if self._listener is None:
            return
        with suppress(OSError):
            self._client, _ = self._listener.accept()
            self._client.settimeout(0)
            # Each frame by itself and at once: its time of arrival is part of it.
            self._client.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            self.arrivals += 1

    def _let_go(self) -> None:
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
            self._let_go()
            return 0
