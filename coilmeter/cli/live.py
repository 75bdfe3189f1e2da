"""A walk that listens to a meter: bytes in, events to a screen, keys as a way out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final, Protocol, TypeVar

from coilmeter.cli.keys import Keys, NoKeys
from coilmeter.cli.port_words import CTRL_C_ENDS, Q_ENDS, back_words, trouble_words
from coilmeter.cli.screen import Screen
from coilmeter.cli.typed import ask, say, type_reading
from coilmeter.errors import ReadingTextError
from coilmeter.sources.port_events import (
    FellSilent,
    LinkBack,
    StreamEvent,
    TalksAgain,
    TimedReading,
    TimedReject,
    Unreadable,
)
from coilmeter.values import Reading
from coilmeter.walks.events import Event, Spoilt, Taken
from coilmeter.walks.steps import Step
from coilmeter.walks.walk import Walk

Listener = Callable[[Event], None]

SPOILT_LEAST: Final = 5
SPOILT_SHARE: Final = 0.05
SPOILT_RARER: Final = 4
"""So many stretches that are no frame, and such a share of all, is worth a word; the next one
at so many times as many.  One torn frame at the beginning is usual."""

MOST_POLLS: Final = 1000
"""What piled up is read in pieces; a meter faster than that is never caught up with."""


class Judges(Protocol):
    """What is measured."""

    def verdict(self, step: Step) -> str:
        """Say in a word what a step that was taken means so far; empty for nothing."""
        ...


class Listens(Protocol):
    """A meter that is open."""

    def poll(self) -> Sequence[StreamEvent]:
        """Give what has come, waiting a moment where nothing has."""
        ...


def run_live(
    walk: Walk,
    job: Judges,
    stream: Listens,
    screen: Screen,
    *,
    port: str = "",
    keys: Keys | None = None,
    listener: Listener = lambda _: None,
) -> None:
    """Walk until all steps are done, or the person ends it with ``q``.

    Parameters
    ----------
    walk, job
        What to measure, and where it is kept.
    stream
        The open meter.
    screen
        Shows what happens.
    port
        The meter's port as the user named it.
    keys
        The keyboard, None for none.
    listener
        Is told every event too.

    Raises
    ------
    MeterError
        When the meter says nothing at the start, or nothing that can be read; and when it
        was unplugged for longer than is waited.  All that was taken is on disk.
    StoreError
        When a reading could not be kept.

    """
    keys = keys or NoKeys()
    way_out = CTRL_C_ENDS if isinstance(keys, NoKeys) else Q_ENDS

    def tell(events: Sequence[Event]) -> None:
        for event in events:
            screen.happened(event, job.verdict(event.step) if isinstance(event, Taken) else "")
            listener(event)

    try:
        _follow(walk, stream, screen, tell, port, keys, way_out)
    finally:
        walk.aside.put()


def _follow(
    walk: Walk,
    stream: Listens,
    screen: Screen,
    tell: Callable[[Sequence[Event]], None],
    port: str,
    keys: Keys,
    way_out: str,
) -> None:
    tell(walk.start())
    latest: Reading | None = None
    quality = Quality()
    while not walk.finished:
        news = False
        for item in stream.poll():
            if isinstance(item, TimedReading):
                latest, news = item.reading, True
            elif isinstance(item, (FellSilent, Unreadable)) and latest is None:
                # Nothing was measured yet: a person sets it right and begins again.
                raise item.error
            tell(events_of(walk, item, port, way_out))
            tell(quality.of(item))
        if news and latest is not None:
            # Only the latest is shown: a fast meter sends more than anyone can see.
            watcher = walk.watcher
            screen.reading(latest, None if watcher is None else watcher.state)
        for key in keys.pressed().lower():
            if key == "q":
                return
            if key == "t":
                tell(_typed(walk, keys, screen))
                for item in piled_up(stream):
                    tell(events_of(walk, item, port, way_out))
            else:
                tell(_obey(walk, key))


class Quality:
    """Counts frames and what is none, and says when too much is none."""

    def __init__(self) -> None:
        self._read = self._rejected = 0
        self._tell_at = SPOILT_LEAST

    def of(self, item: StreamEvent) -> Sequence[Event]:
        """Count what came; answer when there is something to say, more rarely each time."""
        self._read += isinstance(item, TimedReading)
        self._rejected += isinstance(item, TimedReject)
        total = self._read + self._rejected
        if self._rejected < self._tell_at or self._rejected < SPOILT_SHARE * total:
            return ()
        self._tell_at = SPOILT_RARER * self._rejected
        return (Spoilt(self._rejected, total),)


def piled_up(stream: Listens) -> list[StreamEvent]:
    """Pass over the readings that came while nobody looked; give what else happened."""
    told: list[StreamEvent] = []
    for _ in range(MOST_POLLS):
        items = stream.poll()
        told += [item for item in items if not isinstance(item, TimedReading | TimedReject)]
        if len(items) <= 1:
            break
    return told


EventT_co = TypeVar("EventT_co", covariant=True)


class Followed(Protocol[EventT_co]):
    """A walk that follows what a meter sends, and what becomes of its connection."""

    def feed(self, at: float, reading: Reading) -> Sequence[EventT_co]:
        """Take one reading."""
        ...

    def interrupted(self, what: str, advice: str) -> Sequence[EventT_co]:
        """Be told that the meter is away, and what to do about it."""
        ...

    def resumed(self, what: str) -> Sequence[EventT_co]:
        """Be told that it is there again."""
        ...


def events_of(
    walk: Followed[EventT_co], item: StreamEvent, port: str, way_out: str
) -> Sequence[EventT_co]:
    """Hand a walk what came; give what it says."""
    match item:
        case TimedReading(at=at, reading=reading):
            return walk.feed(at, reading)
        case TimedReject():
            return ()
        case LinkBack() | TalksAgain():
            return walk.resumed(back_words(item, port))
        case _:
            return walk.interrupted(*trouble_words(item, port, way_out))


def _typed(walk: Walk, keys: Keys, screen: Screen) -> Sequence[Event]:
    """Have a reading typed in, asking again until it is one or the line is left empty."""
    step = walk.step
    with screen.paused(), keys.paused():
        while step is not None and (text := ask(f"{step.key}, reading> ")):
            try:
                return type_reading(walk, text)
            except ReadingTextError as error:
                say(str(error))
    return ()


def _obey(walk: Walk, key: str) -> Sequence[Event]:
    commands = {
        "o": walk.confirm_open,
        "k": walk.keep_it,
        "s": walk.skip,
        "b": walk.back,
        "r": walk.redo,
    }
    command = commands.get(key)
    return () if command is None else command()
