"""Readings played to the walk that watches one coil."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, TypeVar

from helpers import meter_table
from walk_helpers import ohms_of, overload

from coilmeter.values import Flag, FlexResult, Reading
from coilmeter.walks.flexing import Flexing
from coilmeter.walks.flexing_told import (
    FlexEvent,
)

Shown = Reading | Callable[[float], Reading]


EventT = TypeVar("EventT")


OPEN = overload(40e6, Flag.AUTO)


COIL = ohms_of(171.3)


class Played:
    """Plays readings to a walk, and remembers what it said.

    Parameters
    ----------
    rate_hz
        Readings a second.

    """

    def __init__(self, *, rate_hz: float = 10.0, meter: str = "unstated", **how: Any) -> None:
        self.walk = Flexing(meter_table(meter), **how)
        self.events: list[FlexEvent] = self.walk.start()
        self.at = 0.0
        self._step_s = 1 / rate_hz

    def play(self, shown: Shown, seconds: float) -> list[FlexEvent]:
        """Show something for a time; give what was said meanwhile."""
        told: list[FlexEvent] = []
        for number in range(round(seconds / self._step_s)):
            self.at = round(self.at + self._step_s, 6)
            reading = shown(number * self._step_s) if callable(shown) else shown
            told += self.walk.feed(self.at, reading)
        self.events += told
        return told

    def moving(self) -> Played:
        """Clip the coil and let it rest, until it is to be moved."""
        self.play(OPEN, 0.5)
        self.play(COIL, 3.0)
        return self

    def result(self) -> FlexResult:
        """Judge it."""
        found = self.walk.result()
        assert found is not None
        return found

    def said(self, kind: type[EventT]) -> list[EventT]:
        """Events of a kind."""
        return [event for event in self.events if isinstance(event, kind)]


def kinds(events: Sequence[FlexEvent]) -> list[type]:
    """Kinds of events."""
    return [type(event) for event in events]
