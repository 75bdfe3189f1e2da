"""The readings file that a walk writes as it goes: on disk before a reading counts.

The file is an ordinary readings file, so that ``coilmeter judge`` reads it as it stands.
Each row is written and flushed to the disk (fsync) before `SheetKeeper.keep` returns.  A
reading that is taken again stays in the file with the purpose ``free``: nothing measured is
ever lost.  A file that no walk wrote is never changed.  One of an earlier version keeps its
columns until a row needs a later one.  Through a link, the file it leads to is written.

While a keeper lives, no other run can write the same file: it holds an advisory `FileLock`.
"""

from __future__ import annotations

import csv
import io
import math
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from coilmeter.errors import InputError, Mistake, StoreError
from coilmeter.sources.line_file import (
    append_line,
    end_line,
    is_whole,
    real_file,
    set_aside,
    what_next,
)
from coilmeter.sources.lock import FileLock
from coilmeter.sources.rawlog_file import sync_folder
from coilmeter.sources.sheet import COLUMNS, FORMER_COLUMNS, parse_sheet
from coilmeter.units import format_ohm
from coilmeter.values import Purpose, ReadingRow
from coilmeter.values.flexing import flex_text

REPLACED: Final = "taken again later"
_ELSEWHERE: Final = "keep the new readings elsewhere (--keep)."
_BYTE_ORDER_MARK: Final = b"\xef\xbb\xbf"


