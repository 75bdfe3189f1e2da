"""A live meter: bytes from a port that pyserial can open, decoded and stamped with time.

A port is a device name, a pseudo-terminal, ``socket://host:port`` or ``loop://``.  It is
always opened with eight data bits and no parity: seven bits with parity, or with two stop
bits, take the same time on the wire, so that parity arrives as the eighth bit, where a
decoder can check it instead of a driver that may not.
"""

from __future__ import annotations

import io
import math
import select
import time
from dataclasses import dataclass
from types import TracebackType
from typing import Final, Self

import serial

from coilmeter.errors import MeterSilentError, MeterUnreadableError, PortLostError
from coilmeter.sources.clock import Clock
from coilmeter.sources.port_errors import (
    check_url,
    lost_hint,
    silent_hint,
    unreadable_hint,
    why_not_opened,
)
from coilmeter.values import Reading
from coilmeter.wire.contract import Format, Rejected

LONGEST_WAIT_S: Final = 0.05
"""Real seconds that a poll waits for a byte at most."""

SILENT_AFTER_S: Final = 5.0
UNREADABLE_AFTER_S: Final = 5.0
UNREADABLE_REJECTS: Final = 10
"""Rejected stretches since the last reading before a meter can be called unreadable."""

_CHUNK: Final = 4096
_NAPS: Final = 10
_SHOWN_BYTES: Final = 24
_MAY_BE_CUT: Final = "the first line after opening: its beginning may be missing"


@dataclass(frozen=True, slots=True)
class TimedReading:
    """A reading, and when its last byte was read, in seconds of the stream's clock."""

    at: float
    reading: Reading


@dataclass(frozen=True, slots=True)
class TimedReject:
    """A stretch that is no frame, and when its last byte was read."""

    at: float
    rejected: Rejected


