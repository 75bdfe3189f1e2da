"""A lock on a file that one run at a time may write, let go by the system whatever happens.

The lock is advisory: it keeps out other runs of this program, and no editor.  It hangs on a
hidden file beside the one it is about, and not on that one itself, which is replaced as a
whole when a reading is taken again.  Where a file system knows no locks (some network ones),
there is none, and nothing is said.
"""

from __future__ import annotations

import errno
import os
import sys
import weakref
from contextlib import suppress
from pathlib import Path
from typing import Final

if sys.platform != "win32":
    import fcntl

    def _take(descriptor: int) -> None:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)

else:  # pragma: no cover - another system
    import msvcrt

    def _take(descriptor: int) -> None:
        msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)


_HELD: Final = frozenset({errno.EAGAIN, errno.EACCES, errno.EDEADLK})
"""What systems answer where another run holds the lock."""


class FileLock:
    """The lock of one file, held from the making until `release`, or until this is forgotten.

    Parameters
    ----------
    path
        The file it is about; links to it are followed, so that each name of it counts.

    Raises
    ------
    BlockingIOError
        When another run, or another part of this one, holds it.
    OSError
        When the lock file cannot be made.

    Attributes
    ----------
    path
        The lock file.  It goes when the lock is released; after a crash or a kill it stays,
        held by nobody, and is in no one's way.

    """

    def __init__(self, path: Path) -> None:
        self.path = self.beside(path)
        self._release = weakref.finalize(self, _let_go, self.path, _held(self.path))

    @staticmethod
    def beside(path: Path) -> Path:
        """Name the lock file of a file."""
        whole = Path(os.path.realpath(path))
        return whole.parent / f".{whole.name}.lock"

    @property
    def held(self) -> bool:
        """Whether it has not been released."""
        return self._release.alive

    def release(self) -> None:
        """Let go of it; a second time nothing happens."""
        self._release()


def _held(path: Path) -> int:
    """Make the lock file, and give the descriptor that holds it."""
    while True:
        descriptor = os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
        try:
            _take(descriptor)
        except OSError as error:
            if error.errno in _HELD:
                os.close(descriptor)
                raise BlockingIOError(error.errno, os.strerror(error.errno)) from error
            # A file system without locks.
            return descriptor
        # Whoever held it may have removed the file after it was opened here: then this is a
        # lock on nothing that others can find.
        with suppress(FileNotFoundError):
            if os.path.samestat(os.fstat(descriptor), path.stat()):
                return descriptor
        os.close(descriptor)


def _let_go(path: Path, descriptor: int) -> None:
    """Remove the lock file and let go: in this order, so that it is never another run's."""
    if os.name == "posix":
        with suppress(OSError):
            path.unlink()
        os.close(descriptor)
    else:  # pragma: no cover - a system that removes no open file
        os.close(descriptor)
        with suppress(OSError):
            path.unlink()
