"""Keeps every byte of a meter in a raw log until it is told to end."""

from __future__ import annotations

import signal
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from coilmeter.cli.logging_screen import LogView, Progress, make_view
from coilmeter.cli.logging_stop import Stopper
from coilmeter.cli.logging_strip import Strip
from coilmeter.cli.logging_table import ReadingsTable
from coilmeter.cli.logging_texts import ALL_SOUND, SOMETHING, number_of, span_text
from coilmeter.cli.port_words import (
    CTRL_C_ENDS,
    asides_text,
    back_words,
    found_text,
    lines_text,
    trouble_words,
)
from coilmeter.errors import (
    MeterSilentError,
    MeterUnreadableError,
    PortLostError,
    StoreError,
)
from coilmeter.sources.clock import Clock, RealClock
from coilmeter.sources.poll_lines import Lines
from coilmeter.sources.port import LONGEST_WAIT_S, MeterStream
from coilmeter.sources.port_events import (
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
    lines
        DTR and RTS; None for those of the format.
    wait_s
        Seconds for which a meter that is unplugged is waited for.

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
    lines: Lines | None = None
    wait_s: float = 0.0


def run_log(job: LogJob) -> int:
    """Log a meter until the end, and return the exit code.

    That is 0 when it has readings, 1 when it has none, 128 and its number after a signal.

    Raises
    ------
    MeterError
        When the port cannot be opened, or is lost for longer than is waited, no byte ever
        comes, or not one reading was made of those that came.
    StoreError
        When a file cannot be made or written.
    KeyboardInterrupt
        On Ctrl-C.

    """
    tap = Tap(job.form, job.clock.now)
    meter = MeterStream(job.port, tap.format, job.clock, baud=job.baud, lines=job.lines)
    stream = LastingStream(meter, job.clock, wait_s=job.wait_s)
    with ExitStack() as stack:
        stack.enter_context(stream)
        stopper = stack.enter_context(Stopper())
        start = datetime.now(UTC)
        began = job.clock.now()
        dtr, rts = ("on" if line else "off" for line in meter.lines)
        settings = f"baud={meter.baud} frame=8N1 dtr={dtr} rts={rts}"
        head = LogHead(start, job.port, job.form.name, settings)
        log = stack.enter_context(RawLog(job.out, head, split_at=job.split_at))
        table = None
        if job.table is not None:
            try:
                table = ReadingsTable(job.table, start)
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
            if meter.asides:
                view.say(asides_text(meter.asides))
            view.say(logger.where())
    if stopper.signal == signal.SIGINT:
        raise KeyboardInterrupt
    if stopper.signal is not None:
        return STOPPED + stopper.signal
    return ALL_SOUND if logger.progress.readings else SOMETHING


class _Logger:
    """One run."""

    def __init__(
        self,
        job: LogJob,
        stream: LastingStream,
        tap: Tap,
        log: RawLog,
        table: ReadingsTable | None,
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
        self._lines = stream.meter.lines
        self._parts = 1
        self._unreadable: MeterUnreadableError | None = None

    def run(self) -> None:
        """Log until the end."""
        self._view.say(
            f"logging {self._job.form.name} at {self._job.port} to {self._log.paths[0]}"
        )
        try:
            why = self._until_end()
        except PortLostError:
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
            f"{number_of(self._log.raw_bytes, 'byte')} in {span_text(progress.seconds)}: "
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
        answers: list[TimedReading | TimedReject] = []
        news = False
        for event in self._stream.poll(wait_s):
            if isinstance(event, (TimedReading, TimedReject)):
                answers.append(event)
                continue
            news = True
            if isinstance(event, (LinkBack, TalksAgain)):
                self._back(event)
            else:
                self._trouble(event)
        return self._keep(answers) or news

    def _back(self, event: LinkBack | TalksAgain) -> None:
        if isinstance(event, LinkBack):
            text = f"open again as {event.url}"
            self._log.record(event.at - self._began, Kind.PLUGGED, text=text)
        self._view.say(back_words(event, self._job.port))

    def _trouble(self, event: Trouble) -> None:
        """Write what happened, say it, and go on where there is something to wait for."""
        self._keep([])
        if isinstance(event, Unreadable):
            if self._unreadable is None:
                self._unreadable = event.error
                self._view.say(
                    f"! {event.error}\n  Every byte is kept: replay it in another format."
                )
            return
        kind = Kind.NOTE
        if isinstance(event, LinkLost):
            kind, left = Kind.UNPLUGGED, self._tap.forget()
            if left:
                self._log.record(self._now(), Kind.PART, left, "the port was lost here")
        elif isinstance(event, FellSilent):
            kind = Kind.SILENT
        self._log.record(self._now(), kind, text=event.error.message)
        if isinstance(event, FellSilent) and not self._stream.meter.bytes_in:
            raise event.error
        self._view.say("! {}: {}".format(*trouble_words(event, self._job.port, CTRL_C_ENDS)))

    def _keep(self, items: list[TimedReading | TimedReject]) -> bool:
        """Write what has come, then count it."""
        progress, job = self.progress, self._job
        readings = iter([item for item in items if isinstance(item, TimedReading)])
        heard_any = False
        for heard in self._tap.take(items):
            at = heard.at - self._began
            self._log.record(at, heard.kind, heard.raw, heard.text)
            heard_any = True
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
        if self._stream.meter.lines != self._lines:
            self._lines = self._stream.meter.lines
            text = f"the meter talks with {lines_text(self._lines)}"
            self._log.record(self._now(), Kind.NOTE, text=text)
            self._view.say(found_text(self._lines))
        return heard_any

    def _now(self) -> float:
        return self._job.clock.now() - self._began
