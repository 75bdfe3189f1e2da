"""A live meter of which every byte is in a raw log before anybody sees the reading."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from coilmeter.cli.connection import Connection
from coilmeter.errors import CoilmeterError, MeterSilentError, PortLostError
from coilmeter.sources.clock import Clock
from coilmeter.sources.port import LONGEST_WAIT_S, MeterStream, TimedReading, TimedReject
from coilmeter.sources.rawlog import Kind, LogHead
from coilmeter.sources.rawlog_tap import Tap
from coilmeter.sources.rawlog_writer import RawLog
from coilmeter.values import Reading

NOTE: Final = "flex: "
"""Begins the notes that a replay of the log obeys."""


@dataclass(frozen=True, slots=True)
class Arrived:
    """A reading that is in the log, and when it came in seconds since the log's start."""

    at: float
    reading: Reading


class RecordedMeter:
    """An open meter and its log; made by `recorded`."""

    def __init__(
        self, stream: MeterStream, tap: Tap, log: RawLog, clock: Clock, began: float
    ) -> None:
        self.log = log
        self._stream = stream
        self._tap = tap
        self._clock = clock
        self._began = began

    @property
    def now(self) -> float:
        """Seconds since the start of the log."""
        return self._clock.now() - self._began

    def poll(self) -> list[Arrived]:
        """Give the readings that have come, each in the log already.

        Raises
        ------
        MeterError
            When the meter is silent or unreadable, or the port is lost; the log says so.
        StoreError
            When the log cannot be written.

        """
        try:
            items = self._stream.poll(LONGEST_WAIT_S)
        except CoilmeterError as error:
            self._write([])
            self._trouble(error)
            raise
        found = self._write(items)
        self.log.tick()
        return found

    def note(self, text: str) -> None:
        """Write a note that a replay obeys."""
        self.log.record(self.now, Kind.NOTE, text=f"{NOTE}{text}")

    def finish(self, why: str) -> None:
        """Close the log."""
        left = self._tap.forget()
        if left:
            self.log.record(self.now, Kind.PART, left, "the log ended here")
        self.log.finish(self.now, why)

    def _write(self, items: list[TimedReading | TimedReject]) -> list[Arrived]:
        readings = iter([item for item in items if isinstance(item, TimedReading)])
        found = []
        for heard in self._tap.take(items):
            # As the log has it, so that a replay gives the same figures to the last digit.
            at = round(heard.at - self._began, 6)
            self.log.record(at, heard.kind, heard.raw, heard.text)
            if heard.kind is Kind.READ:
                found.append(Arrived(at, next(readings).reading))
        return found

    def _trouble(self, error: CoilmeterError) -> None:
        if isinstance(error, PortLostError):
            self.log.record(self.now, Kind.UNPLUGGED, text=error.message)
        elif isinstance(error, MeterSilentError):
            self.log.record(self.now, Kind.SILENT, text=error.message)
        self.finish(error.message.partition("\n")[0])


@contextmanager
def recorded(connection: Connection, path: Path, clock: Clock) -> Iterator[RecordedMeter]:
    """Open a meter and begin its log.

    Raises
    ------
    MeterError
        When the port cannot be opened; then there is no log.
    StoreError
        When the log cannot be made.

    """
    tap = Tap(connection.form, clock.now)
    stream = connection.meter(clock, tap.format)
    with ExitStack() as stack:
        stack.enter_context(stream)
        start, began = datetime.now(UTC), clock.now()
        dtr, rts = ("on" if line else "off" for line in stream.lines)
        settings = f"baud={stream.baud} frame=8N1 dtr={dtr} rts={rts}"
        head = LogHead(start, connection.port, connection.form.name, settings)
        log = stack.enter_context(RawLog(path, head))
        yield RecordedMeter(stream, tap, log, clock, began)
