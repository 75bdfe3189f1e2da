"""A joint that blinks while the clips sit still: OL, too short for a lift, again and again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

LEAST: Final = 3
"""Clips that are lifted, or put on, bounce once or twice; a loose joint goes on."""

VALUE_S: Final = 0.3
"""A value for so long is a contact, and no bounce."""


@dataclass(slots=True)
class Blinks:
    """Counts short OLs between two stretches of a value.

    Parameters
    ----------
    lift_s
        An OL of so long, or longer, is a lift.
    count
        How many there were.

    """

    lift_s: float
    count: int = 0
    _since: float | None = None
    """When the stretch of value, or the OL after one, began."""
    _last: float = 0.0
    _open: bool = False
    _after_blink: bool = False

    def feed(self, at: float, *, overload: bool) -> bool:
        """Take a reading; tell once when there were enough of them to be sure."""
        since, last, self._last = self._since, self._last, at
        if overload:
            if not self._open and since is not None:
                # From a bounce no OL is counted.
                self._since = at if last - since >= VALUE_S else None
            self._open = True
            return False
        if self._open or since is None:
            self._after_blink = self._open and since is not None and at - since < self.lift_s
            self._since, self._open = at, False
            return False
        if not self._after_blink or at - since < VALUE_S:
            return False
        self._after_blink = False
        self.count += 1
        return self.count == LEAST
