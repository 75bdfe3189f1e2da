"""A walk that listens to a meter: bytes in, events to a screen, keys as a way out."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from coilmeter.cli.checking import Job
from coilmeter.cli.keys import Keys, NoKeys
from coilmeter.cli.screen import Screen
from coilmeter.cli.typed import ask, say, type_reading
from coilmeter.errors import ReadingTextError
from coilmeter.sources.port import MeterStream, TimedReading
from coilmeter.walks.events import Event, Taken
from coilmeter.walks.walk import Walk

Listener = Callable[[Event], None]


def run_live(
    walk: Walk,
    job: Job,
    stream: MeterStream,
    screen: Screen,
    *,
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
    keys
        The keyboard, None for none.
    listener
        Is told every event too.

    Raises
    ------
    MeterError
        When the meter falls silent or the port is lost; all that was taken is on disk.
    StoreError
        When a reading could not be kept.

    """
    keys = keys or NoKeys()

    def tell(events: Sequence[Event]) -> None:
        for event in events:
            screen.happened(event, job.verdict(event.step) if isinstance(event, Taken) else "")
            listener(event)

    tell(walk.start())
    while not walk.finished:
        arrived = [item for item in stream.poll() if isinstance(item, TimedReading)]
        for item in arrived:
            tell(walk.feed(item.at, item.reading))
        if arrived:
            # Only the latest is shown: a fast meter sends more than anyone can see.
            watcher = walk.watcher
            screen.reading(arrived[-1].reading, None if watcher is None else watcher.state)
        for key in keys.pressed().lower():
            if key == "q":
                return
            tell(_typed(walk, keys, screen) if key == "t" else _obey(walk, key))


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
