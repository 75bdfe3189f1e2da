"""The readings of a log as a CSV file that grows beside it."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from coilmeter.cli.logging_rows import COLUMNS, csv_line, reading_cells
from coilmeter.errors import StoreError
from coilmeter.sources.rawlog_file import GrowingFile
from coilmeter.values import Reading


class ReadingsTable:
    """The readings as CSV, each with the system before it is counted.

    Parameters
    ----------
    path
        A file that does not exist yet.
    start
        When second zero was.

    Raises
    ------
    StoreError
        When it cannot be made or written.

    """

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
