"""Where results go: a file, whole or not at all, or standard output."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from types import TracebackType
from typing import Self

from coilmeter.errors import InputError, StoreError


class WholeFile:
    """A file that is written under another name and put in place at the end.

    When anything goes wrong before that, an older file of its name stays as it was.

    Parameters
    ----------
    path
        Where it goes.

    Raises
    ------
    StoreError
        When it cannot be made, written or put in place.

    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._goal = path
        self._half = path
        try:
            # Through a link, to the file itself; a pipe or a device is written as it stands.
            self._goal = self._half = path.resolve()
            if not self._goal.exists() or self._goal.is_file():
                self._half = self._goal.with_name(f".{path.name}-{os.getpid()}.part")
            # Never into what stands under the other name already, be it planted there.
            self._file = self._half.open("wb" if self._half == self._goal else "xb")
        except OSError as error:
            raise self._refused(error) from error

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        try:
            try:
                self._file.close()
                if kind is None and self._half != self._goal:
                    self._half.replace(self._goal)
            finally:
                if self._half != self._goal:
                    self._half.unlink(missing_ok=True)
        except OSError as trouble:
            if kind is None:
                raise self._refused(trouble) from trouble

    def write(self, text: str) -> None:
        """Write text."""
        self.write_bytes(text.encode("utf-8", "backslashreplace"))

    def write_bytes(self, data: bytes) -> None:
        """Write bytes."""
        try:
            self._file.write(data)
        except OSError as error:
            raise self._refused(error) from error

    def _refused(self, error: OSError) -> StoreError:
        return StoreError(
            f"{self.path}: cannot be written ({error.strerror or error})",
            hint="nothing was changed there; give another name, or free some space.",
        )


class StandardOutput:
    """Standard output, with its troubles told as errors of this program.

    A reader that goes away (a pager, ``head``) is none of them: what is left is not written,
    and the command goes on to the exit code that all of it has.
    """

    def __init__(self) -> None:
        self._nobody_reads = False

    def write(self, text: str) -> None:
        """Write text.

        Raises
        ------
        StoreError
            When it cannot be written.

        """
        if sys.stdout is None:
            raise StoreError("standard output is closed", hint="give a file with --out.")
        self._done(lambda: sys.stdout.write(text))

    def flush(self) -> None:
        """Have all of it written; raises as `write` does."""
        self._done(sys.stdout.flush)

    def _done(self, write: Callable[[], object]) -> None:
        if self._nobody_reads:
            return
        try:
            write()
        except BrokenPipeError:
            self._nobody_reads = True
        except OSError as error:
            raise StoreError(
                f"standard output cannot be written ({error.strerror or error})",
                hint="free some space, or give a file elsewhere with --out.",
            ) from error


def check_apart(inputs: Sequence[Path], outputs: Sequence[Path]) -> None:
    """Refuse to write over a log, or two results over each other.

    Raises
    ------
    InputError
        Naming the file.

    """
    taken = {path.resolve(): path for path in inputs}
    for path in outputs:
        if path.resolve() in taken:
            raise InputError(
                f"{path}: is to be written, and is {taken[path.resolve()]} as well",
                hint="give each file a name of its own.",
            )
        taken[path.resolve()] = path
