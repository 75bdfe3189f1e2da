"""Files that grow by a line: a line added whole, a last line without its end, what to do next.

A last line without a line break has two origins.  An editor may have saved the file without
one: then the line is whole.  Or the machine stopped while it was written: then what is left of
it is kept in a file beside, since nothing that was measured is thrown away.
"""

from __future__ import annotations

import csv
import errno
import io
import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

from coilmeter.errors import InputError, Mistake

_LINKED: Final = frozenset({errno.ENOENT, errno.ENOTDIR, errno.ELOOP, errno.EEXIST})
"""What a system answers where a link leads nowhere."""


def real_file(path: Path) -> Path:
    """Follow links to the file itself, which need not exist yet."""
    return Path(os.path.realpath(path))


def cut_file(path: Path) -> Path:
    """Name the file beside another one that keeps its lines without an end."""
    return path.with_name(f"{path.name}.cut")


def append_line(path: Path, line: bytes) -> None:
    """Have one line on disk behind all others, on a line of its own whatever stands before.

    Raises
    ------
    OSError
        When it could not be written; then the file is as it was.

    """
    # Unbuffered: what a full disk refused must not be written when the file is closed.
    with path.open("r+b", buffering=0) as file:
        end = file.seek(0, os.SEEK_END)
        if end:
            file.seek(end - 1)
            # Saved by an editor meanwhile, the last line may have lost its line break.
            line = line if file.read(1) == b"\n" else b"\n" + line
        try:
            while line:
                line = line[file.write(line) :]
            os.fsync(file.fileno())
        except OSError:
            # Half a line would spoil what is good: back to where it was.
            file.truncate(end)
            raise


def is_whole(
    rest: bytes, columns: Sequence[str], mistakes_of: Callable[[bytes], Sequence[Mistake]]
) -> bool:
    """Whether a last line without a line break has all that stood in it.

    It has where no cell is missing and the last of them can be read: cells before it are
    closed by their comma.  A comment or a blank is whole as it stands.

    Parameters
    ----------
    rest
        The line.
    columns
        Names of the columns of the file, in their order.
    mistakes_of
        Tells the mistakes of a file that has a header and this line.

    """
    try:
        text = rest.decode()
        if not text.strip() or text.lstrip().startswith("#"):
            return True
        records = list(csv.reader(io.StringIO(text, newline=""), strict=True))
        if [len(columns)] != [len(cells) for cells in records]:
            return False
        header = ",".join(columns).encode() + b"\n"
        # A mistake before the last cell is a person's, who is told of it.
        return columns[-1] not in {each.place for each in mistakes_of(header + rest)}
    except (UnicodeDecodeError, csv.Error, InputError):
        return False


def end_line(path: Path) -> None:
    """Give a whole last line its line break.

    Raises
    ------
    OSError
        When it could not be written; then the file is as it was.

    """
    append_line(path, b"")


def set_aside(path: Path, rest: bytes) -> Path:
    """Move a cut last line to the file beside, behind those that are there already.

    Raises
    ------
    OSError
        When that cannot be written; then the line is still in its file.

    Returns
    -------
    Path
        The file beside.

    """
    beside = cut_file(path)
    with beside.open("ab", buffering=0) as file:
        start, left = file.tell(), rest + b"\n"
        try:
            while left:
                left = left[file.write(left) :]
            os.fsync(file.fileno())
        except OSError:
            file.truncate(start)
            raise
    with path.open("r+b") as file:
        file.truncate(file.seek(0, os.SEEK_END) - len(rest))
        os.fsync(file.fileno())
    return beside


def what_next(error: OSError, path: Path) -> str:
    """Say what to do where a file of a walk cannot be made, read back or written."""
    if os.path.isdir(path):  # noqa: PTH112 - Path.is_dir raises where a folder is closed
        return "that is a folder: name a file in it (--keep)."
    if error.errno in _LINKED and os.path.islink(path):  # noqa: PTH114 - as above
        return (
            f"it is a link to {path.readlink()}: have it point to a file in a folder that is "
            "there, or keep the readings elsewhere (--keep)."
        )
    return "free some space or check the folder, then go on with --resume."
