"""One flexing from its first reading to its result, live or from a file."""

from __future__ import annotations

import signal
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path
from typing import Final

from coilmeter.cli.connection import Connection
from coilmeter.cli.flexing_result import Outputs, Shelf, Subject, put_result
from coilmeter.cli.flexing_saved import Saved, read_saved
from coilmeter.cli.flexing_screen import FlexScreen, Watched, make_flex_screen
from coilmeter.cli.flexing_stream import RecordedMeter, recorded
from coilmeter.cli.keys import Keys, keyboard
from coilmeter.cli.logging_stop import Stopper
from coilmeter.cli.logging_texts import SOMETHING, number_of
from coilmeter.cli.port_words import cautions_of
from coilmeter.cli.proofs import is_proved
from coilmeter.cli.typed import say
from coilmeter.compute.cautions import BEFORE_MEASURING, DEMAGNETISE
from coilmeter.errors import CoilmeterError, InputError
from coilmeter.sources.clock import Clock, RealClock
from coilmeter.values import Stability
from coilmeter.walks.flexing import Flexing
from coilmeter.walks.flexing_told import (
    AskLifted,
    Changed,
    DroppedOut,
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


def run_live(job: FlexJob, connection: Connection, log: Path) -> int:
    """Flex a coil on a meter; the exit code is 0 when it is steady, else 1.

    Raises
    ------
    MeterError
        When the meter or its port fails; every byte before is in the log.
    StoreError
        When a file cannot be written.
    KeyboardInterrupt
        On Ctrl-C.

    """
    for caution in BEFORE_MEASURING:
        say(f"! {caution}")
    named = job.subject.table.meter.name
    verified = is_proved(named, connection.form, connection.port)
    for caution in cautions_of(connection.form, verified=verified):
        say(caution)
    walk, stopper = job.walk(), Stopper()
    watching: _Watching | None = None
    try:
        with ExitStack() as stack:
            if job.shelf is not None:
                stack.enter_context(job.shelf)
            stack.enter_context(stopper)
            meter = stack.enter_context(recorded(connection, log, job.clock))
            keys = stack.enter_context(keyboard())
            screen = stack.enter_context(make_flex_screen(job.subject.name, job.subject.where))
            watching = _Watching(job, walk, screen, meter)
            watching.run(keys, stopper)
            kept = walk.result() if stopper.signal is None else None
            if kept is not None and job.shelf is not None:
                job.shelf.keep(job.subject, walk, kept, log)
    except CoilmeterError:
        if watching is not None:
            _say_where(job, walk, log, stopped=True)
        raise
    _say_where(job, walk, log, stopped=stopper.signal is not None)
    if stopper.signal == signal.SIGINT:
        raise KeyboardInterrupt
    if stopper.signal is not None:
        return STOPPED + stopper.signal
    return _finish(job, walk, log)


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
    return _finish(job, walk, files[0])


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
            _answer(walk, event, job.long_ol)
            job.listener(event)
    for _, text in notes:
        _obey(walk, text)
    _answer(walk, None, job.long_ol)
    walk.end(End.FILE)
    return used


def _taken(saved: Saved) -> int:
    """Give how many readings had been taken when it ended; all, where the log does not say.

    What came in one piece with the last of them is in the log too, and was not taken.
    """
    told = [text for _, text in saved.notes if text.startswith(ENDED_AFTER)]
    count = told[-1].removeprefix(ENDED_AFTER) if told else ""
    return int(count) if count.isascii() and count.isdigit() else len(saved.readings)


class _Watching:
    """A flexing on a meter."""

    def __init__(
        self, job: FlexJob, walk: Flexing, screen: FlexScreen, meter: RecordedMeter
    ) -> None:
        self._job = job
        self._walk = walk
        self._screen = screen
        self._meter = meter
        self._watched = Watched(for_s=job.for_s)
        self._taken = 0

    def run(self, keys: Keys, stopper: Stopper) -> None:
        """Watch until it ends."""
        walk = self._walk
        self._tell(walk.start())
        while not walk.ended:
            if stopper.signal is not None:
                self._tell(walk.end(End.STOPPED))
                break
            self._poll()
            for key in keys.pressed().lower():
                self._press(key)
        self._meter.note(f"{ENDED_AFTER}{self._taken}")
        self._meter.finish(str(walk.end_reason))

    def _poll(self) -> None:
        walk, watched = self._walk, self._watched
        arrived = self._meter.poll()
        for item in arrived:
            self._taken += 1
            self._tell(walk.feed(item.at, item.reading))
            if walk.begun_at is not None:
                watched.seconds = item.at - walk.begun_at
                watched.readings += 1
            if walk.ended:
                break
        watched.dropouts = walk.dropouts
        if arrived:
            # Only the latest is shown: a fast meter sends more than anyone can see.
            last = arrived[-1]
            self._screen.reading(last.at, last.reading, walk.state, watched)

    def _press(self, key: str) -> None:
        if key in ENDING_KEYS:
            self._meter.note(END)
            self._tell(self._walk.end(End.KEY))
        elif key == "o":
            self._meter.note(STILL_ON)
            self._tell(self._walk.still_on())
        elif key == "l":
            self._meter.note(LIFTED)
            self._tell(self._walk.lifted())

    def _tell(self, events: Sequence[FlexEvent]) -> None:
        for event in events:
            if isinstance(event, DroppedOut):
                self._watched.dropouts = event.count
            elif isinstance(event, Changed):
                self._watched.changes = event.count
            self._screen.happened(event)
            self._job.listener(event)
            self._tell(_answer(self._walk, event, self._job.long_ol))


def _answer(walk: Flexing, event: FlexEvent | None, long_ol: LongOL) -> list[FlexEvent]:
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


def _finish(job: FlexJob, walk: Flexing, source: Path) -> int:
    result = walk.result()
    if result is None:
        say("It was not moved: put the clips on, hold still until it says so, then move it.")
        return SOMETHING
    put_result(job.subject, walk, result, job.outputs, source)
    return int(result.evidence.stability is not Stability.STEADY)


def _say_where(job: FlexJob, walk: Flexing, log: Path, *, stopped: bool) -> None:
    result = walk.result()
    if stopped and result is not None:
        say(f"So far: {result.evidence.stability}, {result.reason}.")
    if result is not None:
        say(f"! {DEMAGNETISE}")
    say(f"Every byte is kept in {log}.")
    if stopped:
        say(f"Judge what is in it with: coilmeter flex --from {log}")
    elif job.shelf is not None and result is not None:
        say(job.shelf.where())
