"""What the stream tells of one contact, as the watcher of the clips hands it to the walk."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from coilmeter.compute.settle import Settled
from coilmeter.values import Reading
from coilmeter.walks.events import AskBridge, Contact, Event, LiftLonger, NearZeroHeld
from coilmeter.walks.steps import Step


@dataclass(frozen=True, slots=True)
class Touched:
    """The clips touch something."""


@dataclass(frozen=True, slots=True)
class Moving:
    """The contact is old and not settled."""

    creeping: bool


@dataclass(frozen=True, slots=True)
class QuietlyOpen:
    """OL for a while: time to ask."""


@dataclass(frozen=True, slots=True)
class BackTooSoon:
    """A value again after OL too short to be a lift."""


@dataclass(frozen=True, slots=True)
class Held:
    """Near zero after the question, for longer than a tip is held."""


@dataclass(frozen=True, slots=True)
class ValueSettled:
    """A settled value."""

    run: Settled[Reading]


@dataclass(frozen=True, slots=True)
class OpenProved:
    """OL, with the clips proved to touch."""

    readings: tuple[Reading, ...]


Told = Touched | Moving | QuietlyOpen | BackTooSoon | Held | ValueSettled | OpenProved

_EVENTS: Final[dict[type[Told], Callable[[Step], Event]]] = {
    Touched: Contact,
    QuietlyOpen: AskBridge,
    BackTooSoon: LiftLonger,
    Held: NearZeroHeld,
}


def as_event(what: Touched | QuietlyOpen | BackTooSoon | Held, step: Step) -> Event:
    """Give what needs no more of the walk than its step as the event of the walk."""
    return _EVENTS[type(what)](step)
