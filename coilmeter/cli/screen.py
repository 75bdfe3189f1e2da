"""What a person sees and hears while a walk listens to the meter."""

from __future__ import annotations

import sys
from collections import deque
from types import TracebackType
from typing import Final, Protocol, Self

from rich.console import Console, Group
from rich.live import Live
from rich.panel import Panel
from rich.text import Text

from coilmeter.cli.figures import big
from coilmeter.cli.words import reading_text, sentence
from coilmeter.values import Reading
from coilmeter.walks.contact import State
from coilmeter.walks.events import (
    AskBridge,
    Begun,
    Event,
    Finished,
    NearZeroHeld,
    NotKept,
    Refused,
    StillMoving,
    Taken,
)

KEYS: Final = "o OL is real   k keep   t type   s skip   b back   r redo   q quit"
KEPT_LINES: Final = 12
_STATES: Final = {
    State.LIFTING: "LIFT",
    State.WAITING: "CLIP",
    State.SETTLING: "HOLD",
    State.TIP: "BRIDGED",
    State.AFTER_TIP: "BRIDGED",
}
_BELLS: Final[dict[type, int]] = {
    Taken: 1,
    AskBridge: 2,
    NearZeroHeld: 3,
    NotKept: 3,
    Refused: 3,
    StillMoving: 3,
    Finished: 2,
}


class Screen(Protocol):
    """Shows a walk."""

    def __enter__(self) -> Self: ...

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None: ...

    def happened(self, event: Event, verdict: str) -> None:
        """Show an event."""
        ...

    def reading(self, reading: Reading, state: State | None) -> None:
        """Show what the meter shows now, and what the clips do."""
        ...


class Lines:
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

    def happened(self, event: Event, verdict: str) -> None:
        """Print an event."""
        indent = "" if isinstance(event, (Begun, Finished)) else "    "
        sys.stderr.write(f"{indent}{sentence(event, verdict)}\n")
        sys.stderr.flush()

    def reading(self, reading: Reading, state: State | None) -> None:
        """Leave single readings out: lines would drown in them."""


class Bench:
    """A screen that can be read from two metres: the pins, the live value, what to do."""

    def __init__(self) -> None:
        self._console = Console(stderr=True)
        self._live = Live(console=self._console, auto_refresh=False, transient=True)
        self._step = ""
        self._advice = ""
        self._display = ""
        self._state: State | None = None
        self._done: deque[str] = deque(maxlen=KEPT_LINES)

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
        for line in self._done:
            self._console.print(line, markup=False, highlight=False)

    def happened(self, event: Event, verdict: str) -> None:
        """Show an event, and ring for those that need an ear."""
        text = sentence(event, verdict)
        match event:
            case Begun():
                self._step, self._advice = text, ""
            case Taken():
                self._done.append(text)
            case _:
                self._advice = text
        self._draw()
        self._ring(_BELLS.get(type(event), 0))

    def reading(self, reading: Reading, state: State | None) -> None:
        """Show what the meter shows now, and what the clips do."""
        self._display, self._state = reading_text(reading), state
        self._draw()

    def _draw(self) -> None:
        state = "" if self._state is None else _STATES[self._state]
        value = Text(big(self._display), style="bold", no_wrap=True, overflow="crop")
        head = Text(f"{self._step}\n", style="bold")
        done = Text("\n".join(self._done))
        advice = Text(f"\n{state}  {self._advice}\n", style="bold reverse" if state else "bold")
        body = Group(head, value, advice, done, Text(KEYS, style="dim"))
        self._live.update(Panel(body), refresh=True)

    def _ring(self, times: int) -> None:
        if times:
            self._console.file.write("\a" * times)
            self._console.file.flush()


def make_screen() -> Screen:
    """Choose the big screen on a terminal, plain lines elsewhere."""
    return Bench() if sys.stderr.isatty() else Lines()