class MeterStream:
    """A meter on a port, open between ``with`` and its end.

    Parameters
    ----------
    url
        Device name or URL.
    form
        The wire format it speaks.
    clock
        Gives the times of what arrives, and of silence.
    baud
        Bits per second, where the meter is set to others than its format's usual ones.
    lines
        DTR and RTS, where the cable needs others than the format's usual ones.
    silent_after, unreadable_after
        Seconds of the clock without a byte, or without a reading among what arrives, until
        an error says so; infinity for never.

    Raises
    ------
    InputError, PortMissingError, PortBusyError, PortDeniedError
        On entering, when the port cannot be opened.

    Attributes
    ----------
    bytes_in, decoded, rejected
        How many bytes arrived, and how many readings and rejected stretches they made.

    """

    def __init__(
        self,
        url: str,
        form: Format,
        clock: Clock,
        *,
        baud: int | None = None,
        lines: tuple[bool, bool] | None = None,
        silent_after: float = SILENT_AFTER_S,
        unreadable_after: float = UNREADABLE_AFTER_S,
    ) -> None:
        self.url = url
        self.form = form
        self.baud = form.settings.baud if baud is None else baud
        self.lines = (form.settings.dtr, form.settings.rts) if lines is None else lines
        self.silent_after = silent_after
        self.unreadable_after = unreadable_after
        self.bytes_in = 0
        self.decoded = 0
        self.rejected = 0
        self._clock = clock
        self._port: serial.SerialBase | None = None
        self._descriptor: int | None = None
        self._decoder = form.decoder()
        self._beginning_unsure = not form.facts.cut_shows
        self._answered = 0
        self._heard = 0.0
        self._refused = 0
        self._refused_since = math.inf
        self._refused_last = 0.0
        self._refused_bytes = b""

    def __enter__(self) -> Self:
        check_url(self.url, self.baud)
        try:
            port = serial.serial_for_url(
                self.url,
                do_not_open=True,
                baudrate=self.baud,
                timeout=0,
                exclusive=True,
            )
            # Set before opening, so that the cable is powered from the first moment on;
            # pyserial passes over ports that have no such lines.
            port.dtr, port.rts = self.lines
            port.open()
        except (OSError, ValueError, LookupError) as error:
            # pyserial answers an option it does not know with a KeyError of its own message
            raise why_not_opened(self.url, error) from error
        self._port = port
        try:
            self._descriptor = port.fileno()
        except io.UnsupportedOperation:
            self._descriptor = None
        self._heard = self._clock.now()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Give the port back; what was decoded stays with the caller."""
        port, self._port, self._descriptor = self._port, None, None
        if port is None:
            return
        # pyserial forgets its socket without closing it when the peer has reset it
        left = getattr(port, "_socket", None)
        port.close()
        if left is not None:
            left.close()

    def poll(self, wait_s: float = LONGEST_WAIT_S) -> list[TimedReading | TimedReject]:
        """Read what has arrived, waiting for the first byte no longer than `wait_s`.

        Parameters
        ----------
        wait_s
            Real seconds, `LONGEST_WAIT_S` at most.

        Returns
        -------
        list
            What the bytes completed, in the order of the stream; often empty.

        Raises
        ------
        PortLostError
            When the port is gone.  All that was decoded has been returned before.
        MeterSilentError, MeterUnreadableError
            As `check_alive`; polling may go on, and raises again after the same time.

        """
        self._check_readable()
        data = self._read(min(max(wait_s, 0.0), LONGEST_WAIT_S))
        now = self._clock.now()
        if not data:
            self._check_heard(now)
            return []
        self._heard = now
        self.bytes_in += len(data)
        return [self._timed(now, answer) for answer in self._decoder.feed(data)]

    def check_alive(self) -> None:
        """Raise where the meter is silent, or nothing it says can be read.

        Raises
        ------
        MeterSilentError
            After `silent_after` seconds without a byte.
        MeterUnreadableError
            After `unreadable_after` seconds in which stretches were rejected, ten at least,
            and no reading came between them.

        """
        self._check_readable()
        self._check_heard(self._clock.now())

    def _timed(self, now: float, answer: Reading | Rejected) -> TimedReading | TimedReject:
        position, self._answered = self._answered, self._answered + len(answer.raw)
        if isinstance(answer, Reading) and self._beginning_unsure and position == 0:
            self.rejected += 1
            return TimedReject(now, Rejected(answer.raw, _MAY_BE_CUT, position))
        if isinstance(answer, Reading):
            self.decoded += 1
            self._refused, self._refused_since, self._refused_bytes = 0, math.inf, b""
            return TimedReading(now, answer)
        self.rejected += 1
        self._refused += 1
        self._refused_since = min(self._refused_since, now)
        self._refused_last = now
        if len(self._refused_bytes) < _SHOWN_BYTES:
            self._refused_bytes = (self._refused_bytes + answer.raw)[:_SHOWN_BYTES]
        return TimedReject(now, answer)

    def _read(self, wait_s: float) -> bytes:
        """Bytes that are there, or that come while waiting; none where none come.

        Without a time-out pyserial reads once and returns: with one it would go on reading,
        and drop what it has when the port is lost in between.
        """
        port = self._port
        if port is None:
            raise RuntimeError("the meter stream is not open: use it in a with statement")
        try:
            if self._descriptor is not None:
                select.select([self._descriptor], [], [], wait_s)
                return bytes(port.read(_CHUNK))
            for _ in range(_NAPS):
                data = bytes(port.read(_CHUNK))
                if data:
                    return data
                time.sleep(wait_s / _NAPS)
            return bytes(port.read(_CHUNK))
        except (OSError, ValueError) as error:
            raise PortLostError(
                f"{self.url}: the port is gone ({error}); "
                f"{self.decoded} readings arrived before and are kept",
                hint=lost_hint(self.url),
            ) from error

    def _check_heard(self, now: float) -> None:
        silence = now - self._heard
        if silence < self.silent_after:
            return
        self._heard = now
        raise MeterSilentError(
            f"{self.url}: the port is open and no byte came for {silence:.1f} s "
            f"({self.bytes_in} bytes and {self.decoded} readings before)",
            hint=silent_hint(self.url, self.form.name, self.baud, self.lines),
        )

    def _check_readable(self) -> None:
        lasted = self._refused_last - self._refused_since
        if self._refused < UNREADABLE_REJECTS or lasted < self.unreadable_after:
            return
        shown, count = self._refused_bytes.hex(" ").upper(), self._refused
        self._refused, self._refused_since, self._refused_bytes = 0, math.inf, b""
        raise MeterUnreadableError(
            f"{self.url}: {count} stretches in {lasted:.1f} s, and none is a frame of "
            f"{self.form.name}; the first bytes were {shown}",
            hint=unreadable_hint(self.form.name, self.baud),
        )
