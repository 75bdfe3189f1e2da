"""What a person sees and hears while a walk listens to the meter."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Sequence
from contextlib import AbstractContextManager
from types import TracebackType
from typing import Final, Protocol, Self

from rich.console import Console
from rich.live import Live

from coilmeter.cli.boxed import FRAME, Boxed, Row
from coilmeter.cli.figures import big, big_words
from coilmeter.cli.live_screen import LiveScreen, PlainLines
from coilmeter.cli.words import reading_text, sentence
from coilmeter.values import Reading
from coilmeter.walks.contact import State
from coilmeter.walks.events import (
    AskBridge,
    Begun,
    Blinks,
    BridgedTooSoon,
    Event,
    Finished,
    Lift,
    LiftLonger,
    LowBattery,
    MeterAway,
    MeterBack,
    MeterSlow,
    NearZeroHeld,
    NotKept,
    OnceMore,
    Planned,
    ReadsLikeACoil,
    Refused,
    SeenTogether,
    Skipped,
    Spoilt,
    StillMoving,
    Taken,
)
from coilmeter.walks.refusals import why_not
from coilmeter.walks.steps import CLIPS, Step

_KEYS: Final = ("o OL is real", "k keep", "t type", "s skip", "b back", "r redo", "q quit")
KEYS: Final = "   ".join(_KEYS)
_ACTIONS: Final = {
    State.LIFTING: "LIFT",
    State.WAITING: "CLIP",
    State.SETTLING: "HOLD",
    State.NEAR_ZERO: "HOLD",
    State.TIP: "TIP OFF",
    State.AFTER_TIP: "WAIT",
}
_WITH_POINTS: Final = frozenset({State.WAITING, State.SETTLING})
_WRONG_METER: Final = "METER"
_NO_METER: Final = "NO METER"
_ROWS_BESIDE_DONE: Final = 21
"""Rows of the screen without the list of what is done, two rows of advice included."""

_BLANK_ROWS: Final = 4
_ROWS_OF_ACTION: Final = 4
"""Rows saved on a small terminal: without blank ones, and with the action in small letters."""

_BELLS: Final[dict[type, int]] = {
    Taken: 1,
    AskBridge: 2,
    NearZeroHeld: 3,
    BridgedTooSoon: 3,
    OnceMore: 3,
    SeenTogether: 1,
    Blinks: 3,
    MeterSlow: 3,
    Spoilt: 3,
    LiftLonger: 3,
    NotKept: 3,
    ReadsLikeACoil: 3,
    Refused: 3,
    LowBattery: 3,
    MeterAway: 3,
    MeterBack: 1,
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

    def paused(self) -> AbstractContextManager[None]:
        """Get out of the way while a person types."""
        ...


Words = Callable[[Event, str], str]
"""Says an event, with what a reading that was taken means so far."""


class Lines(PlainLines):
    """A line an event, for a log or a pipe.

    Parameters
    ----------
    words
        Says an event.

    """

    def __init__(self, words: Words = sentence) -> None:
        self._words = words

    def happened(self, event: Event, verdict: str) -> None:
        """Print an event."""
        indent = "" if isinstance(event, (Planned, Begun, Finished)) else "    "
        self.write(self._words(event, verdict), indent)

    def reading(self, reading: Reading, state: State | None) -> None:
        """Leave single readings out: lines would drown in them."""


class Bench(LiveScreen):
    """A screen that can be read from two metres: what to do, on which pins, the live value.

    Parameters
    ----------
    console
        Where it is drawn; None for standard error.
    words
        Says an event.
    picture
        Draws what is known so far, in lines, in place of the list of what was taken; None
        for that list.

    """

    def __init__(
        self,
        console: Console | None = None,
        words: Words = sentence,
        picture: Callable[[], Sequence[str]] | None = None,
    ) -> None:
        super().__init__(console)
        self._words = words
        self._picture = picture
        self._drawing: Sequence[str] = ()
        self._drawn: tuple[Boxed, int, int] | None = None
        self._line = ""
        self._step: Step | None = None
        self._together = False
        self._advice = ""
        self._display = ""
        self._noted = False
        self._longer = False
        self._refused = False
        self._away = False
        self._state: State | None = None
        self._done: dict[str, str] = {}

    def happened(self, event: Event, verdict: str) -> None:
        """Show an event."""
        text = self._words(event, verdict)
        if self._picture is not None and isinstance(event, (Begun, Finished)):
            self._drawing = self._picture()
        match event:
            case Begun(step=step, together=together):
                self._line, self._step, self._state = text, step, None
                self._together = together
                self._advice = self._advice if self._noted else ""
                self._noted = False
            case Taken(step=step):
                # Taken again, it stands once, at the end.
                self._done.pop(step.key, None)
                self._done[step.key] = text
            case Lift(unseen=False):
                pass
            case SeenTogether():
                self._together, self._advice = False, text
            case MeterAway():
                # What it showed last is no longer what it shows.
                self._advice, self._display, self._away = text, "", True
            case MeterBack():
                self._advice, self._noted, self._away = text, True, False
            case Planned() | NotKept() | Skipped() | Lift() | Blinks() | OnceMore():
                self._advice, self._noted = text, True
            case _:
                self._advice = text
        self._refused = isinstance(event, Refused)
        self._longer = isinstance(event, LiftLonger)
        self._draw()
        self._ring(_BELLS.get(type(event), 0))

    def reading(self, reading: Reading, state: State | None) -> None:
        """Show what the meter shows now, and what the clips do."""
        if self._refused and not why_not(reading):
            self._refused, self._advice = False, ""
        if self._longer and state is not State.LIFTING:
            self._longer, self._advice = False, ""
        self._display, self._state = reading_text(reading), state
        self._draw()

    def _make_live(self) -> Live:
        # A new one is drawn whatever stood in the old one.
        self._drawn = None
        return super()._make_live()

    def _left(self) -> Iterable[str]:
        return self._done.values()

    def _action(self) -> str:
        """Say in a word or two what to do now."""
        if self._away:
            return _NO_METER
        if self._refused:
            return _WRONG_METER
        if self._state is None or self._step is None:
            return ""
        action = _ACTIONS[self._state]
        if self._together:
            return "CLIP together" if self._state in _WITH_POINTS else "HOLD"
        if self._state not in _WITH_POINTS:
            return action
        points = self._step.points
        return f"{action} {'together' if points == CLIPS else '-'.join(points)}"

    def _draw(self) -> None:
        width = self._console.width - FRAME
        advice = self._advice
        if self._state is State.LIFTING and not advice and self._step is not None:
            advice = f"lift the clips; then clip {self._step.where}"
        height, least = self._console.height, len(self._drawing)
        tight = height < _ROWS_BESIDE_DONE + least
        small = height < _ROWS_BESIDE_DONE - _BLANK_ROWS + least
        beside = _ROWS_BESIDE_DONE - tight * _BLANK_ROWS - small * _ROWS_OF_ACTION
        room = max(height - beside, 0 if tight else 1)
        action = self._action()
        end = "" if tight else "\n"
        rows = (
            Row(f"{self._line}{end}", "bold"),
            Row(f"{action if small else big_words(action, width)}{end}", "bold" * small),
            # Advice about a meter that is away may be long, and there is no value to show.
            Row(f"{'' if self._away else big(self._display)}{end}", "bold"),
            Row(f"{advice}{end}", "bold", wraps=True),
            *([Row("\n".join(self._below(room)))] if room else []),
            Row(_keys(width), "dim"),
        )
        drawn = (Boxed(rows), width, height)
        if drawn != self._drawn:
            self._drawn = drawn
            self._live.update(drawn[0], refresh=True)

    def _below(self, room: int) -> Sequence[str]:
        """Give the lines below the advice, as many as there is room for."""
        return self._drawing[:room] if self._picture else [*self._done.values()][-room:]


def _keys(width: int) -> str:
    """Keys in one row, or with fewer blanks where the terminal is narrow."""
    return KEYS if len(KEYS) <= width else " ".join(_KEYS)


def make_screen(
    words: Words = sentence, picture: Callable[[], Sequence[str]] | None = None
) -> Screen:
    """Choose the big screen on a terminal, plain lines elsewhere."""
    return Bench(None, words, picture) if sys.stderr.isatty() else Lines(words)
