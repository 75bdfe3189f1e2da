"""Whether what arrives from a meter can be read at all."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

UNREADABLE_REJECTS: Final = 10
"""Rejected stretches since the last reading before a meter can be called unreadable."""

_SHOWN_BYTES: Final = 24


@dataclass(frozen=True, slots=True)
class Garbage:
    """What came in place of readings: how many stretches, in how long, and the first bytes."""

    count: int
    lasted_s: float
    first: bytes


class Health:
    """Counts the rejected stretches since the last reading.

    Parameters
    ----------
    unreadable_after
        Seconds between the first of them and the last before they are garbage.

    """

    def __init__(self, unreadable_after: float) -> None:
        self._unreadable_after = unreadable_after
        self.readable()

    def readable(self) -> None:
        """Note a reading: counting begins again."""
        self._count, self._since, self._last, self._first = 0, math.inf, 0.0, b""

    def rejected(self, now: float, raw: bytes) -> None:
        """Note a rejected stretch."""
        self._count += 1
        self._since = min(self._since, now)
        self._last = now
        if len(self._first) < _SHOWN_BYTES:
            self._first = (self._first + raw)[:_SHOWN_BYTES]

    def take_garbage(self) -> Garbage | None:
        """Give what came in place of readings, once, where it is too much; else None."""
        lasted = self._last - self._since
        if self._count < UNREADABLE_REJECTS or lasted < self._unreadable_after:
            return None
        found = Garbage(self._count, lasted, self._first)
        self.readable()
        return found
