"""Copies of a bin that is a file, whole even while somebody writes to it."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, suppress
from pathlib import Path

from coilmeter.errors import InputError, StoreError


def copy_file(source: Path, target: Path) -> None:
    """Copy a bin to a new file through SQLite's own backup, and look through the copy.

    Parameters
    ----------
    source
        The bin.
    target
        The copy; it must not exist.

    Raises
    ------
    InputError
        When something of that name is there already.
    StoreError
        When the copy cannot be written or is not whole; then none is left.

    """
    if os.path.lexists(target):
        raise InputError(
            f"{target}: is there already; nothing was copied", hint="give another name."
        )
    half = target.with_name(f".{target.name}-{os.getpid()}.part")
    try:
        with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(half)) as new:
            old.backup(new)
            new.execute("PRAGMA journal_mode = DELETE")
            found = new.execute("PRAGMA integrity_check").fetchone()[0]
        if found != "ok":
            raise StoreError(
                f"{source}: is damaged, and so would be the copy ({found})",
                hint="run 'spares verify'; 'spares export' saves what can still be read.",
            )
        # Opened for writing: some systems flush no other file to disk.
        with half.open("r+b") as file:
            os.fsync(file.fileno())
        half.replace(target)
    except (OSError, sqlite3.Error) as error:
        raise StoreError(
            f"{target}: the copy cannot be written ({error})",
            hint="free some space, or check the folder.",
        ) from error
    finally:
        with suppress(OSError):
            half.unlink(missing_ok=True)
            half.with_name(f"{half.name}-journal").unlink(missing_ok=True)
