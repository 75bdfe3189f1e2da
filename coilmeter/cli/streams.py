"""The three standard streams, as every command may rely on them.

A shell, a service or a launcher without a window can start a program with any of them closed,
on a full disk, or with a reader that goes away.  Only one of these counts: results that nobody
can have.  What is said to a person ends nothing and changes no exit code.
"""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, TextIO, cast

from coilmeter.errors import StoreError

_LAST_STANDARD: Final = 2


class Talk:
    """Standard error: what it cannot take is dropped.

    Parameters
    ----------
    stream
        Where it goes.

    Attributes
    ----------
    nobody_reads
        Whether its reader has gone: what is asked there is seen by nobody.

    """

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self.nobody_reads = False

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)

    def write(self, text: str) -> int:
        """Write text where that is possible."""
        with self._dropped():
            self._stream.write(text)
        return len(text)

    def writelines(self, lines: Iterable[str]) -> None:
        """Write texts where that is possible."""
        for line in lines:
            self.write(line)

    def flush(self) -> None:
        """Have it written where that is possible."""
        with self._dropped():
            self._stream.flush()

    @contextmanager
    def _dropped(self) -> Iterator[None]:
        try:
            yield
        except BrokenPipeError:
            self.nobody_reads = True
        except OSError:
            # A full disk: there may be room again for the next line.
            pass

    def let_go(self) -> None:
        """Drop what still waits and cannot be taken."""
        try:
            self._stream.flush()
        except OSError:
            _to_nowhere(self._stream)


class Output:
    """Standard output: what it cannot take is an error of this program's own.

    A reader that has gone is left to whoever writes, as a `BrokenPipeError`.

    Parameters
    ----------
    stream
        Where it goes.

    """

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)

    def write(self, text: str) -> int:
        """Write text.

        Raises
        ------
        StoreError
            When it cannot be written.
        BrokenPipeError
            When its reader is gone.

        """
        with _refused():
            return self._stream.write(text)

    def writelines(self, lines: Iterable[str]) -> None:
        """Write texts; raises as `write` does."""
        for line in lines:
            self.write(line)

    def flush(self) -> None:
        """Have all of it written; raises as `write` does."""
        with _refused():
            self._stream.flush()


class NoOutput(io.TextIOBase):
    """A standard output that was closed from the start."""

    def write(self, _: str, /) -> int:
        """Refuse.

        Raises
        ------
        StoreError
            Always.

        """
        raise StoreError("standard output is closed", hint="give a file with --out.")


@dataclass(frozen=True, slots=True)
class Streams:
    """The streams of one run; see `standard_streams`.

    Parameters
    ----------
    out, talk
        Standard output and standard error.

    """

    out: Output | NoOutput
    talk: Talk

    def hand_over(self) -> None:
        """Have all that was written go where it goes, or nowhere.

        What still waited when the interpreter ends would be tried again then, and would take
        the exit code with it.

        Raises
        ------
        StoreError
            When standard output cannot be written; a reader that has gone is no error.

        """
        self.talk.let_go()
        try:
            self.out.flush()
        except BrokenPipeError:
            _to_nowhere(self.out)
        except StoreError:
            _to_nowhere(self.out)
            raise


@contextmanager
def standard_streams() -> Iterator[Streams]:
    """Put streams that can be relied on in the place of the standard ones, and take them back.

    In it all three are there.  What is closed has the null device under its number, so that no
    file that is opened later gets that number, and with it what others write there.
    """
    given: tuple[TextIO | None, ...] = (sys.stdin, sys.stdout, sys.stderr)
    with ExitStack() as stack:
        typed, out, talk = (
            stream if stream is not None else stack.enter_context(_null(mode))
            for stream, mode in zip(given, "rww", strict=True)
        )
        for stream in (out, talk):
            # A terminal that knows ASCII only shows a code in the place of a letter.
            if isinstance(stream, io.TextIOWrapper):
                stream.reconfigure(errors="backslashreplace")
        streams = Streams(NoOutput() if given[1] is None else Output(out), Talk(talk))
        sys.stdin = typed
        sys.stdout, sys.stderr = cast("TextIO", streams.out), cast("TextIO", streams.talk)
        try:
            yield streams
        finally:
            sys.stdin, sys.stdout, sys.stderr = cast("tuple[TextIO, TextIO, TextIO]", given)


def _null(mode: str) -> TextIO:
    opened = Path(os.devnull).open(mode, encoding="utf-8")  # noqa: SIM115 - the caller closes it
    stream = cast("TextIO", opened)
    if stream.fileno() <= _LAST_STANDARD:
        # As standard streams are: a program that is started has it as well.
        os.set_inheritable(stream.fileno(), True)  # noqa: FBT003 - takes no name
    return stream


@contextmanager
def _refused() -> Iterator[None]:
    try:
        yield
    except BrokenPipeError:
        raise
    except OSError as error:
        raise StoreError(
            f"standard output cannot be written ({error.strerror or error})",
            hint="free some space, or give a file elsewhere with --out.",
        ) from error


def _to_nowhere(stream: Any) -> None:
    """Have what still waits in a stream go to the null device."""
    # What is no file of the system's has no number, and nothing waits in it.
    with suppress(OSError, ValueError):
        number = stream.fileno()
        nowhere = os.open(os.devnull, os.O_WRONLY)
        try:
            os.dup2(nowhere, number)
        finally:
            os.close(nowhere)
        stream.flush()
