"""What the stream tells of one contact, as the watcher of the clips hands it to the walk."""

from __future__ import annotations

from dataclasses import dataclass

from coilmeter.compute.settle import Settled
from coilmeter.values import Reading


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
