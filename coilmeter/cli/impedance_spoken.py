"""What is said aloud while AC volts are read: both hands hold leads, both eyes the points."""

from __future__ import annotations

import re
from contextlib import AbstractContextManager
from typing import Final

from coilmeter.cli.impedance_screen import ToneScreen
from coilmeter.cli.impedance_words import tone_sentence
from coilmeter.cli.spoken import pronounced
from coilmeter.cli.voiced import Voiced
from coilmeter.units.si_text import format_si
from coilmeter.values import Reading
from coilmeter.walks.events import MeterAway, Refused
from coilmeter.walks.impedance_contact import VoltsState
from coilmeter.walks.impedance_steps import ToneStep
from coilmeter.walks.impedance_told import (
    ToneAgain,
    ToneBegun,
    ToneEvent,
    ToneMade,
    ToneQuiet,
    ToneSkipped,
    ToneStillOn,
    ToneTaken,
    ToneTouched,
)

_SIGNS: Final = (
    (re.compile(r"\bkHz\b"), "kilohertz"),
    (re.compile(r"\bHz\b"), "hertz"),
    (re.compile(r"\buV\b"), "microvolts"),
    (re.compile(r"\bmV\b"), "millivolts"),
    (re.compile(r"\bV\b"), "volts"),
    (re.compile(r"\buH\b"), "microhenries"),
    (re.compile(r"\bmH\b"), "millihenries"),
    (re.compile(r"\bH\b"), "henries"),
    (re.compile(r"\bv_total\b"), "source"),
    (re.compile(r"\bv_(resistor|coil)\b"), r"\1"),
)
_OVERTAKES: Final = (ToneTaken, ToneAgain, ToneSkipped, Refused, MeterAway)
"""After these, nobody wants to hear the end of what was said before."""


def tone_spoken(event: ToneEvent) -> str:  # noqa: PLR0911 - a line each
    """Say an event in a few words to be heard; empty where the ear needs none."""
    match event:
        case ToneTouched():
            return ""
        case ToneBegun(step=step):
            return _begun(step)
        case ToneTaken(step=step, row=row):
            return _aloud(row.volts[step.across].shown.text)
        case ToneMade(text=text):
            return _aloud(text)
        case ToneAgain(step=step):
            return _aloud(f"read all three of coil {step.coil} again: they make no circuit")
        case ToneQuiet(step=step, flows=False):
            return f"nothing on {step.where}. Is the tone on?"
        case ToneStillOn():
            return "lift the probes for a moment"
        case MeterAway(what=what):
            return what
        case _:
            return _aloud(tone_sentence(event).removeprefix("! "))


def _begun(step: ToneStep) -> str:
    """Say what has to be set and connected first, and the two points."""
    before = f"tone to {format_si(step.frequency_hz, 'Hz')}. " if step.retune else ""
    before += f"connect coil {step.coil}. " if step.connect else ""
    return _aloud(f"{before}probes on {step.where}")


def _aloud(text: str) -> str:
    for sign, words in _SIGNS:
        text = sign.sub(words, text)
    return pronounced(text)


class ToneAloud(Voiced[ToneScreen]):
    """A screen that also speaks.

    Parameters
    ----------
    screen
        Shows what happens.
    speaker
        Says it; opened and closed with the screen.

    """

    def happened(self, event: ToneEvent) -> None:
        """Show an event, and say it."""
        self._screen.happened(event)
        if isinstance(event, _OVERTAKES):
            self._speaker.hush()
        self._speaker.say(tone_spoken(event))

    def reading(self, reading: Reading, state: VoltsState | None) -> None:
        """Show what the meter shows now; a voice could not keep up."""
        self._screen.reading(reading, state)

    def paused(self) -> AbstractContextManager[None]:
        """Get out of the way while a person types."""
        return self._screen.paused()
