"""A live meter of which every byte is in a raw log before anybody sees the reading."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from coilmeter.cli.connection import Connection
from coilmeter.errors import CoilmeterError
from coilmeter.sources.clock import Clock
from coilmeter.sources.port import LONGEST_WAIT_S
from coilmeter.sources.port_events import (
    Answer,
    FellSilent,
    LinkBack,
    LinkLost,
    TalksAgain,
    TimedReading,
    TimedReject,
    Trouble,
    Unreadable,
)
from coilmeter.sources.port_lasting import LastingStream
from coilmeter.sources.rawlog import Kind, LogHead
from coilmeter.sources.rawlog_tap import Tap
from coilmeter.sources.rawlog_writer import RawLog
from coilmeter.values import Reading

NOTE: Final = "flex: "
"""Begins the notes that a replay of the log obeys."""

AWAY: Final = "away"


@dataclass(frozen=True, slots=True)
class Arrived:
    """A reading that is in the log, and when it came in seconds since the log's start."""

    at: float
    reading: Reading


Arrival = Arrived | Trouble | LinkBack | TalksAgain
"""What comes of a meter that may be unplugged; the rejected bytes are in the log alone."""


class RecordedMeter:
    """An open meter and its log; made by `recorded`."""

    def __init__(
        self, stream: LastingStream, tap: Tap, log: RawLog, clock: Clock, began: float
    ) -> None:
        self.log = log
        self._stream = stream
        self._tap = tap
        self._clock = clock
        self._began = began
        self._any = False

    @property
    def now(self) -> float:
        """Seconds since the start of the log."""
        return self._clock.now() - self._began

    def poll(self) -> list[Arrival]:
        """Give the readings that have come, and what became of the connection, all logged.

        Raises
        ------
        MeterError
            When the meter is silent or unreadable before its first reading, or the port is
            lost for longer than is waited; the log says so.
        StoreError
            When the log cannot be written.

        """
        answers: list[Answer] = []
        found: list[Arrival] = []
        try:
            for event in self._stream.poll(LONGEST_WAIT_S):
                if isinstance(event, TimedReading | TimedReject):
                    answers.append(event)
                    continue
                self._happened(event)
                found.append(event)
        except CoilmeterError as error:
            self.finish(error.message.partition("\n")[0])
            raise
        found += self._write(answers)
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

    def _write(self, items: list[Answer]) -> list[Arrived]:
        readings = iter([item for item in items if isinstance(item, TimedReading)])
        found = []
        for heard in self._tap.take(items):
            # As the log has it, so that a replay gives the same figures to the last digit.
            at = round(heard.at - self._began, 6)
            self.log.record(at, heard.kind, heard.raw, heard.text)
            if heard.kind is Kind.READ:
                found.append(Arrived(at, next(readings).reading))
        self._any |= bool(found)
        return found

    def _happened(self, event: Trouble | LinkBack | TalksAgain) -> None:
        """Write what became of the connection.

        Raises
        ------
        MeterError
            When nothing was read yet: a person sets it right and begins again.

        """
        if isinstance(event, LinkBack):
            text = f"open again as {event.url}"
            self.log.record(event.at - self._began, Kind.PLUGGED, text=text)
        if isinstance(event, LinkBack | TalksAgain):
            return
        self._write([])
        kind = Kind.NOTE
        if isinstance(event, LinkLost):
            kind, left = Kind.UNPLUGGED, self._tap.forget()
            if left:
                self.log.record(self.now, Kind.PART, left, "the port was lost here")
        elif isinstance(event, FellSilent):
            kind = Kind.SILENT
        self.log.record(self.now, kind, text=event.error.message)
        if isinstance(event, FellSilent | Unreadable) and not self._any:
            raise event.error
        self.note(AWAY)


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
    meter = connection.meter(clock, tap.format)
    stream = LastingStream(meter, clock, wait_s=connection.wait_s)
    with ExitStack() as stack:
        stack.enter_context(stream)
        start, began = datetime.now(UTC), clock.now()
        dtr, rts = ("on" if line else "off" for line in meter.lines)
        settings = f"baud={meter.baud} frame=8N1 dtr={dtr} rts={rts}"
        head = LogHead(start, connection.port, connection.form.name, settings)
        log = stack.enter_context(RawLog(path, head))
        yield RecordedMeter(stream, tap, log, clock, began)
