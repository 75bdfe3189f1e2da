"""A file that only grows, a whole line at a time, and never in place of another."""

from __future__ import annotations

import os
import time
from pathlib import Path
from typing import Final

from coilmeter.errors import StoreError

SYNC_EVERY_S: Final = 1.0
"""Real seconds between two flushes to the disk itself.

Every line is handed to the system as it comes, so that ending this program, in whatever way,
loses none.  Only a power cut or a crash of the system loses what the disk has not got: about
a second of readings.  To flush each line would wear a memory card with ten writes a second,
and a slow one keeps the program waiting meanwhile.
"""


class GrowingFile:
    """A new file for lines.

    Parameters
    ----------
    path
        Must not exist.
    what
        What the file is, for messages.

    Raises
    ------
    StoreError
        When it exists or cannot be made.

    Attributes
    ----------
    size
        Bytes written.
    lines
        Lines written.

    """

    def __init__(self, path: Path, what: str) -> None:
        self.path = path
        self.size = 0
        self.lines = 0
        self._what = what
        self._waiting = False
        self._named = False
        self._synced = time.monotonic()
        try:
            # Unbuffered: what a full disk refused must not be written later on.
            self._file = path.open("xb", buffering=0)
        except FileExistsError as error:
            raise StoreError(
                f"{path}: there is such a file already, and no {what} is ever written over",
                hint="give another name, or move that file away.",
            ) from error
        except OSError as error:
            raise StoreError(
                f"{path}: the {what} cannot be made ({error.strerror or error})",
                hint="check the folder, or give another name.",
            ) from error

    def append(self, data: bytes) -> None:
        """Hand whole lines to the system.

        Raises
        ------
        StoreError
            When it does not take them all; then the file ends as it did before.

        """
        start = self._file.tell()
        left = memoryview(data)
        try:
            while left:
                left = left[self._file.write(left) :]
        except OSError as error:
            self._take_back(start)
            raise self._refused(error) from error
        self.size += len(data)
        self.lines += data.count(b"\n")
        self._waiting = True
        self.sync_if_due()

    def sync_if_due(self) -> None:
        """Flush to the disk where that was last done `SYNC_EVERY_S` ago.

        Raises
        ------
        StoreError
            When the disk fails.

        """
        if self._waiting and time.monotonic() - self._synced >= SYNC_EVERY_S:
            self.sync()

    def sync(self) -> None:
        """Flush to the disk.

        Raises
        ------
        StoreError
            When the disk fails.

        """
        try:
            os.fsync(self._file.fileno())
            if not self._named:
                sync_folder(self.path)
                self._named = True
        except OSError as error:
            raise self._refused(error) from error
        self._waiting = False
        self._synced = time.monotonic()

    def close(self) -> None:
        """Let the file go; what was appended is with the system."""
        self._file.close()

    def _take_back(self, start: int) -> None:
        """Take away the half of a line that was written; a reader would pass it over too."""
        try:
            self._file.truncate(start)
            self._file.seek(start)
        except OSError:
            return

    def _refused(self, error: OSError) -> StoreError:
        return StoreError(
            f"{self.path}: the {self._what} cannot be written any further "
            f"({error.strerror or error}); all {self.lines} lines before are in it",
            hint="free some space or check the disk, then begin a new file; this one can be "
            "read as it stands.",
        )


def sync_folder(path: Path) -> None:
    """Have the file's name on disk too, where a system lets a folder be flushed."""
    if os.name != "posix":
        return
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)
