"""Writes a raw log: each record is with the system before the call returns."""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from coilmeter.sources.rawlog import Kind, LogHead, record_line
from coilmeter.sources.rawlog_file import GrowingFile

SMALLEST_PART: Final = 4096
"""Bytes at which a log may be split, at least: a head and some records."""


class RawLog:
    """A raw log that is being written.

    What survives: a kill of this program loses no record whose call had returned, and at most
    the frame that was arriving.  A power cut loses at most what came after the last flush to
    the disk, see `coilmeter.sources.rawlog_file.SYNC_EVERY_S`.

    Parameters
    ----------
    path
        A file that does not exist yet.
    head
        What the log is about.
    split_at
        Bytes after which the log goes on in a new file; None for never.

    Raises
    ------
    ValueError
        When `split_at` is below `SMALLEST_PART`.
    StoreError
        When the file cannot be made or written.

    Attributes
    ----------
    paths
        The files written, in order.
    records
        Records written, in all parts.
    raw_bytes
        Bytes of the meter written.

    """

    def __init__(self, path: Path, head: LogHead, *, split_at: int | None = None) -> None:
        if split_at is not None and split_at < SMALLEST_PART:
            raise ValueError(f"a log cannot be split at {split_at} bytes")
        self.paths = [path]
        self.records = 0
        self.raw_bytes = 0
        self._head = head
        self._split_at = split_at
        self._last = 0.0
        self._file = self._begin(path)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._file.close()

    def record(self, seconds: float, kind: Kind, raw: bytes = b"", text: str = "") -> None:
        """Write one record.

        Parameters
        ----------
        seconds
            Since the start of the log; a time before that of the last record is written as
            that one's.
        kind, raw, text
            As `coilmeter.sources.rawlog` says.

        Raises
        ------
        StoreError
            When it cannot be written; all before it is kept.

        """
        self._last = max(self._last, seconds)
        line = record_line(self._last, kind, raw, text)
        if self._split_at is not None and self._file.size + len(line) > self._split_at:
            self._split()
        self._file.append(line)
        self.records += 1
        self.raw_bytes += len(raw)

    def tick(self) -> None:
        """Flush to the disk where that is due, so that a pause leaves nothing behind.

        Raises
        ------
        StoreError
            When the disk fails.

        """
        self._file.sync_if_due()

    def finish(self, seconds: float, why: str) -> None:
        """Write the last record and flush everything to the disk.

        Raises
        ------
        StoreError
            When it cannot be written; all before it is kept.

        """
        self._last = max(self._last, seconds)
        self._file.append(record_line(self._last, Kind.END, b"", why))
        self._file.sync()

    def _begin(self, path: Path) -> GrowingFile:
        file = GrowingFile(path, "raw log")
        try:
            file.append(self._head.text().encode())
            file.sync()
        except BaseException:
            file.close()
            path.unlink(missing_ok=True)
            raise
        return file

    def _split(self) -> None:
        """Go on in a new file, of the first name that is free."""
        first = self.paths[0]
        head = replace(self._head, part=len(self.paths) + 1)
        self._head = head
        for number in itertools.count(head.part):
            path = first.with_name(f"{first.stem}-{number}{first.suffix}")
            if not path.exists():
                break
        following = self._begin(path)
        old, self._file = self._file, following
        self.paths.append(path)
        try:
            old.append(record_line(self._last, Kind.END, b"", f"goes on in {path.name}"))
            old.sync()
        finally:
            old.close()
