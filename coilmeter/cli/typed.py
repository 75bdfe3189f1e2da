"""A walk at the prompt: a person reads the meter and types."""

from __future__ import annotations

import math
import shutil
import sys
import textwrap
from collections.abc import Sequence

from coilmeter.cli.checking import Job
from coilmeter.cli.words import sentence
from coilmeter.errors import ReadingTextError
from coilmeter.report.safe import printable
from coilmeter.units import Form, parse_reading
from coilmeter.walks.events import AskRange, Begun, Event, Finished, Planned, Taken
from coilmeter.walks.walk import Walk

HELP = """Type what the meter shows: 212.4, 4k7, OL 40 Mohm, beep, silent. Or a word:
  skip  leave this one out      back  return to the one before
  redo  take the last again     quit  end here and judge what is there"""


def run_typed(walk: Walk, job: Job) -> None:
    """Ask for one reading after another until all are taken, or the person ends it.

    What was typed is on disk before the next question.
    """
    say(HELP)
    tell(walk.start(), job)
    while not walk.finished:
        text = ask("  reading> ")
        if text is None or text.lower() in {"quit", "q"}:
            return
        try:
            tell(_obey(walk, text), job)
        except ReadingTextError as error:
            say(f"  {error}")


def _obey(walk: Walk, text: str) -> Sequence[Event]:
    commands = {"skip": walk.skip, "back": walk.back, "redo": walk.redo}
    command = commands.get(text.lower())
    if command is not None:
        return command()
    if text.lower() in {"", "?", "help"}:
        say(HELP)
        return ()
    return type_reading(walk, text)


def type_reading(walk: Walk, text: str) -> Sequence[Event]:
    """Take a typed reading; an OL without its range is asked about at once.

    Raises
    ------
    ReadingTextError
        When the text, or the range, means nothing.

    """
    events = walk.type(text)
    if not any(isinstance(event, AskRange) for event in events):
        return events
    answer = ask(f"  {sentence(events[0])} ")
    if not answer:
        return walk.type(text, range_ohm=None) if answer is None else ()
    if answer.lower() == "auto":
        return walk.type(text, math.inf)
    end = parse_reading(answer)
    if end.form is not Form.NUMBER or end.ohm is None or end.ohm <= 0:
        raise ReadingTextError(answer, "the end of a range, such as '40 Mohm', or 'auto'")
    return walk.type(text, end.ohm)


def tell(events: Sequence[Event], job: Job) -> None:
    """Print what happened."""
    for event in events:
        verdict = job.verdict(event.step) if isinstance(event, Taken) else ""
        indent = "" if isinstance(event, (Planned, Begun, Finished)) else "  "
        say(f"{indent}{sentence(event, verdict)}")


def say(text: str) -> None:
    """Print a line of talk: to standard error, so that results stay alone on the output."""
    if sys.stderr.isatty():
        width = shutil.get_terminal_size().columns
        text = "\n".join(
            textwrap.fill(line, width, break_long_words=False) for line in text.split("\n")
        )
    sys.stderr.write(f"{text}\n")
    sys.stderr.flush()


def ask(question: str) -> str | None:
    """Ask for a line; None at the end of the input."""
    sys.stderr.write(question)
    sys.stderr.flush()
    # As bytes: what is no text in this terminal's encoding must be refused like any other.
    data = sys.stdin.buffer.readline()
    line = data.decode(sys.stdin.encoding or "utf-8", "replace").strip()
    if not sys.stdin.isatty():
        sys.stderr.write(f"{printable(line)}\n")
    return line if data else None