class SheetKeeper:
    """Keeps the rows of one walk in a readings file.

    Use it as a context manager, or `close` it: no other run can write the file until then.
    Forgotten without that, or killed, it lets go of the file as well.

    Parameters
    ----------
    path
        The file; unless `resume`, it must not exist, or hold no reading yet.
    resume
        Go on with a file that an earlier walk left.

    Raises
    ------
    StoreError
        When the file cannot be made or read back, exists without `resume`, or is written by
        another run now.

    Attributes
    ----------
    rows
        What is in the file, in order; readings taken again included, as ``free``.
    cut
        Characters of a line that an earlier run could not finish writing; empty where there
        was none.  A line that only lacks its line break is whole, and none of those.
    beside
        The file in which that line is now; None where there was none.

    """

    def __init__(self, path: Path, *, resume: bool = False) -> None:
        self.path = path
        self.rows: list[ReadingRow] = []
        self.cut = ""
        self.beside: Path | None = None
        self._file = real_file(path)
        self._columns: tuple[str, ...] = COLUMNS
        self._lock = self._locked()
        try:
            if not exists(self._file):
                self._make()
            elif not self._read_back(resume=resume):
                self._rewrite([], COLUMNS)
        except BaseException:
            self.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let other runs write the file; what is in it stays.  Twice is once."""
        self._lock.release()

    def keep(self, row: ReadingRow) -> None:
        """Have the row on disk, in place of an earlier one of the same place.

        Raises
        ------
        StoreError
            When it could not be kept, or this keeper is closed; then the file is as it was.

        """
        if not self._lock.held:
            raise StoreError(
                f"{self.path}: closed, and may be another run's by now; nothing was added",
                hint="make a new keeper of the file, with resume.",
            )
        stamped = replace(
            row, time=row.time or datetime.now(UTC).isoformat(timespec="milliseconds")
        )
        place = _place(stamped)
        older = [index for index, other in enumerate(self.rows) if _place(other) == place]
        if stamped.flex is not None and self._columns != COLUMNS:
            self._rewrite([*self.rows, stamped], COLUMNS)
            self._columns = COLUMNS
            self.rows.append(stamped)
            return
        if stamped.purpose is Purpose.FREE or not older:
            self._append(stamped)
            self.rows.append(stamped)
            return
        rows = list(self.rows)
        for index in older:
            note = "; ".join(part for part in (rows[index].note, REPLACED) if part)
            rows[index] = replace(rows[index], purpose=Purpose.FREE, note=note)
        self._rewrite([*rows, stamped], self._columns)
        self.rows = [*rows, stamped]

    def _locked(self) -> FileLock:
        with self._trouble("cannot be locked for writing"):
            try:
                return FileLock(self.path)
            except BlockingIOError as error:
                raise StoreError(
                    f"{self.path}: another run is writing this file now",
                    hint="end that one first, or keep the new readings elsewhere (--keep).",
                ) from error

    def _make(self) -> None:
        with self._trouble("cannot be made"):
            # Never in place of a file that another run has just made.
            with self._file.open("xb", buffering=0) as file:
                try:
                    file.write(_line(COLUMNS).encode())
                    os.fsync(file.fileno())
                except OSError:
                    self._file.unlink(missing_ok=True)
                    raise
            sync_folder(self._file)

    def _read_back(self, *, resume: bool) -> bool:
        """Read what an earlier run left; False where that is not even a header."""
        with self._trouble("cannot be read back"):
            data = self._file.read_bytes()
        plain = data.removeprefix(_BYTE_ORDER_MARK)
        headers = [_line(columns).encode() for columns in (COLUMNS, *FORMER_COLUMNS)]
        if any(header.startswith(plain) for header in headers):
            return False
        if not resume:
            raise StoreError(
                f"{self.path}: there is something in it already",
                hint="go on with it (--resume), or keep the new readings elsewhere (--keep).",
            )
        head, newline, rest = data.rpartition(b"\n")
        whole = head + newline
        self._find_columns(plain.partition(b"\n")[0])
        if rest and is_whole(rest, self._columns, self._mistakes_of):
            self.rows = self._rows_in(data)
            with self._trouble("cannot be written"):
                end_line(self._file)
            return True
        self.rows = self._rows_in(whole)
        if rest:
            with self._trouble("cannot be written"):
                self.beside = set_aside(self._file, rest)
            self.cut = rest.decode("utf-8", "replace")
        return True

    def _mistakes_of(self, data: bytes) -> list[Mistake]:
        return parse_sheet(data, str(self.path), empty_is_fine=True).mistakes

    def _find_columns(self, header: bytes) -> None:
        known = {_line(each).strip().encode(): each for each in (COLUMNS, *FORMER_COLUMNS)}
        if header.strip() not in known:
            # Rows added under another header would be nonsense.
            raise StoreError(
                f"{self.path}: no walk wrote this file (its first line is "
                f"{header[:60].decode('utf-8', 'replace')!r})",
                hint=f"judge it as it stands, and {_ELSEWHERE}",
            )
        self._columns = known[header.strip()]

    def _rows_in(self, data: bytes) -> list[ReadingRow]:
        try:
            sheet = parse_sheet(data, str(self.path), empty_is_fine=True)
        except InputError as error:
            raise StoreError(
                f"{self.path}: cannot be read back ({error.message})",
                hint=error.hint or _ELSEWHERE,
            ) from error
        if sheet.mistakes:
            raise StoreError(
                "\n".join(str(mistake) for mistake in sheet.mistakes),
                hint=f"correct the file, or {_ELSEWHERE}",
            )
        return sheet.rows

    def _append(self, row: ReadingRow) -> None:
        line = _line(_cells(row)[: len(self._columns)]).encode()
        with self._trouble("cannot be written"):
            append_line(self._file, line)

    def _rewrite(self, rows: list[ReadingRow], columns: tuple[str, ...]) -> None:
        """Write the whole file under another name, then put it in place: never half of it."""
        half = self._file.with_name(f".{self._file.name}.part")
        with self._trouble("cannot be written"):
            try:
                with half.open("w", encoding="utf-8", newline="") as file:
                    file.write(_line(columns))
                    file.writelines(_line(_cells(row)[: len(columns)]) for row in rows)
                    file.flush()
                    os.fsync(file.fileno())
                half.replace(self._file)
            except BaseException:
                half.unlink(missing_ok=True)
                raise
            sync_folder(self._file)

    @contextmanager
    def _trouble(self, what: str) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            raise StoreError(
                f"{self.path}: {what} ({error.strerror or error}); "
                f"{len(self.rows)} readings before are in it",
                hint=what_next(error, self.path),
            ) from error


def exists(path: Path) -> bool:
    """Whether something of that name is there, as far as this user may see."""
    return os.path.exists(path)  # noqa: PTH110 - Path.exists raises where a folder is closed


def _place(row: ReadingRow) -> tuple[object, ...]:
    """Tell what a row is about; a free reading or a flexing, nothing that can be replaced."""
    if row.purpose is Purpose.FREE or row.flex is not None:
        return (object(),)
    sides = tuple(sorted((row.coil, row.other)))
    return (row.head, row.purpose is Purpose.LEAD_NULL, sides)


def _cells(row: ReadingRow) -> tuple[str, ...]:
    """Cells of a row, in the order of `COLUMNS`."""
    coil = f"{row.coil}-{row.other}" if row.other else row.coil
    return (
        row.head,
        row.kind,
        coil,
        row.role or "",
        "" if row.pins is None else "-".join(row.pins),
        row.purpose or "",
        row.reading.text,
        _range(row.range_ohm),
        row.meter,
        row.lead,
        row.temperature,
        row.time,
        row.note,
        str(row.count),
        # Below a nano-ohm it is the rounding of a mean of equal readings.
        f"{round(row.scatter_ohm, 9):.6g}",
        row.proof,
        row.raw,
        "" if row.flex is None else flex_text(row.flex),
    )


def _range(end_ohm: float | None) -> str:
    if end_ohm is None:
        return ""
    return "auto" if math.isinf(end_ohm) else format_ohm(end_ohm)


def _line(cells: tuple[str, ...]) -> str:
    line = io.StringIO()
    csv.writer(line, lineterminator="\n").writerow(cells)
    return line.getvalue()
