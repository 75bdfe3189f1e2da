"""A case: one complaint from the bench, with what was seen in its order, and how it ended."""

from __future__ import annotations

from dataclasses import dataclass, field

from coilmeter.values.chains import Seen


@dataclass(slots=True)
class Case:
    """One case.

    Parameters
    ----------
    name
        What it is called.
    fault, track
        Name of its map, and the track in question.
    opened, closed
        When, in UTC as ISO 8601; the second is empty while it is open.
    seen
        What was seen, in its order.
    cannot
        Tests and needs that were not to be had.
    links
        What it was, by name; empty while it is open, or where nothing was broken.

    """

    name: str
    fault: str
    track: str
    opened: str = ""
    closed: str = ""
    seen: list[Seen] = field(default_factory=list)
    cannot: list[str] = field(default_factory=list)
    links: tuple[str, ...] = ()
