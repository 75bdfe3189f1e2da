"""The results of a replay in each shape, written as they come."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from typing import Any, Final, Protocol

from coilmeter.cli import logging_settled
from coilmeter.cli.logging_account import account, details, document
from coilmeter.cli.logging_rows import (
    COLUMNS,
    csv_line,
    json_line,
    reading_cells,
    reading_entry,
)
from coilmeter.cli.logging_settled import SettledValue
from coilmeter.cli.options import Shape
from coilmeter.report.listing import Listing, listing_page
from coilmeter.report.safe import escaped, for_markdown
from coilmeter.sources.rawlog_replay import Replay
from coilmeter.units import format_ohm
from coilmeter.values import Reading

SCHEMA: Final = "coilmeter/1"
_NAME_WIDTH: Final = 12
_SETTLED_WIDTHS: Final = (25, 13, 14, 12, 6)
_SETTLED_HEADER: Final = ("settled at", "seconds", "value", "scatter", "count")


class Writes(Protocol):
    """Where text goes."""

    def write(self, text: str, /) -> object:
        """Write text."""
        ...


class Printer(ABC):
    """Writes what a replay gives.

    Parameters
    ----------
    out
        Where to.
    replay
        The replay; its account is complete at `finish`.

    """

    def __init__(self, out: Writes, replay: Replay) -> None:
        self.out = out
        self.replay = replay
        self.settled = False

    def begin(self, *, settled: bool) -> None:
        """Write what comes first; `settled` where settled values come, and no readings."""
        self.settled = settled

    @abstractmethod
    def reading(self, at: float, reading: Reading) -> None:
        """Write a reading."""

    def rejected(self, at: float) -> None:  # noqa: B027 - the account has them
        """Write nothing."""

    def gap(self, start: float, end: float) -> None:  # noqa: B027 - the account has them
        """Write nothing."""

    @abstractmethod
    def value(self, value: SettledValue) -> None:
        """Write a settled value."""

    @abstractmethod
    def finish(self) -> None:
        """Write what comes last, the account of it all."""


class TextPrinter(Printer):
    """For a terminal: settled values where asked for, then the account."""

    def begin(self, *, settled: bool) -> None:
        """Write the names of the columns."""
        super().begin(settled=settled)
        if settled:
            self._line(_SETTLED_HEADER)

    def reading(self, at: float, reading: Reading) -> None:
        """Leave single readings out: nobody can read so many."""

    def value(self, value: SettledValue) -> None:
        """Write a settled value."""
        self._line(_value_texts(self.replay, value))

    def finish(self) -> None:
        """Write the account."""
        if self.settled:
            self.out.write("\n")
        for name, text in account(self.replay):
            self.out.write(f"{name:<{_NAME_WIDTH}} {text}\n")
        for line in details(self.replay):
            self.out.write(f"  {line}\n")

    def _line(self, cells: Sequence[str]) -> None:
        padded = [
            f"{cell:<{width}}" for cell, width in zip(cells, _SETTLED_WIDTHS, strict=True)
        ]
        self.out.write("  ".join(padded).rstrip() + "\n")


class MarkdownPrinter(TextPrinter):
    """The same in Markdown."""

    def begin(self, *, settled: bool) -> None:
        """Write the names of the columns."""
        Printer.begin(self, settled=settled)
        if settled:
            self._row(_SETTLED_HEADER)
            self._row(["---"] * len(_SETTLED_HEADER))

    def value(self, value: SettledValue) -> None:
        """Write a settled value."""
        self._row([for_markdown(text) for text in _value_texts(self.replay, value)])

    def finish(self) -> None:
        """Write the account."""
        if self.settled:
            self.out.write("\n")
        self._row(("what", "how much"))
        self._row(("---", "---"))
        for name, text in account(self.replay):
            self._row((name, for_markdown(text)))
        lines = [f"- {escaped(line)}\n" for line in details(self.replay)]
        if lines:
            self.out.write("\n")
        for line in lines:
            self.out.write(line)

    def _row(self, cells: Sequence[str]) -> None:
        self.out.write(f"| {' | '.join(cells)} |\n")


class CsvPrinter(Printer):
    """Readings, or settled values, as CSV; the account is told elsewhere."""

    def begin(self, *, settled: bool) -> None:
        """Write the header."""
        super().begin(settled=settled)
        self.out.write(csv_line(logging_settled.COLUMNS if settled else COLUMNS))

    def reading(self, at: float, reading: Reading) -> None:
        """Write a reading."""
        self.out.write(csv_line(reading_cells(self.replay.head.start, at, reading)))

    def value(self, value: SettledValue) -> None:
        """Write a settled value."""
        self.out.write(csv_line(value.cells(self.replay.head.start)))

    def finish(self) -> None:
        """Write nothing more."""


class JsonPrinter(Printer):
    """One document: readings or settled values, an object a line, then the account."""

    separator = "\n"

    def begin(self, *, settled: bool) -> None:
        """Open the document."""
        super().begin(settled=settled)
        key = "settled" if settled else "readings"
        self.out.write(f'{{"schema": "{SCHEMA}", "{key}": [')

    def reading(self, at: float, reading: Reading) -> None:
        """Write a reading."""
        self._entry(reading_entry(self.replay.head.start, at, reading))

    def value(self, value: SettledValue) -> None:
        """Write a settled value."""
        self._entry(value.entry(self.replay.head.start))

    def finish(self) -> None:
        """Write the account and close the document."""
        self.out.write(f'\n], "replay": {json_line(document(self.replay))}}}\n')

    def _entry(self, entry: Mapping[str, Any]) -> None:
        self.out.write(self.separator + json_line(entry))
        self.separator = ",\n"


class HtmlPrinter(Printer):
    """A page: the settled values where asked for, and the account."""

    def begin(self, *, settled: bool) -> None:
        """Have nothing to show yet."""
        super().begin(settled=settled)
        self._rows: list[tuple[str, ...]] = []

    def reading(self, at: float, reading: Reading) -> None:
        """Leave single readings out: nobody can read so many."""

    def value(self, value: SettledValue) -> None:
        """Keep a settled value: they are as few as the touches of the clips."""
        self._rows.append(_value_texts(self.replay, value))

    def finish(self) -> None:
        """Write the page."""
        told = list(account(self.replay))
        notes = list(details(self.replay))
        if self.settled:
            page = Listing(
                "settled_values",
                _SETTLED_HEADER,
                self._rows,
                (),
                (),
                [*(f"{name}: {text}" for name, text in told), *notes],
                nothing="nothing came to rest",
            )
        else:
            page = Listing("replay", ("what", "how much"), told, (), (), notes)
        self.out.write(listing_page(page))


def make_printer(shape: Shape, out: Writes, replay: Replay) -> Printer:
    """Choose the printer for a shape."""
    printers: dict[Shape, type[Printer]] = {
        Shape.TABLE: TextPrinter,
        Shape.MARKDOWN: MarkdownPrinter,
        Shape.CSV: CsvPrinter,
        Shape.JSON: JsonPrinter,
        Shape.HTML: HtmlPrinter,
    }
    return printers[shape](out, replay)


def _value_texts(replay: Replay, value: SettledValue) -> tuple[str, ...]:
    time, seconds, _, _, count, _ = value.cells(replay.head.start)
    return (
        str(time),
        str(seconds),
        format_ohm(value.mean_ohm, value.scatter_ohm or None),
        format_ohm(value.scatter_ohm),
        str(count),
    )
