"""What a person sees while a log is written: one line of progress, and a strip above it.

A screen that is gone (a closed window, a reader of a pipe that ended) must not end the log:
what cannot be shown is not shown.
"""

from __future__ import annotations

import sys
from contextlib import suppress
from dataclasses import dataclass
from types import TracebackType
from typing import Final, Protocol, Self

from rich.console import Console, Group
from rich.live import Live
from rich.text import Text

from coilmeter.cli.logging_strip import Strip
from coilmeter.cli.logging_texts import number_of, span_text
from coilmeter.report.safe import printable

STRIP_ROWS: Final = 3
DRAW_EVERY_S: Final = 0.05
"""At most so often is the screen drawn; a meter sends less."""

CLOCK_EVERY_S: Final = 1.0
"""So often it is drawn when nothing comes."""

_FIRST_LINE_S: Final = 1.0
_LINE_EVERY_S: Final = 10.0


@dataclass(slots=True)
class Progress:
    """How far a log is.

    Parameters
    ----------
    seconds
        Of the log.
    readings, rejected, raw_bytes
        What is written in it; nothing is counted before it is.
    rate_hz
        Readings a second lately.
    display
        What the meter shows; empty before the first reading.

    """

    seconds: float = 0.0
    readings: int = 0
    rejected: int = 0
    raw_bytes: int = 0
    rate_hz: float = 0.0
    display: str = ""

    def line(self) -> str:
        """Write it on one line."""
        return (
            f"{span_text(self.seconds)}  {number_of(self.readings, 'reading')}  "
            f"{self.rate_hz:.1f}/s  {self.rejected} rejected  "
            f"{number_of(self.raw_bytes, 'byte')}  {printable(self.display)}"
        ).rstrip()


class LogView(Protocol):
    """Shows how a log grows."""

    def __enter__(self) -> Self: ...

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None: ...

    def show(self, progress: Progress, strip: Strip, *, news: bool) -> None:
        """Show it now, or leave it for later; `news` where something has come."""
        ...

    def say(self, text: str) -> None:
        """Say something that must be read."""
        ...


class PlainView:
    """Lines for a pipe or a file: the first after a second, then one every ten."""

    def __init__(self) -> None:
        self._due = _FIRST_LINE_S

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None: ...

    def show(self, progress: Progress, strip: Strip, *, news: bool) -> None:  # noqa: ARG002 - the strip is for a terminal
        """Print a line where one is due."""
        if progress.seconds >= self._due:
            self._due = max(_LINE_EVERY_S, self._due + _LINE_EVERY_S)
            self._due -= self._due % _LINE_EVERY_S
            self.say(progress.line())

    def say(self, text: str) -> None:
        """Print a line."""
        with suppress(OSError):
            sys.stderr.write(f"{text}\n")
            sys.stderr.flush()


class LastingConsole(Console):
    """A console that falls silent when nobody reads it any longer, and ends nothing."""

    def on_broken_pipe(self) -> None:
        """Be silent from now on."""
        self.quiet = True


class TerminalView:
    """The strip and the line, drawn again in place."""

    def __init__(self, console: LastingConsole | None = None) -> None:
        self._console = console or LastingConsole(stderr=True)
        self._live = Live(console=self._console, auto_refresh=False, transient=True)
        self._blocks = _has_blocks(self._console.encoding)
        self._drawn = -CLOCK_EVERY_S
        self._news = False

    def __enter__(self) -> Self:
        with suppress(OSError):
            self._live.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        with suppress(OSError):
            self._live.stop()

    def show(self, progress: Progress, strip: Strip, *, news: bool) -> None:
        """Draw it, where there is news, or the clock has gone on by a second."""
        self._news |= news
        passed = progress.seconds - self._drawn
        if passed < (DRAW_EVERY_S if self._news else CLOCK_EVERY_S):
            return
        self._drawn, self._news = progress.seconds, False
        rows = strip.rows(
            self._console.width, STRIP_ROWS, progress.seconds, blocks=self._blocks
        )
        lines = [Text(row) for row in rows]
        lines.append(Text(progress.line(), style="bold"))
        for line in lines:
            line.no_wrap, line.overflow = True, "ellipsis"
        with suppress(OSError):
            self._live.update(Group(*lines), refresh=True)

    def say(self, text: str) -> None:
        """Print above what is drawn."""
        with suppress(OSError):
            self._console.print(Text(text))


def make_view() -> LogView:
    """Choose what is drawn in place on a terminal, lines elsewhere."""
    return TerminalView() if sys.stderr.isatty() else PlainView()


def _has_blocks(encoding: str) -> bool:
    try:
        "▁█▀".encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return False
    return True
