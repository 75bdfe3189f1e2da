"""A flexing from a file: a raw log, or the CSV of readings that ``log --csv`` writes."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from coilmeter.cli.flexing_stream import NOTE, Arrived
from coilmeter.cli.logging_rows import COLUMNS
from coilmeter.errors import InputError, Mistake, MistakesError
from coilmeter.sources.rawlog import MAGIC, Kind
from coilmeter.sources.rawlog_reader import Happened, LogReader
from coilmeter.sources.rawlog_replay import Replay
from coilmeter.sources.rawlog_tally import Gap
from coilmeter.values import Flag, Function, Reading
from coilmeter.wire.contract import Format
from coilmeter.wire.scaling import UNIT_OF

_NEEDED: Final = ("at_s", "function", "value", "overload")
_FUNCTIONS: Final = {str(each): each for each in Function}
_FLAGS: Final = {str(each): each for each in Flag}
_LONGEST_FIELD: Final = 1000


@dataclass(slots=True)
class Saved:
    """What was read from a file.

    Parameters
    ----------
    readings
        The readings with their times, in order.
    notes
        What was said meanwhile, with its time: ``lifted``, ``still on``, ``end``.
    about
        What was told of the file that must be said.
    start
        When second zero was.

    """

    readings: list[Arrived]
    notes: list[tuple[float, str]] = field(default_factory=list)
    about: list[str] = field(default_factory=list)
    start: datetime = field(default_factory=lambda: datetime.fromtimestamp(0, UTC))


def read_saved(paths: Sequence[Path], form: Format | None) -> Saved:
    """Read a log, in one file or its parts in order, or one CSV of readings.

    Parameters
    ----------
    paths
        The files.
    form
        Format to take the bytes of a log for; None for the one that it names.

    Raises
    ------
    InputError, MistakesError
        When a file is neither, cannot be read, or has mistakes.

    """
    first = _beginning(paths[0])
    if first.startswith(MAGIC):
        return _from_log(paths, form)
    if len(paths) > 1:
        raise InputError(
            f"{paths[0]}: no raw log, and only a raw log has several parts",
            hint="give one CSV of readings, or the parts of one raw log in order.",
        )
    return _from_csv(paths[0])


def _beginning(path: Path) -> str:
    try:
        with path.open("rb") as file:
            return file.read(200).removeprefix(b"\xef\xbb\xbf").decode("utf-8", "replace")
    except OSError as error:
        raise InputError(
            f"{path}: cannot be read ({error.strerror or error})",
            hint="give a raw log, or the CSV that `coilmeter log --csv` wrote.",
        ) from error


def _from_log(paths: Sequence[Path], form: Format | None) -> Saved:
    replay = Replay(list(paths), form)
    saved = Saved([], start=replay.head.start)
    for event in replay.events():
        if isinstance(event, Gap):
            continue
        saved.readings += [
            Arrived(at, item)
            for at, item in zip(event.at, event.items, strict=True)
            if isinstance(item, Reading)
        ]
    tally = replay.tally
    if tally.damages:
        saved.about.append(f"damaged lines of the log that were passed over: {tally.damages}.")
    if tally.rejected:
        saved.about.append(f"stretches of bytes that were no frame: {tally.rejected}.")
    for path in paths:
        with LogReader(path) as reader:
            saved.notes += [
                (event.at, event.text.removeprefix(NOTE))
                for event in reader.events()
                if isinstance(event, Happened)
                and event.kind is Kind.NOTE
                and event.text.startswith(NOTE)
            ]
    return saved


def _from_csv(path: Path) -> Saved:
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(
            f"{path}: byte {error.start + 1} is not UTF-8 text",
            hint="give a raw log, or the CSV that `coilmeter log --csv` wrote.",
        ) from error
    rows = csv.reader(io.StringIO(text, newline=""), strict=True)
    table = _Table(str(path))
    try:
        table.take(rows)
    except csv.Error as error:
        table.mistake(rows.line_num, "line", str(error), "quotes in pairs around a cell")
    if table.mistakes:
        raise MistakesError(table.mistakes)
    return Saved(table.readings, start=table.start)


class _Table:
    """The CSV of readings, understood line by line."""

    def __init__(self, name: str) -> None:
        self.readings: list[Arrived] = []
        self.mistakes: list[Mistake] = []
        self.start = datetime.fromtimestamp(0, UTC)
        self._name = name
        self._line = 1

    def mistake(self, line: int, place: str, seen: str, expected: str) -> None:
        """Note a mistake."""
        self.mistakes.append(Mistake(self._name, line, place, repr(seen[:40]), expected))

    def take(self, rows: Iterator[list[str]]) -> None:
        """Take the header and what stands under it."""
        header = [cell.strip() for cell in next(rows, [])]
        missing = [name for name in _NEEDED if name not in header]
        if missing:
            raise InputError(
                f"{self._name}: no raw log, and no CSV of readings (no column "
                f"{', '.join(missing)})",
                hint=f"`coilmeter log --csv` writes one: {','.join(COLUMNS)}.",
            )
        for self._line, cells in enumerate(rows, 2):
            if not any(cells):
                continue
            if len(cells) != len(header):
                seen = f"{len(cells)} cells"
                self.mistake(self._line, "cells", seen, f"{len(header)}, as the header has")
                continue
            self._row(dict(zip(header, cells, strict=True)))

    def _row(self, cells: dict[str, str]) -> None:
        at = self._number(cells, "at_s", needed=True)
        if at is not None and self.readings and at < self.readings[-1].at:
            self.mistake(self._line, "at_s", cells["at_s"], "times that never go back")
        function = _FUNCTIONS.get(cells["function"])
        if function is None:
            self.mistake(self._line, "function", cells["function"], "such as resistance")
        if cells["overload"] not in {"0", "1"}:
            self.mistake(self._line, "overload", cells["overload"], "0 or 1")
        over = cells["overload"] == "1"
        value = self._number(cells, "value", needed=not over)
        flags = [_FLAGS.get(word) for word in cells.get("flags", "").split()]
        if None in flags:
            self.mistake(self._line, "flags", cells["flags"], f"of {', '.join(_FLAGS)}")
        resolution, full_scale = (
            self._number(cells, name, needed=False) for name in ("resolution", "full_scale")
        )
        if at is None or function is None:
            return
        unit = cells.get("unit", "")
        if unit not in {"", UNIT_OF[function]}:
            self.mistake(self._line, "unit", unit, UNIT_OF[function])
        if not self.readings and cells.get("time"):
            self._begin(cells["time"])
        reading = Reading(
            function,
            None if over else value,
            unit,
            overload=over,
            resolution=resolution or None,
            full_scale=full_scale or None,
            flags=frozenset(flag for flag in flags if flag is not None),
            display=cells.get("display", ""),
        )
        self.readings.append(Arrived(at, reading))

    def _begin(self, text: str) -> None:
        try:
            self.start = datetime.fromisoformat(text)
        except ValueError:
            self.mistake(self._line, "time", text, "RFC 3339, such as 2026-03-01T14:05:00Z")

    def _number(self, cells: dict[str, str], name: str, *, needed: bool) -> float | None:
        text = cells.get(name, "")
        if not text and not needed:
            return None
        try:
            number = float(text) if len(text) < _LONGEST_FIELD else math.nan
        except ValueError:
            number = math.nan
        if not math.isfinite(number) or (name != "value" and number < 0):
            expected = "a number" if name == "value" else "zero or more"
            self.mistake(self._line, name, text, expected)
            return None
        return number
