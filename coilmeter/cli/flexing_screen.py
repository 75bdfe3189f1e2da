"""What a person sees and hears while a joint is moved; to be read from two metres."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from types import TracebackType
from typing import Final, Protocol, Self

from rich.console import Console, Group
from rich.panel import Panel
from rich.text import Text

from coilmeter.cli.figures import ROWS, big, big_words, draw
from coilmeter.cli.flexing_words import flex_sentence
from coilmeter.cli.live_screen import LiveScreen, PlainLines
from coilmeter.cli.logging_strip import MINUTE_S, Strip
from coilmeter.cli.words import reading_text
from coilmeter.values import Reading
from coilmeter.walks.events import MeterAway, MeterBack, Refused
from coilmeter.walks.flexing_told import (
    AskLifted,
    Changed,
    ClipOn,
    Creeps,
    DroppedOut,
    Ended,
    FlexEvent,
    FlexState,
    HoldStill,
    MoveNow,
)
from coilmeter.walks.refusals import why_not

KEYS: Final = "q or Enter: end"
KEYS_OPEN: Final = (
    "q or Enter: lifted, end   o: the clips are on, it is open   l: lifted, go on"
)
SHOWN_S: Final = 15.0
"""So much of the past is on the strip."""

STRIP_ROWS: Final = 3
DRAW_EVERY_S: Final = 0.05
_STRETCH: Final = MINUTE_S / SHOWN_S
_FRAME: Final = 4
_BLOCK: Final = "\u2588"
_ACTIONS: Final = {
    FlexState.WAITING: "CLIP ON",
    FlexState.RESTING: "HOLD STILL",
    FlexState.MOVING: "MOVE IT",
    FlexState.OPEN: "OPEN",
    FlexState.ASKED: "LIFTED OR OPEN",
    FlexState.ENDED: "DONE",
}
_WRONG_METER: Final = "METER"
_BELLS: Final[dict[type, int]] = {
    MoveNow: 2,
    DroppedOut: 1,
    Changed: 1,
    Creeps: 3,
    AskLifted: 3,
    Refused: 3,
    MeterAway: 3,
    MeterBack: 1,
    Ended: 2,
}


@dataclass(slots=True)
class Watched:
    """How far a flexing is, for the line at the top.

    Parameters
    ----------
    seconds, for_s
        How long it has been moved, and for how long it is to be; None for until a key.
    readings
        How many came while it was moved.
    dropouts, changes
        How often it was open, and how often its level changed.

    """

    seconds: float = 0.0
    for_s: float | None = None
    readings: int = 0
    dropouts: int = 0
    changes: int = 0

    def line(self, name: str) -> str:
        """Write it on one line."""
        of = "" if self.for_s is None else f" of {self.for_s:g}"
        rate = f", {self.readings / self.seconds:.1f}/s" if self.seconds >= 1 else ""
        return f"{name}   {self.seconds:.1f}{of} s{rate}"


class FlexScreen(Protocol):
    """Shows a flexing."""

    def __enter__(self) -> Self: ...

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None: ...

    def happened(self, event: FlexEvent) -> None:
        """Show an event, and sound it."""
        ...

    def reading(self, at: float, reading: Reading, state: FlexState, watched: Watched) -> None:
        """Show what the meter shows now."""
        ...


class FlexLines(PlainLines):
    """A line an event, for a log or a pipe."""

    def __init__(self, where: str) -> None:
        self._where = where

    def happened(self, event: FlexEvent) -> None:
        """Print an event."""
        self.write(flex_sentence(event, self._where))

    def reading(self, at: float, reading: Reading, state: FlexState, watched: Watched) -> None:
        """Leave single readings out: lines would drown in them."""


class FlexBench(LiveScreen):
    """The big screen: what to do, the value, the count of drop-outs, the last seconds."""

    def __init__(self, name: str, where: str, console: Console | None = None) -> None:
        super().__init__(console)
        self._blocks = not self._console.options.ascii_only
        self._name = name
        self._where = where
        self._strip = Strip()
        self._at = 0.0
        self._drawn = -DRAW_EVERY_S
        self._advice = ""
        self._display = ""
        self._refused = self._away = False
        self._state = FlexState.WAITING
        self._watched = Watched()

    def happened(self, event: FlexEvent) -> None:
        """Show an event, and sound it."""
        self._advice = flex_sentence(event, self._where)
        self._refused = isinstance(event, Refused)
        self._away = isinstance(event, MeterAway)
        match event:
            case MeterAway():
                self._display = ""
            case ClipOn():
                self._state = FlexState.WAITING
            case HoldStill():
                self._state = FlexState.RESTING
            case MoveNow():
                self._state = FlexState.MOVING
                # What bounced before would set the scale of the strip for long.
                self._strip = Strip()
            case _:
                pass
        self._draw()
        self._ring(_BELLS.get(type(event), 0))

    def reading(self, at: float, reading: Reading, state: FlexState, watched: Watched) -> None:
        """Show what the meter shows now; drawn no more often than anyone can see."""
        self._strip.reading(at * _STRETCH, reading)
        due = at - self._drawn >= DRAW_EVERY_S or state is not self._state
        if self._refused and not why_not(reading):
            self._refused, self._advice, due = False, "", True
        self._at, self._display, self._state = at, reading_text(reading), state
        self._watched = watched
        if due:
            self._draw()

    def _draw(self) -> None:
        self._drawn = self._at
        width = self._console.width - _FRAME
        wrong = self._refused or self._away
        action = _WRONG_METER if wrong else _ACTIONS[self._state]
        strip = self._strip.rows(width, STRIP_ROWS, self._at * _STRETCH, blocks=self._blocks)
        is_open = self._state in {FlexState.OPEN, FlexState.ASKED}
        parts = [
            Text(f"{self._watched.line(self._name)}\n", style="bold"),
            Text(self._blocky(f"{big_words(action, width)}\n")),
            Text(self._blocky(f"{self._figures(width)}\n"), style="bold"),
            Text("\n".join(strip or [""] * STRIP_ROWS)),
            Text(f"{self._advice}\n", style="bold"),
            Text(KEYS_OPEN if is_open else KEYS, style="dim"),
        ]
        for part in parts:
            part.no_wrap, part.overflow = part is not parts[4], "ellipsis"
        self._live.update(Panel(Group(*parts)), refresh=True)

    def _blocky(self, text: str) -> str:
        """Draw in ASCII where the terminal has no blocks."""
        return text if self._blocks else text.replace(_BLOCK, "#")

    def _figures(self, width: int) -> str:
        """Draw the value, and the number of drop-outs and changes at its right."""
        watched = self._watched
        rows = big(self._display).split("\n")
        number = draw(str(watched.dropouts + watched.changes)) or [""] * ROWS
        label = f"{watched.dropouts} open, {watched.changes} changed "
        left = width - len(number[0]) - len(label)
        if max(map(len, rows)) + _FRAME > left:
            # No room for both: the number small.
            return "\n".join([*rows[:-1], f"{rows[-1]}  {label}"])
        words = [*[""] * (ROWS - 1), label]
        return "\n".join(
            f"{row:<{left}}{word:<{len(label)}}{drawn}"
            for row, word, drawn in zip(rows, words, number, strict=True)
        )


def make_flex_screen(name: str, where: str) -> FlexScreen:
    """Choose the big screen on a terminal, plain lines elsewhere."""
    return FlexBench(name, where) if sys.stderr.isatty() else FlexLines(where)
