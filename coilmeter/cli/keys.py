"""Single keys from the terminal while the screen is live, without waiting."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from typing import Final, Protocol

_SEQUENCE: Final = re.compile(r"\x1b(?:[\[O][0-9;?]*[ -/]*[@-~]?|.)?", re.DOTALL)
"""What arrow and function keys send: their letters are no commands."""


def plain_keys(typed: str) -> str:
    """Take out of what was typed the sequences that arrow and function keys send."""
    return _SEQUENCE.sub("", typed)


class Keys(Protocol):
    """Where keys come from."""

    def pressed(self) -> str:
        """Keys pressed since the last call."""
        ...

    def paused(self) -> AbstractContextManager[None]:
        """Give the terminal back for a line of text."""
        ...


class NoKeys:
    """No keyboard: the input is not a terminal, and nothing is ever pressed."""

    def pressed(self) -> str:
        """Keys pressed since the last call: none."""
        return ""

    @contextmanager
    def paused(self) -> Iterator[None]:
        """Do nothing: the terminal was never taken."""
        yield


if sys.platform != "win32":
    import select
    import termios
    import tty

    class TerminalKeys:
        """Keys of a terminal, read as they are pressed and not shown."""

        def __init__(self) -> None:
            self._descriptor = sys.stdin.fileno()
            self._usual = termios.tcgetattr(self._descriptor)

        def start(self) -> None:
            """Take the terminal."""
            tty.setcbreak(self._descriptor)

        def stop(self) -> None:
            """Give the terminal back as it was, where it is still there."""
            with suppress(termios.error):
                termios.tcsetattr(self._descriptor, termios.TCSADRAIN, self._usual)

        def pressed(self) -> str:
            """Keys pressed since the last call."""
            found = b""
            # A terminal that has gone away gives an error, or nothing for ever.
            with suppress(OSError):
                while select.select([self._descriptor], [], [], 0)[0]:
                    data = os.read(self._descriptor, 64)
                    if not data:
                        break
                    found += data
            return plain_keys(found.decode("utf-8", "ignore"))

        @contextmanager
        def paused(self) -> Iterator[None]:
            """Give the terminal back for a line of text."""
            self.stop()
            try:
                yield
            finally:
                self.start()

else:  # pragma: no cover - the console of another system
    import msvcrt

    class TerminalKeys:
        """Keys of a Windows console, which needs no setting up."""

        def start(self) -> None:
            """Do nothing."""

        def stop(self) -> None:
            """Do nothing."""

        def pressed(self) -> str:
            """Keys pressed since the last call."""
            found = ""
            while msvcrt.kbhit():
                key = msvcrt.getwch()
                if key in "\0\xe0":
                    msvcrt.getwch()  # the rest of an arrow or function key
                else:
                    found += key
            return found

        @contextmanager
        def paused(self) -> Iterator[None]:
            """Do nothing."""
            yield


@contextmanager
def keyboard() -> Iterator[Keys]:
    """Read single keys where standard input is a terminal, else none."""
    if sys.stdin is None or not sys.stdin.isatty():
        yield NoKeys()
        return
    keys = TerminalKeys()
    keys.start()
    try:
        yield keys
    finally:
        keys.stop()
