"""What to flex, and a flexing that is in a file, from its first reading to its result."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path
from typing import Final

from coilmeter.cli.flexing_result import Outputs, Shelf, Subject, put_result
from coilmeter.cli.flexing_saved import Saved, read_saved
from coilmeter.cli.flexing_stream import AWAY
from coilmeter.cli.logging_texts import SOMETHING, number_of
from coilmeter.cli.typed import say
from coilmeter.errors import InputError
from coilmeter.sources.clock import Clock, RealClock
from coilmeter.values import Stability
from coilmeter.walks.flexing import Flexing
from coilmeter.walks.flexing_told import (
    AskLifted,
    End,
    FlexEvent,
)
from coilmeter.wire.contract import Format

STOPPED: Final = 128
"""Exit codes after a signal are this and its number, as shells have it."""

ENDING_KEYS: Final = frozenset("q\r\n")
STILL_ON: Final = "still on"
LIFTED: Final = "lifted"
END: Final = "end"
ENDED_AFTER: Final = "ended after "

Listener = Callable[[FlexEvent], None]


class LongOL(StrEnum):
    """What OL for a long time is."""

    ASK = "ask"
    LIFTED = "lifted"
    OPEN = "open"


@dataclass(frozen=True, slots=True)
class FlexJob:
    """What to flex, and what becomes of it.

    Parameters
    ----------
    subject
        The coil.
    outputs
        Where the result goes.
    shelf
        Where evidence is kept; None for nowhere.
    for_s
        Seconds of moving after which it ends; None for until a key or the end of the file.
    long_ol
        What OL for a long time is.
    clock
        Gives the times.
    listener
        Is told every event too.

    """

    subject: Subject
    outputs: Outputs
    shelf: Shelf | None = None
    for_s: float | None = None
    long_ol: LongOL = LongOL.ASK
    clock: Clock = field(default_factory=RealClock)
    listener: Listener = lambda _: None

    def walk(self) -> Flexing:
        """Make the walk."""
        return Flexing(self.subject.table, open_ohm=self.subject.open_ohm, for_s=self.for_s)


def run_saved(job: FlexJob, files: Sequence[Path], form: Format | None) -> int:
    """Judge a flexing that is in a file; the exit code is 0 when it is steady, else 1.

    Raises
    ------
    InputError
        When a file cannot be read, or nothing in it was moved.

    """
    saved = read_saved(files, form)
    walk = job.walk()
    used = _go_through(job, walk, saved)
    result = walk.result()
    if result is None:
        raise InputError(
            f"{files[0]}: {number_of(len(saved.readings), 'reading')}, and no contact of some "
            "seconds among them: nothing was flexed",
            hint="log the coil while its joint is moved, for 12 s at least.",
        )
    for line in saved.about:
        say(f"! {line}")
    left = _taken(saved) - used
    if left:
        say(f"! {number_of(left, 'reading')} after it had ended were not judged.")
    if job.shelf is not None:
        with job.shelf:
            job.shelf.keep(job.subject, walk, result, files[0])
        say(job.shelf.where())
    return finish(job, walk, files[0])


def _go_through(job: FlexJob, walk: Flexing, saved: Saved) -> int:
    """Go through a saved flexing; give the number of readings until it ended."""
    notes = [note for note in saved.notes if not note[1].startswith(ENDED_AFTER)]
    used = 0
    for item in saved.readings[: _taken(saved)]:
        while notes and notes[0][0] <= item.at:
            _obey(walk, notes.pop(0)[1])
        if walk.ended:
            return used
        used += 1
        for event in walk.feed(item.at, item.reading):
            answer(walk, event, job.long_ol)
            job.listener(event)
    for _, text in notes:
        _obey(walk, text)
    answer(walk, None, job.long_ol)
    walk.end(End.FILE)
    return used


def _taken(saved: Saved) -> int:
    """Give how many readings had been taken when it ended; all, where the log does not say.

    What came in one piece with the last of them is in the log too, and was not taken.
    """
    told = [text for _, text in saved.notes if text.startswith(ENDED_AFTER)]
    count = told[-1].removeprefix(ENDED_AFTER) if told else ""
    return int(count) if count.isascii() and count.isdigit() else len(saved.readings)


def answer(walk: Flexing, event: FlexEvent | None, long_ol: LongOL) -> list[FlexEvent]:
    """Answer for a person who has said beforehand what a long OL is."""
    if long_ol is LongOL.ASK or not (event is None or isinstance(event, AskLifted)):
        return []
    return walk.still_on() if long_ol is LongOL.OPEN else walk.lifted()


def _obey(walk: Flexing, text: str) -> None:
    """Do again what a person did in a flexing that was logged."""
    if text == END:
        walk.end(End.KEY)
    elif text == STILL_ON:
        walk.still_on()
    elif text == LIFTED:
        walk.lifted()
    elif text == AWAY:
        walk.interrupted("", "")


def finish(job: FlexJob, walk: Flexing, source: Path) -> int:
    """Put out the result; the exit code is 0 when it is steady, else 1."""
    result = walk.result()
    if result is None:
        say("It was not moved: put the clips on, hold still until it says so, then move it.")
        return SOMETHING
    put_result(job.subject, walk, result, job.outputs, source)
    return int(result.evidence.stability is not Stability.STEADY)
