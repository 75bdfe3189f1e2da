"""What a person sees and hears while AC volts are read."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from contextlib import AbstractContextManager
from types import TracebackType
from typing import Final, Protocol, Self

from rich.console import Console, Group
from rich.panel import Panel
from rich.text import Text

from coilmeter.cli.figures import big, big_words
from coilmeter.cli.impedance_words import WIRING, fitting_text, tone_sentence
from coilmeter.cli.live_screen import LiveScreen, PlainLines
from coilmeter.cli.words import reading_text
from coilmeter.values import Reading
from coilmeter.walks.events import Finished, MeterAway, Refused
from coilmeter.walks.impedance_contact import VoltsState
from coilmeter.walks.impedance_refusals import why_no_tone
from coilmeter.walks.impedance_told import (
    ToneAgain,
    ToneBegun,
    ToneCaution,
    ToneEvent,
    ToneMade,
    ToneMoving,
    ToneQuiet,
    TonesPlanned,
    ToneStillOn,
    ToneTaken,
    ToneTouched,
)

KEYS: Final = "n probes are on   t type   s skip coil   b back   r redo   q quit"
_ACTIONS: Final = {
    VoltsState.LIFTING: "LIFT",
    VoltsState.WAITING: "PROBE",
    VoltsState.SETTLING: "HOLD",
}
_FRAME: Final = 4
_ROWS_WITH_WIRING: Final = 24
"""Rows of the screen without the list of what is done, two rows of advice included."""

_ROWS_OF_WIRING: Final = 7
"""Rows saved on a small terminal: without the wiring and without blank ones."""

_ROWS_WITH_BIG_WORDS: Final = 18
_ROWS_OF_ACTION: Final = 4
"""Rows saved on a smaller one: with the action in small letters."""

_BELLS: Final[dict[type, int]] = {
    ToneTaken: 1,
    ToneMade: 2,
    ToneAgain: 3,
    ToneCaution: 3,
    ToneMoving: 3,
    ToneQuiet: 3,
    ToneStillOn: 3,
    MeterAway: 3,
    Refused: 3,
    Finished: 2,
}


class ToneScreen(Protocol):
    """Shows a walk over AC volts."""

    def __enter__(self) -> Self: ...

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None: ...

    def happened(self, event: ToneEvent) -> None:
        """Show an event, and sound it."""
        ...

    def reading(self, reading: Reading, state: VoltsState | None) -> None:
        """Show what the meter shows now, and what the probes do."""
        ...

    def paused(self) -> AbstractContextManager[None]:
        """Get out of the way while a person types."""
        ...


class ToneLines(PlainLines):
    """A line an event, for a log or a pipe."""

    def happened(self, event: ToneEvent) -> None:
        """Print an event."""
        indent = "" if isinstance(event, (TonesPlanned, ToneBegun, Finished)) else "    "
        self.write(tone_sentence(event), indent)

    def reading(self, reading: Reading, state: VoltsState | None) -> None:
        """Leave single readings out: lines would drown in them."""


class ToneBench(LiveScreen):
    """A screen to be read from two metres: which points, the live value, what is taken."""

    def __init__(self, console: Console | None = None) -> None:
        super().__init__(console)
        self._begun: ToneBegun | None = None
        self._advice = ""
        self._display = ""
        self._refused = False
        self._state: VoltsState | None = None
        self._done: dict[str, str] = {}

    def happened(self, event: ToneEvent) -> None:
        """Show an event, and sound it."""
        text = tone_sentence(event)
        match event:
            case ToneBegun():
                self._begun = event
            case ToneTaken(step=step):
                self._put(step.key, text)
                self._advice = ""
            case ToneMade(step=step):
                self._put(step.place, text)
            case ToneTouched():
                self._advice = ""
            case _:
                self._advice = text
        self._refused = isinstance(event, Refused)
        self._draw()
        self._ring(_BELLS.get(type(event), 0))

    def reading(self, reading: Reading, state: VoltsState | None) -> None:
        """Show what the meter shows now, and what the probes do."""
        if self._refused and not why_no_tone(reading):
            # Nobody is to go on turning the dial that is right by now.
            self._refused, self._advice = False, ""
        self._display, self._state = reading_text(reading), state
        self._draw()

    def _put(self, key: str, text: str) -> None:
        """Have a line stand once, at the end."""
        self._done.pop(key, None)
        self._done[key] = text

    def _left(self) -> Iterable[str]:
        return self._done.values()

    def _action(self) -> str:
        """Say in a word or two what to do now."""
        if self._refused:
            return "METER"
        if self._state is None or self._begun is None:
            return ""
        action, points = _ACTIONS[self._state], self._begun.step.points
        return action if action == "LIFT" else f"{action} {'-'.join(points)}"

    def _draw(self) -> None:
        width, height = self._console.width - _FRAME, self._console.height
        tight, small = height < _ROWS_WITH_WIRING, height < _ROWS_WITH_BIG_WORDS
        rows = _ROWS_WITH_WIRING - tight * _ROWS_OF_WIRING - small * _ROWS_OF_ACTION
        room = max(height - rows, 0 if tight else 1)
        action = self._action()
        end = "" if tight else "\n"
        line = "" if self._begun is None else fitting_text(self._begun, width)
        parts = [
            Text(f"{line}{end}", style="bold"),
            Text(f"{action if small else big_words(action, width)}{end}", style="bold" * small),
            Text(f"{big(self._display)}{end}", style="bold"),
            Text(f"{self._advice}{end}", style="bold"),
            *([Text("\n".join([*self._done.values()][-room:]))] if room else []),
            *([] if tight else [Text(f"\n{WIRING}", style="dim")]),
            Text(KEYS, style="dim"),
        ]
        for part in parts:
            part.no_wrap, part.overflow = part is not parts[3], "ellipsis"
        self._live.update(Panel(Group(*parts)), refresh=True)


def make_tone_screen() -> ToneScreen:
    """Choose the big screen on a terminal, plain lines elsewhere."""
    return ToneBench() if sys.stderr.isatty() else ToneLines()
