"""Pins mapped at the prompt: a person reads the meter and types."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import Final

from coilmeter.cli.pinning import PinJob
from coilmeter.cli.pinning_words import pin_sentence
from coilmeter.cli.typed import ENDS, ask, say, type_reading
from coilmeter.errors import ReadingTextError
from coilmeter.units import Form
from coilmeter.walks.events import Begun, Event, Finished, Taken
from coilmeter.walks.pinning import PinWalk

HELP: Final = """Type what the meter shows: 212.4, 4k7, OL 40 Mohm, beep, silent. Or a word:
  skip  leave this one out      back  return to the one before
  redo  take the last again     quit  end here with what is there
  a pair, such as 3-6, takes that one again; map draws the field"""
AT_THE_END: Final = "  Enter ends; back, redo or a pair (3-6) takes one again> "


def run_typed(walk: PinWalk, job: PinJob) -> None:
    """Ask for one pair after another until nothing more helps, or the person ends it.

    What was typed is on disk before the next question.
    """
    say(HELP)
    _draw(walk, job)
    _tell(walk.start(), walk, job)
    while not walk.finished or _at_terminal():
        text = ask(AT_THE_END if walk.finished else "  reading> ")
        if text is None or text.lower() in ENDS or (walk.finished and not text):
            return
        try:
            _tell(_obey(walk, job, text), walk, job)
        except ReadingTextError as error:
            say(f"  {error}")


def _obey(walk: PinWalk, job: PinJob, text: str) -> Sequence[Event]:
    word = text.lower()
    commands = {
        "skip": walk.skip,
        "back": walk.back,
        "redo": walk.redo,
        "keep": walk.keep_it,
    }
    command = commands.get(word)
    if command is not None:
        return command()
    again = walk.again(text) or walk.again("-".join(text.split("-")[::-1]))
    if again:
        return again
    if word == "map":
        _draw(walk, job)
        return ()
    if walk.finished:
        names = ", ".join(step.key for step in walk.steps)
        raise ReadingTextError(text, f"Enter, back, redo or one of: {names}")
    if word in {"", "?", "help"}:
        say(HELP)
        return ()
    return type_reading(walk, text)


def _tell(events: Sequence[Event], walk: PinWalk, job: PinJob) -> None:
    """Print what happened, and the field whenever a value came into it."""
    values = False
    for event in events:
        verdict = ""
        if isinstance(event, Taken):
            verdict = job.verdict(event.step)
            values |= event.row.reading.form is Form.NUMBER and event.row.pins is not None
        if isinstance(event, (Begun, Finished)) and values:
            _draw(walk, job)
            values = False
        indent = "" if isinstance(event, (Begun, Finished)) else "  "
        say(f"{indent}{pin_sentence(event, verdict)}")


def _draw(walk: PinWalk, job: PinJob) -> None:
    say("")
    for line in job.picture(None if walk.pair is None else walk.pair.points):
        say(f"    {line}")
    say("")


def _at_terminal() -> bool:
    """Whether a person answers, who may want to take something again after the last."""
    return sys.stdin is not None and sys.stdin.isatty()
