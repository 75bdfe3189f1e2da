"""What is said aloud while a joint is moved: both hands and both eyes are at the head."""

from __future__ import annotations

from typing import Final

from coilmeter.cli.flexing_screen import FlexScreen, Watched
from coilmeter.cli.flexing_words import MEANINGS, flex_sentence
from coilmeter.cli.speech import Speaker
from coilmeter.cli.spoken import pronounced
from coilmeter.cli.voiced import Voiced
from coilmeter.values import Reading
from coilmeter.walks.events import MeterAway
from coilmeter.walks.flexing import Flexing
from coilmeter.walks.flexing_told import (
    Answered,
    CameBack,
    ClipOn,
    Ended,
    FlexEvent,
    FlexState,
    HoldStill,
    MoveNow,
)

_QUIET: Final = (CameBack, Answered)
"""The ear has heard what came before them."""

_WAITS_ITS_TURN: Final = (ClipOn, HoldStill, Ended)


def flex_spoken(event: FlexEvent, where: str) -> str:
    """Say an event in a few words to be heard; empty where the ear needs none."""
    match event:
        case MoveNow():
            return "now move it"
        case MeterAway(what=what):
            return what
        case _ if isinstance(event, _QUIET):
            return ""
        case _:
            return pronounced(flex_sentence(event, where))


class FlexAloud(Voiced[FlexScreen]):
    """A screen that also speaks.

    Parameters
    ----------
    screen
        Shows what happens.
    speaker
        Says it; opened and closed with the screen.
    walk
        Tells the verdict at the end.
    where
        Names the two points of the coil.

    """

    def __init__(self, screen: FlexScreen, speaker: Speaker, walk: Flexing, where: str) -> None:
        super().__init__(screen, speaker)
        self._walk = walk
        self._where = where

    def happened(self, event: FlexEvent) -> None:
        """Show an event, and say it; what was being said before is overtaken."""
        self._screen.happened(event)
        text = flex_spoken(event, self._where)
        if text and not isinstance(event, _WAITS_ITS_TURN):
            self._speaker.hush()
        self._speaker.say(text)
        if isinstance(event, Ended) and (result := self._walk.result()) is not None:
            verdict = result.evidence.stability
            self._speaker.say(f"{verdict}: {MEANINGS[verdict]}")

    def reading(self, at: float, reading: Reading, state: FlexState, watched: Watched) -> None:
        """Show what the meter shows now; a voice could not keep up."""
        self._screen.reading(at, reading, state, watched)
