"""A meter watched: what it shows, what the bytes were, and what was no frame."""

from __future__ import annotations

import math
import sys
from collections import deque
from dataclasses import dataclass, field
from typing import Final, Self

from rich.console import Console
from rich.live import Live

from coilmeter.cli.boxed import FRAME, Boxed, Row
from coilmeter.cli.connection import Connection
from coilmeter.cli.figures import big, big_words
from coilmeter.cli.keys import NoKeys, keyboard
from coilmeter.cli.logging_texts import number_of
from coilmeter.cli.port_words import (
    CTRL_C_ENDS,
    Q_ENDS,
    afterwards,
    back_words,
    cautions_of,
    trouble_words,
)
from coilmeter.cli.saying import say
from coilmeter.cli.words import reading_text
from coilmeter.sources.clock import RealClock
from coilmeter.sources.port_events import (
    FellSilent,
    LinkBack,
    TalksAgain,
    TimedReading,
    TimedReject,
    Unreadable,
)
from coilmeter.sources.port_lasting import LastingStream
from coilmeter.units import format_ohm
from coilmeter.values import Flag, Reading

_RATE_OVER: Final = 30
_LONGEST_HEX: Final = 24
_MARKS: Final = {
    Flag.HOLD: "HOLD",
    Flag.RELATIVE: "REL",
    Flag.MAXIMUM: "MAX",
    Flag.MINIMUM: "MIN",
    Flag.LOW_BATTERY: "BATTERY",
}
"""Flags without which a reading is not what it seems."""


@dataclass
class Watch:
    """What has been seen so far.

    Attributes
    ----------
    readings, rejected
        How many.
    latest, no_frame, advice
        The reading that the meter shows now, None while it is away; the last stretch that was
        none with its reason; and what to mind.

    """

    readings: int = 0
    rejected: int = 0
    latest: Reading | None = None
    no_frame: str = ""
    advice: str = ""
    _times: deque[float] = field(default_factory=lambda: deque(maxlen=_RATE_OVER))

    def take(self, at: float, reading: Reading) -> None:
        """Take a reading."""
        self.readings += 1
        self.latest, self.advice = reading, ""
        self._times.append(at)

    @property
    def rate_hz(self) -> float:
        """Readings a second of late; zero while there are too few."""
        span = self._times[-1] - self._times[0] if len(self._times) > 1 else 0.0
        return (len(self._times) - 1) / span if span > 0 else 0.0

    @property
    def counts(self) -> str:
        """How many so far, and how fast, in words."""
        rate = f", {self.rate_hz:.1f} a second" if self.rate_hz else ""
        rejected = number_of(self.rejected, "stretch", "stretches")
        return f"{number_of(self.readings, 'reading')}{rate}; {rejected} that are no frame"

    @property
    def marks(self) -> str:
        """Flags that must be seen from afar, in capitals."""
        flags = frozenset[Flag]() if self.latest is None else self.latest.flags
        return " ".join(word for flag, word in _MARKS.items() if flag in flags)


def facts_of(reading: Reading) -> str:
    """Say what a frame carries besides its number."""
    parts = [reading.function.replace("_", " ")]
    if reading.full_scale:
        parts.append(f"range to {_quantity(reading.full_scale, reading.unit)}")
    if reading.resolution:
        parts.append(f"last digit {_quantity(reading.resolution, reading.unit)}")
    return ", ".join([*parts, *(flag.replace("_", " ") for flag in sorted(reading.flags))])


def _quantity(value: float, unit: str) -> str:
    return format_ohm(value) if unit == "ohm" else f"{value:g} {unit}".rstrip()


def hex_of(raw: bytes) -> str:
    """Bytes in hex, the first of them where they are many."""
    more = " ..." if len(raw) > _LONGEST_HEX else ""
    return f"{raw[:_LONGEST_HEX].hex(' ').upper()}{more}"


def watch(connection: Connection, *, count: int | None, for_s: float) -> Watch:
    """Watch a meter until ``q``, so many readings, or so many seconds.

    Raises
    ------
    MeterError
        When the meter says nothing at the start, or nothing that can be read.

    """
    for caution in cautions_of(connection.form):
        say(caution)
    clock = RealClock()
    meter = connection.meter(clock)
    seen, end = Watch(), clock.now() + for_s
    most = math.inf if count is None else count
    with (
        LastingStream(meter, clock, wait_s=connection.wait_s) as stream,
        keyboard() as keys,
        _Shown() as shown,
    ):
        way_out = CTRL_C_ENDS if isinstance(keys, NoKeys) else Q_ENDS
        while seen.readings < most and clock.now() < end and shown.wanted(keys.pressed()):
            for item in stream.poll():
                match item:
                    case TimedReading(at=at, reading=reading):
                        seen.take(at, reading)
                        shown.line(reading)
                        if seen.readings >= most:
                            break
                    case TimedReject(rejected=rejected):
                        seen.rejected += 1
                        seen.no_frame = f"no frame: {hex_of(rejected.raw)} ({rejected.reason})"
                        shown.note(seen.no_frame)
                    case FellSilent() | Unreadable() if not seen.readings:
                        raise item.error
                    case LinkBack() | TalksAgain():
                        seen.advice = back_words(item, connection.port)
                        shown.note(seen.advice)
                    case _:
                        words = trouble_words(item, connection.port, way_out)
                        # What it showed last is no longer what it shows.
                        seen.advice, seen.latest = ": ".join(words), None
                        shown.note(seen.advice)
            shown.draw(seen)
    for line in afterwards(meter):
        say(line)
    return seen


class _Shown:
    """The big reading on a terminal; a line a reading elsewhere."""

    def __init__(self) -> None:
        self._live: Live | None = None
        self._drawn: Boxed | None = None
        self._nobody_looks = False

    def __enter__(self) -> Self:
        if sys.stdout.isatty():
            self._live = Live(console=Console(), auto_refresh=False, transient=True)
            self._live.start()
        return self

    def __exit__(self, *_: object) -> None:
        if self._live is not None:
            self._live.stop()

    def line(self, reading: Reading) -> None:
        """Print a reading where there is no screen."""
        if self._live is None:
            raw = hex_of(reading.raw)
            try:
                sys.stdout.write(f"{reading_text(reading)}  [{facts_of(reading)}]  {raw}\n")
                sys.stdout.flush()
            except BrokenPipeError:
                self._nobody_looks = True

    def wanted(self, pressed: str) -> bool:
        """Whether anybody still looks, and has not pressed the key that ends it."""
        return not self._nobody_looks and "q" not in pressed.lower()

    def note(self, text: str) -> None:
        """Print what was no frame where there is no screen."""
        if self._live is None:
            say(text)

    def draw(self, seen: Watch) -> None:
        """Draw the screen anew where it has changed."""
        if self._live is None:
            return
        latest, width = seen.latest, self._live.console.width - FRAME
        boxed = Boxed(
            (
                Row(f"{big('' if latest is None else reading_text(latest))}\n", "bold"),
                *([Row(f"{big_words(seen.marks, width)}\n", "bold")] if seen.marks else []),
                Row("" if latest is None else facts_of(latest), wraps=True),
                Row("" if latest is None else hex_of(latest.raw), "dim", wraps=True),
                Row(seen.no_frame, wraps=True),
                Row(seen.advice, "bold", wraps=True),
                Row(seen.counts),
                Row("q quit", "dim"),
            )
        )
        if boxed != self._drawn:
            self._drawn = boxed
            self._live.update(boxed, refresh=True)
