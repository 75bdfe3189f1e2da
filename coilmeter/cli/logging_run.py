"""Keeps every byte of a meter in a raw log until it is told to end."""

from __future__ import annotations

import signal
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from coilmeter.cli.logging_rows import COLUMNS, csv_line, reading_cells
from coilmeter.cli.logging_screen import LogView, Progress, make_view
from coilmeter.cli.logging_stop import Stopper
from coilmeter.cli.logging_strip import Strip
from coilmeter.cli.logging_texts import ALL_SOUND, SOMETHING, number_of, span_text
from coilmeter.errors import (
    CoilmeterError,
    MeterSilentError,
    MeterUnreadableError,
    PortLostError,
    StoreError,
)
from coilmeter.report.safe import harmless
from coilmeter.sources.clock import Clock, RealClock
from coilmeter.sources.port import LONGEST_WAIT_S, MeterStream, TimedReading, TimedReject
from coilmeter.sources.rawlog import Kind, LogHead
from coilmeter.sources.rawlog_file import GrowingFile
from coilmeter.sources.rawlog_tap import Tap
from coilmeter.sources.rawlog_writer import RawLog
from coilmeter.values import Reading
from coilmeter.wire.contract import Format

STOPPED: Final = 128
"""Exit codes after a signal are this and its number, as shells have it."""


@dataclass(frozen=True, slots=True)
class LogJob:
    """What to log, and until when.

    Parameters
    ----------
    port, form, baud
        The meter; None for the usual baud rate of its format.
    out, table
        Where the log goes, and the CSV file of the readings; None for no such.
    for_s, count
        Seconds, or readings, after which it ends; None for never.
    split_at
        Bytes after which the log goes on in a new file; None for never.
    clock
        Gives the times.

    """

    port: str
    form: Format
    out: Path
    baud: int | None = None
    table: Path | None = None
    for_s: float | None = None
    count: int | None = None
    split_at: int | None = None
    clock: Clock = field(default_factory=RealClock)


def run_log(job: LogJob) -> int:
    """Log a meter until the end, and return the exit code.

    That is 0 when it has readings, 1 when it has none, 128 and its number after a signal.

    Raises
    ------
    MeterError
        When the port cannot be opened or is lost, no byte ever comes, or not one reading was
        made of those that came.
    StoreError
        When a file cannot be made or written.
    KeyboardInterrupt
        On Ctrl-C.

    """
    tap = Tap(job.form, job.clock.now)
    stream = MeterStream(job.port, tap.format, job.clock, baud=job.baud)
    with ExitStack() as stack:
        stack.enter_context(stream)
        stopper = stack.enter_context(Stopper())
        start = datetime.now(UTC)
        began = job.clock.now()
        dtr, rts = ("on" if line else "off" for line in stream.lines)
        settings = f"baud={stream.baud} frame=8N1 dtr={dtr} rts={rts}"
        head = LogHead(start, job.port, job.form.name, settings)
        log = stack.enter_context(RawLog(job.out, head, split_at=job.split_at))
        table = None
        if job.table is not None:
            try:
                table = _Table(job.table, start)
            except StoreError:
                # Nothing is in the log yet: it must not be in the way of the next try.
                job.out.unlink(missing_ok=True)
                raise
            stack.callback(table.close)
        view = make_view()
        logger = _Logger(job, stream, tap, log, table, view, stopper, began)
        try:
            with view:
                logger.run()
        finally:
            view.say(logger.where())
    if stopper.signal == signal.SIGINT:
        raise KeyboardInterrupt
    if stopper.signal is not None:
        return STOPPED + stopper.signal
    return ALL_SOUND if logger.progress.readings else SOMETHING


class _Table:
    """The readings as CSV, each with the system before it is counted."""

    def __init__(self, path: Path, start: datetime) -> None:
        self._start = start
        self._file = GrowingFile(path, "CSV file")
        try:
            self._file.append(csv_line(COLUMNS).encode())
        except StoreError:
            self._file.close()
            raise

    def add(self, at: float, reading: Reading) -> None:
        """Write a reading."""
        self._file.append(csv_line(reading_cells(self._start, at, reading)).encode())

    def tick(self) -> None:
        """Flush to the disk where that is due."""
        self._file.sync_if_due()

    def finish(self) -> None:
        """Flush everything to the disk."""
        self._file.sync()

    def close(self) -> None:
        """Let the file go."""
        self._file.close()


