"""A walk at the prompt: a person reads the meter and types."""

from __future__ import annotations

import math
import sys
from collections.abc import Sequence

from coilmeter.cli.checking import Job
from coilmeter.cli.saying import ENDS, ask, say
from coilmeter.cli.words import sentence
from coilmeter.errors import ReadingTextError
from coilmeter.units import parse_range_end
from coilmeter.walks.events import AskRange, Begun, Event, Finished, Planned, Taken
from coilmeter.walks.walk import Walk

__all__ = ["AT_THE_END", "ENDS", "HELP", "ask", "run_typed", "say", "tell", "type_reading"]

HELP = """Type what the meter shows: 212.4, 4k7, OL 40 Mohm, beep, silent. Or a word:
  skip  leave this one out      back  return to the one before
  redo  take the last again     quit  end here and judge what is there"""
AT_THE_END = "  Enter judges; back, redo or a name (coil 3, 1 to 2) takes one again> "


def run_typed(walk: Walk, job: Job) -> None:
    """Ask for one reading after another until all are taken, or the person ends it.

    What was typed is on disk before the next question.  After the last, any of them can be
    taken again.
    """
    say(HELP)
    tell(walk.start(), job)
    while not walk.finished or _at_terminal():
        text = ask(AT_THE_END if walk.finished else "  reading> ")
        if text is None or text.lower() in ENDS or (walk.finished and not text):
            return
        try:
            tell(_obey(walk, text, job.overload_ohm), job)
        except ReadingTextError as error:
            say(f"  {error}")


def _at_terminal() -> bool:
    """Whether a person answers, who may want to take something again after the last."""
    return sys.stdin is not None and sys.stdin.isatty()


def _obey(walk: Walk, text: str, range_ohm: float | None) -> Sequence[Event]:
    commands = {
        "skip": walk.skip,
        "back": walk.back,
        "redo": walk.redo,
        "keep": walk.keep_it,
    }
    command = commands.get(text.lower())
    if command is not None:
        return command()
    again = walk.again(text)
    if again:
        return again
    if walk.finished:
        names = ", ".join(step.key for step in walk.steps)
        raise ReadingTextError(text, f"Enter, back, redo or one of: {names}")
    if text.lower() in {"", "?", "help"}:
        say(HELP)
        return ()
    return type_reading(walk, text, range_ohm)


def type_reading(walk: Walk, text: str, range_ohm: float | None = None) -> Sequence[Event]:
    """Take a typed reading; an OL without its range is asked about at once.

    Parameters
    ----------
    walk
        What is measured.
    text
        What was typed.
    range_ohm
        End of the range an OL was read on, where it was said for all beforehand.

    Raises
    ------
    ReadingTextError
        When the text means nothing.

    """
    if text.lower() in {"ol auto", "0l auto"}:
        return walk.type("OL", math.inf)
    events = walk.type(text)
    if range_ohm is not None and events and isinstance(events[0], AskRange):
        return walk.type(text, range_ohm)
    while events and isinstance(events[0], AskRange):
        answer = ask(f"  {sentence(events[0])} ")
        if answer is None or answer.lower() in {*ENDS, "back", "skip", "redo"}:
            say("  That OL was not taken.")
            return ()
        if not answer:
            say("  the end of the range, such as 40 Mohm, or auto; skip leaves the step out")
            continue
        try:
            return walk.type(text, parse_range_end(answer))
        except ReadingTextError as error:
            say(f"  {error}")
    return events


def tell(events: Sequence[Event], job: Job) -> None:
    """Print what happened."""
    for event in events:
        verdict = job.verdict(event.step) if isinstance(event, Taken) else ""
        indent = "" if isinstance(event, (Planned, Begun, Finished)) else "  "
        say(f"{indent}{sentence(event, verdict)}")
