"""Replays a log, and puts out what was asked for in one pass over it."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Protocol

from coilmeter.cli.logging_account import account, details, mistakes
from coilmeter.cli.logging_files import StandardOutput, WholeFile, check_apart
from coilmeter.cli.logging_printers import (
    CsvPrinter,
    Printer,
    TextPrinter,
    Writes,
    make_printer,
)
from coilmeter.cli.logging_settled import SettleAgain
from coilmeter.cli.logging_texts import ALL_SOUND, SOMETHING, say
from coilmeter.cli.options import Shape
from coilmeter.errors import InputError
from coilmeter.sources.rawlog_replay import Replay
from coilmeter.sources.rawlog_tally import Gap
from coilmeter.values import Reading
from coilmeter.wire.contract import Format

PLOTS: Final = ("svg", "png")


@dataclass(frozen=True, slots=True)
class ReplayJob:
    """What to replay, and what is wanted of it.

    Parameters
    ----------
    paths
        The log, or its parts in order.
    form
        The format to take the bytes for; None for the one the log names.
    shape, out
        Shape of the results, and where they go; None for standard output.
    table, plot
        Files for the readings as CSV and for a plot; None for none.
    settle
        Whether the settled values are wanted in place of the readings.

    """

    paths: tuple[Path, ...]
    form: Format | None = None
    shape: Shape = Shape.TABLE
    out: Path | None = None
    table: Path | None = None
    plot: Path | None = None
    settle: bool = False


def run_replay(job: ReplayJob) -> int:
    """Replay a log; the exit code is 0, or 1 when a line is damaged or there is no reading.

    Raises
    ------
    InputError
        When a file is no log, or a file would be written over another one of the job.
    StoreError
        When a result cannot be written.

    """
    check_apart(job.paths, [path for path in (job.out, job.table, job.plot) if path])
    if job.plot is not None and job.plot.suffix[1:].lower() not in PLOTS:
        raise InputError(
            f"--plot: saw {str(job.plot)!r}, expected a name that ends in .svg or .png"
        )
    replay = Replay(job.paths, job.form)
    with ExitStack() as stack:
        standard = StandardOutput()
        out: Writes = standard
        if job.out is not None:
            out = stack.enter_context(WholeFile(job.out))
        printers = [make_printer(job.shape, out, replay)]
        listeners: list[_Listener] = list(printers)
        if job.settle:
            listeners = [_Settling(printers[0])]
        if job.table is not None:
            table = CsvPrinter(stack.enter_context(WholeFile(job.table)), replay)
            printers.append(table)
            listeners.append(table)
        plot = None
        if job.plot is not None:
            from coilmeter.report.plots import LogPlot

            picture = stack.enter_context(WholeFile(job.plot))
            plot = LogPlot()
            listeners.append(plot)
        printers[0].begin(settled=job.settle)
        for printer in printers[1:]:
            printer.begin(settled=False)
        _pass(replay, [each for each in listeners if not isinstance(each, TextPrinter)])
        for printer in printers:
            printer.finish()
        if plot is not None and job.plot is not None:
            shape = job.plot.suffix[1:].lower()
            title = f"{replay.form.name} at {replay.head.port}"
            picture.write_bytes(plot.draw(shape, title, replay.head.start))
        if job.out is None:
            standard.flush()
    _tell(replay, job.shape)
    sound = replay.tally.decoded and not replay.tally.damages
    return ALL_SOUND if sound else SOMETHING


class _Listener(Protocol):
    """Is told what a replay gives."""

    def reading(self, at: float, reading: Reading, /) -> None:
        """Take a reading."""
        ...

    def rejected(self, at: float, /) -> None:
        """Take the time of a stretch that is no frame."""
        ...

    def gap(self, start: float, end: float, /) -> None:
        """Take a time without bytes."""
        ...


class _Settling:
    """Has the settled values printed."""

    def __init__(self, printer: Printer) -> None:
        self._again = SettleAgain()
        self._printer = printer

    def reading(self, at: float, reading: Reading) -> None:
        value = self._again.feed(at, reading)
        if value is not None:
            self._printer.value(value)

    def rejected(self, at: float) -> None:
        """Pass it over: one torn frame does not move a clip."""

    def gap(self, start: float, end: float) -> None:  # noqa: ARG002 - as listeners are told
        self._again.interrupt()


def _pass(replay: Replay, listeners: Sequence[_Listener]) -> None:
    """Go through the log once."""
    for event in replay.events():
        for listener in listeners:
            if isinstance(event, Gap):
                listener.gap(event.start, event.end)
                continue
            for at, item in zip(event.at, event.items, strict=True):
                if isinstance(item, Reading):
                    listener.reading(at, item)
                else:
                    listener.rejected(at)


def _tell(replay: Replay, shape: Shape) -> None:
    """Say beside the results what they do not hold themselves."""
    if shape is Shape.CSV:
        for name, text in account(replay):
            say(f"{name}: {text}")
        for line in details(replay):
            say(line)
    elif shape is Shape.JSON:
        for line in mistakes(replay):
            say(line)
    if replay.tally.raw_bytes and not replay.tally.decoded:
        say(
            f"! not one reading as {replay.form.name}: if the meter sent another format, name "
            "it with --format."
        )
