"""What all live screens do alike: begin, end, step aside for typing, ring; and plain lines."""

from __future__ import annotations

import sys
from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from types import TracebackType
from typing import Self

from rich.console import Console
from rich.live import Live


class PlainLines:
    """A line an event, for a log or a pipe."""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        sys.stderr.flush()

    def paused(self) -> AbstractContextManager[None]:
        """Do nothing: lines are never in the way."""
        return nullcontext()

    def write(self, text: str, indent: str = "") -> None:
        """Write a line at once."""
        sys.stderr.write(f"{indent}{text}\n")
        sys.stderr.flush()


class LiveScreen(ABC):
    """A screen that is drawn anew in its place, and leaves what was taken when it goes.

    Parameters
    ----------
    console
        Where it is drawn; None for standard error.

    """

    def __init__(self, console: Console | None = None) -> None:
        self._console = console or Console(stderr=True)
        self._live = self._make_live()

    def __enter__(self) -> Self:
        self._live.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._live.stop()
        for line in self._left():
            self._console.print(line, markup=False, highlight=False)

    @contextmanager
    def paused(self) -> Iterator[None]:
        """Get out of the way while a person types."""
        self._live.stop()
        try:
            yield
        finally:
            self._live = self._make_live()
            self._live.start()
            self._draw()

    @abstractmethod
    def _draw(self) -> None:
        """Draw it as it is now."""

    def _left(self) -> Iterable[str]:
        """Give the lines that stay on the terminal when the screen goes."""
        return ()

    def _make_live(self) -> Live:
        return Live(console=self._console, auto_refresh=False, transient=True)

    def _ring(self, times: int) -> None:
        if times:
            self._console.file.write("\a" * times)
            self._console.file.flush()
