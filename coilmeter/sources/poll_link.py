"""The port itself: open, read, write, control lines; its troubles as errors of this program."""

from __future__ import annotations

import io
import select
import socket
import time
from typing import Final

import serial

from coilmeter.errors import MeterSilentError, PortLostError
from coilmeter.sources.port_errors import check_url, is_socket, lost_hint, why_not_opened

LONGEST_WAIT_S: Final = 0.05
"""Real seconds that a read waits for a byte at most."""

WRITE_WITHIN_S: Final = 2.0
"""Real seconds after which a port that takes no bytes is given up."""

KEEP_ALIVE_S: Final = 10
"""Seconds after which a silent connection is asked whether its other side is still there, and
between such questions; after some without an answer it is lost, and not just silent."""

_CHUNK: Final = 4096
_NAPS: Final = 10


class Link:
    """An open port, with eight data bits and no parity.

    Parameters
    ----------
    url
        Device name or URL.
    baud
        Bits per second.
    lines
        DTR and RTS.

    Raises
    ------
    InputError, PortMissingError, PortBusyError, PortDeniedError
        When it cannot be opened.

    """

    def __init__(self, url: str, baud: int, lines: tuple[bool, bool]) -> None:
        self.url = url
        check_url(url, baud)
        try:
            port = serial.serial_for_url(
                url,
                do_not_open=True,
                baudrate=baud,
                timeout=0,
                write_timeout=WRITE_WITHIN_S,
                exclusive=True,
            )
            # Set before opening, so that the cable is powered from the first moment on;
            # pyserial passes over ports that have no such lines.
            port.dtr, port.rts = lines
            port.open()
        except (OSError, ValueError, LookupError) as error:
            # pyserial answers an option it does not know with a KeyError of its own message
            raise why_not_opened(url, error) from error
        self.port: serial.Serial = port
        _keep_alive(getattr(port, "_socket", None))
        try:
            self._descriptor: int | None = port.fileno()
        except io.UnsupportedOperation:
            self._descriptor = None

    def close(self) -> None:
        """Give the port back."""
        # pyserial forgets its socket without closing it when the peer has reset it
        left = getattr(self.port, "_socket", None)
        self.port.close()
        if left is not None:
            left.close()

    def has_lines(self) -> bool:
        """Whether the port has control lines: a socket and a pseudo-terminal have none."""
        if is_socket(self.url):
            return False
        try:
            _ = self.port.cts
        except OSError:
            return False
        return True

    def set_lines(self, lines: tuple[bool, bool]) -> None:
        """Set DTR and RTS.

        Raises
        ------
        PortLostError
            When the port is gone.

        """
        try:
            self.port.dtr, self.port.rts = lines
        except OSError as error:
            raise self._lost(error) from error

    def read(self, wait_s: float) -> bytes:
        """Bytes that are there, or that come while waiting; none where none come.

        Without a time-out pyserial reads once and returns: with one it would go on reading,
        and drop what it has when the port is lost in between.

        Raises
        ------
        PortLostError
            When the port is gone.

        """
        wait_s = min(max(wait_s, 0.0), LONGEST_WAIT_S)
        port = self.port
        try:
            if self._descriptor is not None:
                ready, _, _ = select.select([self._descriptor], [], [], wait_s)
                return bytes(port.read(_CHUNK)) if ready else b""
            for _ in range(_NAPS):
                data = bytes(port.read(_CHUNK))
                if data:
                    return data
                time.sleep(wait_s / _NAPS)
            return bytes(port.read(_CHUNK))
        except (OSError, ValueError) as error:
            raise self._lost(error) from error

    def write(self, data: bytes) -> None:
        """Send bytes.

        Raises
        ------
        MeterSilentError
            When the port takes none for `WRITE_WITHIN_S` seconds.
        PortLostError
            When the port is gone.

        """
        try:
            self.port.write(data)
        except serial.SerialTimeoutException as error:
            raise MeterSilentError(
                f"{self.url}: the port took no byte for {WRITE_WITHIN_S:g} s",
                hint="switch handshake off at the meter, and see that its cable is whole.",
            ) from error
        except (OSError, ValueError) as error:
            raise self._lost(error) from error

    def _lost(self, error: Exception) -> PortLostError:
        return PortLostError(
            f"{self.url}: the port is gone ({error})", hint=lost_hint(self.url)
        )


def _keep_alive(connection: socket.socket | None) -> None:
    """Have the system notice when the other side of a connection is gone without a word."""
    if connection is None:
        return
    connection.setsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1)
    for name in ("TCP_KEEPIDLE", "TCP_KEEPINTVL"):
        # Not every system lets a program choose its own times.
        option = getattr(socket, name, None)
        if option is not None:
            connection.setsockopt(socket.IPPROTO_TCP, option, KEEP_ALIVE_S)
