"""One flexing on a meter, from its first reading to its result."""

from __future__ import annotations

import signal
from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import Final

from coilmeter.cli.connection import Connection
from coilmeter.cli.flexing import (
    END,
    ENDED_AFTER,
    LIFTED,
    STILL_ON,
    FlexJob,
    answer,
    finish,
)
from coilmeter.cli.flexing_screen import FlexScreen, Watched, make_flex_screen
from coilmeter.cli.flexing_spoken import FlexAloud
from coilmeter.cli.flexing_stream import Arrived, RecordedMeter, recorded
from coilmeter.cli.keys import Keys, NoKeys, keyboard
from coilmeter.cli.live import events_of
from coilmeter.cli.logging_stop import Stopper
from coilmeter.cli.port_words import CTRL_C_ENDS, Q_ENDS, cautions_of
from coilmeter.cli.proofs import is_proved
from coilmeter.cli.speech import SPEECH_FAILED, Speaker, find_program
from coilmeter.cli.typed import say
from coilmeter.compute.cautions import BEFORE_MEASURING, DEMAGNETISE
from coilmeter.errors import CoilmeterError
from coilmeter.walks.flexing import Flexing
from coilmeter.walks.flexing_told import Changed, DroppedOut, End, FlexEvent

STOPPED: Final = 128
"""Exit codes after a signal are this and its number, as shells have it."""

ENDING_KEYS: Final = frozenset("q\r\n")


def run_live(job: FlexJob, connection: Connection, log: Path, *, speak: bool = False) -> int:
    """Flex a coil on a meter; the exit code is 0 when it is steady, else 1.

    Parameters
    ----------
    job, connection, log
        What to flex, on which meter, and where every byte is kept.
    speak
        Whether what the screen shows is said aloud too.

    Raises
    ------
    InputError
        When there is nothing to speak with.
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
    speaker = Speaker(find_program()) if speak else None
    walk, stopper = job.walk(), Stopper()
    watching: _Watching | None = None
    try:
        with ExitStack() as stack:
            if job.shelf is not None:
                stack.enter_context(job.shelf)
            stack.enter_context(stopper)
            meter = stack.enter_context(recorded(connection, log, job.clock))
            keys = stack.enter_context(keyboard())
            screen = stack.enter_context(_screen(job, walk, speaker))
            watching = _Watching(job, walk, screen, meter, connection.port)
            watching.run(keys, stopper)
            kept = walk.result() if stopper.signal is None else None
            if kept is not None and job.shelf is not None:
                job.shelf.keep(job.subject, walk, kept, log)
    except CoilmeterError:
        if watching is not None:
            _say_where(job, walk, log, stopped=True)
        raise
    if speaker is not None and speaker.failed:
        say(SPEECH_FAILED)
    _say_where(job, walk, log, stopped=stopper.signal is not None)
    if stopper.signal == signal.SIGINT:
        raise KeyboardInterrupt
    if stopper.signal is not None:
        return STOPPED + stopper.signal
    return finish(job, walk, log)


def _screen(job: FlexJob, walk: Flexing, speaker: Speaker | None) -> FlexScreen:
    shown = make_flex_screen(job.subject.name, job.subject.where)
    return shown if speaker is None else FlexAloud(shown, speaker, walk, job.subject.where)


class _Watching:
    """A flexing on a meter."""

    def __init__(
        self,
        job: FlexJob,
        walk: Flexing,
        screen: FlexScreen,
        meter: RecordedMeter,
        port: str,
    ) -> None:
        self._job = job
        self._walk = walk
        self._screen = screen
        self._meter = meter
        self._port = port
        self._way_out = Q_ENDS
        self._watched = Watched(for_s=job.for_s)
        self._taken = 0

    def run(self, keys: Keys, stopper: Stopper) -> None:
        """Watch until it ends."""
        walk = self._walk
        if isinstance(keys, NoKeys):
            self._way_out = CTRL_C_ENDS
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
        last = None
        for item in self._meter.poll():
            if not isinstance(item, Arrived):
                self._tell(events_of(walk, item, self._port, self._way_out))
                continue
            last = item
            self._taken += 1
            self._tell(walk.feed(item.at, item.reading))
            if walk.time.begun_at is not None:
                watched.seconds = walk.time.moved_s(item.at)
                watched.readings += 1
            if walk.ended:
                break
        watched.dropouts = walk.dropouts
        if last is not None:
            # Only the latest is shown: a fast meter sends more than anyone can see.
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
            self._tell(answer(self._walk, event, self._job.long_ol))


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
