"""What is said aloud of a walk: fewer words than on the screen, and no signs."""

from __future__ import annotations

import re
from contextlib import AbstractContextManager
from typing import Final

from coilmeter.cli.screen import Screen
from coilmeter.cli.speech import Speaker
from coilmeter.cli.voiced import Voiced
from coilmeter.cli.words import row_text, sentence
from coilmeter.values import Reading
from coilmeter.walks.contact import State
from coilmeter.walks.events import (
    AskBridge,
    Begun,
    Contact,
    Event,
    Lift,
    LiftLonger,
    MeterAway,
    NearZeroHeld,
    ReadsLikeACoil,
    Refused,
    Skipped,
    Taken,
)
from coilmeter.walks.steps import Step

_SIGNS: Final = (
    (re.compile(r"\bOL\b"), "O L"),
    (re.compile(r"\bkohm\b"), "kilo ohms"),
    (re.compile(r"\bMohm\b"), "mega ohms"),
    (re.compile(r"\bmohm\b"), "milli ohms"),
    (re.compile(r"\bohm\b"), "ohms"),
    (re.compile(r"(?<=\d)-(?=\d)"), " to "),
    (re.compile(r"-(?=\d)"), "minus "),
)
_OVERTAKES: Final = (Contact, Taken, Refused, AskBridge, NearZeroHeld, Skipped, MeterAway)
"""After these, nobody wants to hear the end of what was said before."""


def spoken(event: Event, verdict: str = "") -> str:  # noqa: PLR0911 - a line each
    """Say an event in a few words to be heard; empty where the ear needs none."""
    match event:
        case Contact() | Lift(unseen=False):
            return ""
        case Begun(step=step, together=True):
            return f"{pronounced(step.key)}: first the clips together, then {step.where}"
        case Begun(step=step):
            return f"{pronounced(step.key)}: {step.where}"
        case Taken(row=row):
            value = pronounced(row_text(row).partition(" (")[0])
            return ", ".join(part for part in (value, verdict) if part)
        case AskBridge(step=step):
            return f"O L. Bridge {step.where} with a metal tip"
        case NearZeroHeld():
            return "near zero. Lift the tip, or press K"
        case ReadsLikeACoil(step=step):
            return f"that reads like a coil. Are the clips on {step.where}?"
        case LiftLonger():
            return "lift for a full second"
        case MeterAway(what=what):
            return what
        case _:
            return pronounced(sentence(event, verdict))


class Aloud(Voiced[Screen]):
    """A screen that also speaks.

    Parameters
    ----------
    screen
        Shows what happens.
    speaker
        Says it; opened and closed with the screen.

    """

    def __init__(self, screen: Screen, speaker: Speaker) -> None:
        super().__init__(screen, speaker)
        self._step: Step | None = None

    def happened(self, event: Event, verdict: str) -> None:
        """Show an event, and say it."""
        self._screen.happened(event, verdict)
        if isinstance(event, _OVERTAKES):
            self._speaker.hush()
        if isinstance(event, Begun):
            repeated, self._step = event.step is self._step, event.step
            if repeated:
                return
        self._speaker.say(spoken(event, verdict))

    def reading(self, reading: Reading, state: State | None) -> None:
        """Show what the meter shows now; a voice could not keep up."""
        self._screen.reading(reading, state)

    def paused(self) -> AbstractContextManager[None]:
        """Get out of the way while a person types."""
        return self._screen.paused()


def pronounced(text: str) -> str:
    """Write units and signs as they are read aloud."""
    for sign, words in _SIGNS:
        text = sign.sub(words, text)
    return text
