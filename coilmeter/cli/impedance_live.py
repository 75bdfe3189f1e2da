"""A walk over AC volts that listens to a meter, or asks a person."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from coilmeter.cli.impedance_screen import ToneScreen
from coilmeter.cli.impedance_words import tone_sentence
from coilmeter.cli.keys import Keys, NoKeys
from coilmeter.cli.live import Listens, events_of, piled_up
from coilmeter.cli.port_words import CTRL_C_ENDS, Q_ENDS
from coilmeter.cli.typed import ask, say
from coilmeter.errors import ReadingTextError
from coilmeter.sources.port_events import (
    FellSilent,
    StreamEvent,
    TimedReading,
    Unreadable,
)
from coilmeter.values import Reading
from coilmeter.walks.events import Finished
from coilmeter.walks.impedance_told import ToneBegun, ToneEvent, TonesPlanned
from coilmeter.walks.impedance_walk import ToneWalk

HELP: Final = """Type what the meter shows, with its unit: 98.4 mV, 0.1624 V. Or a word:
  skip  leave this coil out     back  return to the one before
  redo  read the last again     quit  end here and judge what is there"""
_ENDS: Final = frozenset({"quit", "q"})


def run_tones(
    walk: ToneWalk,
    stream: Listens,
    screen: ToneScreen,
    *,
    port: str = "",
    keys: Keys | None = None,
    listener: Callable[[ToneEvent], None] = lambda _: None,
) -> None:
    """Walk until all voltages are taken, or the person ends it with ``q``.

    Raises
    ------
    MeterError
        When the meter says nothing at the start, or nothing that can be read; and when it
        was unplugged for longer than is waited.  All that was taken is on disk.
    StoreError
        When a voltage could not be kept.

    """
    keys = keys or NoKeys()
    way_out = CTRL_C_ENDS if isinstance(keys, NoKeys) else Q_ENDS

    def tell(events: Sequence[ToneEvent]) -> None:
        for event in events:
            screen.happened(event)
            listener(event)

    def hear(item: StreamEvent) -> None:
        tell(events_of(walk, item, port, way_out))

    tell(walk.start())
    latest: Reading | None = None
    while not walk.finished:
        news = _heard(stream.poll(), hear, first=latest is None)
        if news is not None:
            latest, watcher = news, walk.watcher
            screen.reading(latest, None if watcher is None else watcher.state)
        for key in keys.pressed().lower():
            if key == "q":
                return
            if key == "t":
                tell(_typed(walk, keys, screen))
                # What came while a person typed is of the points whose voltage was typed.
                for item in piled_up(stream):
                    hear(item)
            else:
                tell(_obey(walk, key))


def _heard(
    items: Sequence[StreamEvent], hear: Callable[[StreamEvent], None], *, first: bool
) -> Reading | None:
    """Hand on what came; give the latest reading. `first`: none has come before."""
    latest: Reading | None = None
    for item in items:
        if isinstance(item, TimedReading):
            latest = item.reading
        elif first and latest is None and isinstance(item, (FellSilent, Unreadable)):
            # Nothing was measured yet: a person sets it right and begins again.
            raise item.error
        hear(item)
    return latest


def ask_tones(walk: ToneWalk) -> None:
    """Ask for one voltage after another until all are taken, or the person ends it."""
    say(HELP)
    _tell(walk.start())
    while not walk.finished:
        text = ask("  reading> ")
        if text is None or text.lower() in _ENDS:
            return
        words = {"skip": walk.skip, "back": walk.back, "redo": walk.redo}
        try:
            command = words.get(text.lower())
            _tell(command() if command else walk.type(text) if text else [])
        except ReadingTextError as error:
            say(f"  {error}")


def _tell(events: Sequence[ToneEvent]) -> None:
    for event in events:
        indent = "" if isinstance(event, (TonesPlanned, ToneBegun, Finished)) else "  "
        say(f"{indent}{tone_sentence(event)}")


def _typed(walk: ToneWalk, keys: Keys, screen: ToneScreen) -> Sequence[ToneEvent]:
    """Have a voltage typed in, asking again until it is one or the line is left empty."""
    step = walk.step
    with screen.paused(), keys.paused():
        while step is not None and (text := ask(f"{step.key}, reading> ")):
            try:
                return walk.type(text)
            except ReadingTextError as error:
                say(str(error))
    return ()


def _obey(walk: ToneWalk, key: str) -> Sequence[ToneEvent]:
    commands = {"n": walk.next_is_on, "s": walk.skip, "b": walk.back, "r": walk.redo}
    command = commands.get(key)
    return () if command is None else command()