class _Logger:
    """One run."""

    def __init__(
        self,
        job: LogJob,
        stream: MeterStream,
        tap: Tap,
        log: RawLog,
        table: _Table | None,
        view: LogView,
        stopper: Stopper,
        began: float,
    ) -> None:
        self._job = job
        self._stream = stream
        self._tap = tap
        self._log = log
        self._table = table
        self._view = view
        self._stopper = stopper
        self._began = began
        self._strip = Strip()
        self.progress = Progress()
        self._lines = stream.lines
        self._parts = 1
        self._silent = False
        self._unreadable: MeterUnreadableError | None = None

    def run(self) -> None:
        """Log until the end."""
        self._view.say(
            f"logging {self._job.form.name} at {self._job.port} to {self._log.paths[0]}"
        )
        try:
            why = self._until_end()
        except PortLostError as error:
            self._gap(Kind.UNPLUGGED, error)
            self._finish("the port was lost")
            raise
        except MeterSilentError:
            self._finish("no byte ever came")
            raise
        left = self._tap.forget()
        if left and self.progress.readings != self._job.count:
            self._log.record(self._now(), Kind.PART, left, "the log ended here")
        self._finish(why)
        if self._unreadable is not None and not self.progress.readings:
            raise self._unreadable

    def _finish(self, why: str) -> None:
        self._log.finish(self._now(), why)
        if self._table is not None:
            self._table.finish()

    def where(self) -> str:
        """Say what was kept, and where."""
        progress, paths = self.progress, self._log.paths
        more = f" and {number_of(len(paths) - 1, 'more part')}" if len(paths) > 1 else ""
        return (
            f"{number_of(progress.readings, 'reading')}, {progress.rejected} rejected, "
            f"{number_of(progress.raw_bytes, 'byte')} in {span_text(progress.seconds)}: "
            f"kept in {paths[0]}{more}"
        )

    def _until_end(self) -> str:
        job, progress = self._job, self.progress
        while True:
            now = self._now()
            progress.seconds = now
            if self._stopper.signal is not None:
                return f"stopped by signal {self._stopper.signal}"
            if job.for_s is not None and now >= job.for_s:
                return "the time asked for was over"
            if job.count is not None and progress.readings >= job.count:
                return "the readings asked for were taken"
            left = LONGEST_WAIT_S if job.for_s is None else job.for_s - now
            news = self._poll(min(left, LONGEST_WAIT_S))
            progress.seconds = self._now()
            progress.rate_hz = self._strip.rate_hz(progress.seconds)
            self._log.tick()
            if self._table is not None:
                self._table.tick()
            self._view.show(progress, self._strip, news=news)

    def _poll(self, wait_s: float) -> bool:
        """Take what has come; whether anything has."""
        try:
            items = self._stream.poll(wait_s)
        except MeterSilentError as error:
            self._keep([])
            self._gap(Kind.SILENT, error)
            if not self._stream.bytes_in:
                raise
            return True
        except MeterUnreadableError as error:
            if self._unreadable is None:
                self._unreadable = error
                self._view.say(f"! {error}\n  Every byte is kept: replay it in another format.")
            return self._keep([])
        except PortLostError:
            self._keep([])
            raise
        return self._keep(items)

    def _keep(self, items: list[TimedReading | TimedReject]) -> bool:
        """Write what has come, then count it."""
        progress, job = self.progress, self._job
        readings = iter([item for item in items if isinstance(item, TimedReading)])
        heard_any = False
        for heard in self._tap.take(items):
            at = heard.at - self._began
            self._log.record(at, heard.kind, heard.raw, heard.text)
            heard_any, self._silent = True, False
            progress.raw_bytes += len(heard.raw)
            if heard.kind is Kind.REJECTED:
                progress.rejected += 1
                self._strip.rejected(at)
            elif heard.kind is Kind.READ:
                reading = next(readings).reading
                if self._table is not None:
                    self._table.add(at, reading)
                self._strip.reading(at, reading)
                progress.readings += 1
                progress.display = reading.display
                if progress.readings == job.count:
                    break
        if len(self._log.paths) > self._parts:
            self._parts = len(self._log.paths)
            self._view.say(f"the log goes on in {self._log.paths[-1]}")
        if self._stream.lines != self._lines:
            self._lines = self._stream.lines
            dtr, rts = ("on" if line else "off" for line in self._lines)
            text = f"the meter talks with DTR {dtr} and RTS {rts}"
            self._log.record(self._now(), Kind.NOTE, text=text)
            self._view.say(text)
        return heard_any

    def _gap(self, kind: Kind, error: CoilmeterError) -> None:
        """Write a gap, once, and say it."""
        if kind is Kind.UNPLUGGED:
            left = self._tap.forget()
            if left:
                self._log.record(self._now(), Kind.PART, left, "the port was lost here")
        if not self._silent or kind is Kind.UNPLUGGED:
            self._log.record(self._now(), kind, text=error.message)
        if kind is Kind.SILENT and not self._silent and self._stream.bytes_in:
            self._view.say(f"! {harmless(error.message)}; the log goes on")
        self._silent = kind is Kind.SILENT

    def _now(self) -> float:
        return self._job.clock.now() - self._began
