"""The file of AC volts that a walk writes as it goes: each voltage on disk before it counts.

It is an ordinary file of AC volts (`coilmeter.sources.impedance_sheet`).  Lines are only ever
added: a voltage that is taken again gets a new line, which says so and takes the place of the
earlier one when the file is read; voltages that cannot be one circuit's get a line that puts
them aside.
"""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from coilmeter.errors import InputError, Mistake, StoreError
from coilmeter.sources.impedance_sheet import COLUMNS, parse_volts
from coilmeter.sources.line_file import (
    append_line,
    end_line,
    is_whole,
    real_file,
    set_aside,
    what_next,
)
from coilmeter.sources.lock import FileLock
from coilmeter.units import format_ohm
from coilmeter.units.si_text import format_si
from coilmeter.values.impedance_rows import ImpedanceRow, Toleranced

_HEADER: Final = ",".join(COLUMNS) + "\n"
_MARK: Final = b"\xef\xbb\xbf"


class VoltsFile:
    """Keeps the voltages of one walk; a context manager.

    Parameters
    ----------
    path
        The file; unless `resume`, it must not exist, or hold nothing but a header.
    resume
        Go on with a file that an earlier walk left.

    Raises
    ------
    StoreError
        When the file cannot be made or read back, exists without `resume`, was written by
        hand, or is written by another run now.

    Attributes
    ----------
    rows
        What is in the file, put together.
    cut
        Characters of a line that an earlier run could not finish; empty where there was none.
    beside
        The file in which that line is now; None where there was none.
    count
        How many voltages were read for the file, those that no longer count included.

    """

    def __init__(self, path: Path, *, resume: bool = False) -> None:
        self.path = path
        self.rows: list[ImpedanceRow] = []
        self.cut = ""
        self.beside: Path | None = None
        self._file = real_file(path)
        self.count = 0
        with self._trouble("cannot be locked for writing"):
            try:
                self._lock = FileLock(path)
            except BlockingIOError as error:
                raise StoreError(
                    f"{path}: another run is writing this file now",
                    hint="end that one first, or keep the voltages elsewhere (--keep).",
                ) from error
        try:
            self._begin(resume=resume)
        except BaseException:
            self._lock.release()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._lock.release()

    def keep(self, row: ImpedanceRow, raw: str = "") -> None:
        """Have a row on disk.

        Raises
        ------
        StoreError
            When it could not be kept; then the file is as it was.

        """
        line = _line(row, raw).encode()
        with self._trouble("cannot be written"):
            append_line(self._file, line)
        self.count += row.readings

    def _begin(self, *, resume: bool) -> None:
        with self._trouble("cannot be made"):
            data = self._file.read_bytes() if os.path.lexists(self._file) else b""
        plain = data.removeprefix(_MARK)
        if _HEADER.encode().startswith(plain):
            with self._trouble("cannot be made"), self._file.open("wb", buffering=0) as file:
                file.write(_HEADER.encode())
                os.fsync(file.fileno())
            return
        if not resume:
            raise StoreError(
                f"{self.path}: there is something in it already",
                hint="go on with it (--resume), or keep the voltages elsewhere (--keep).",
            )
        if not plain.startswith(_HEADER.encode()):
            raise StoreError(
                f"{self.path}: no walk wrote this file, its header is another",
                hint="judge it as it stands, and keep the new voltages elsewhere (--keep).",
            )
        head, newline, rest = data.rpartition(b"\n")
        if rest and is_whole(rest, COLUMNS, self._mistakes_of):
            self._read_back(data + b"\n")
            with self._trouble("cannot be written"):
                end_line(self._file)
            return
        self._read_back(head + newline)
        if rest:
            with self._trouble("cannot be written"):
                self.beside = set_aside(self._file, rest)
            self.cut = rest.decode("utf-8", "replace")

    def _mistakes_of(self, data: bytes) -> list[Mistake]:
        return parse_volts(data, str(self.path), empty_is_fine=True).mistakes

    def _read_back(self, data: bytes) -> None:
        elsewhere = "correct the file, or keep the new voltages elsewhere (--keep)."
        try:
            sheet = parse_volts(data, str(self.path), empty_is_fine=True)
        except InputError as error:
            raise StoreError(
                f"{self.path}: cannot be read back ({error.message})", hint=elsewhere
            ) from error
        if sheet.mistakes:
            raise StoreError("\n".join(map(str, sheet.mistakes)), hint=elsewhere)
        self.rows = sheet.rows
        self.count = sheet.voltages

    @contextmanager
    def _trouble(self, what: str) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            raise StoreError(
                f"{self.path}: {what} ({error.strerror or error})",
                hint=what_next(error, self.path),
            ) from error


def _line(row: ImpedanceRow, raw: str) -> str:
    """Write one line: the voltages of a row, with what is common to all lines."""
    of_one = next(iter(row.volts.values())) if len(row.volts) == 1 else None
    ranges = [volts.range_volt for volts in row.volts.values()]
    cells = {
        "head": row.head,
        "kind": row.kind,
        "coil": row.coil,
        "role": row.role or "",
        "frequency": "" if row.frequency_hz is None else f"{row.frequency_hz:.9g} Hz",
        "method": row.method or "",
        "resistor": _toleranced(row.resistor),
        "dc": _toleranced(row.dc),
        "range": ""
        if None in ranges
        else "/".join(format_si(end or 0.0, "V") for end in ranges),
        "meter": row.meter,
        "temperature": row.temperature,
        "reference": "yes" if row.reference else "",
        "set": str(row.number),
        "time": row.time or datetime.now(UTC).isoformat(timespec="milliseconds"),
        "note": row.note,
        "count": str(of_one.count) if of_one else "",
        "scatter": "" if of_one is None else _scatter(of_one.scatter_volt),
        "raw": raw,
    } | {f"v_{across}": volts.shown.text for across, volts in row.volts.items()}
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([cells.get(column, "") for column in COLUMNS])
    return out.getvalue()


def _toleranced(figure: Toleranced | None) -> str:
    if figure is None:
        return ""
    if figure.half is None:
        return format_ohm(figure.value)
    return f"{figure.value:.9g} ohm +/- {figure.half:.9g} ohm"


def _scatter(volt: float) -> str:
    # Below a nano-volt it is the rounding of a mean of equal readings.
    rounded = round(volt, 9)
    return f"{rounded:.4g} V" if rounded else ""
