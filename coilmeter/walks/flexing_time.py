"""How long a joint has been moved, with the time left out for which the meter was away."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

LONGER: Final = 2.0
"""It ends after so many times what was asked for, even where too little was watched."""


class MovingTime:
    """The time of moving, from the times of the readings alone, so that a log gives the same.

    Parameters
    ----------
    for_s
        Seconds of moving that are asked for; None for no end.

    Attributes
    ----------
    begun_at
        Since when it is moved; None before.

    """

    def __init__(self, for_s: float | None = None) -> None:
        self.begun_at: float | None = None
        self._for_s = for_s
        self._last_at: float | None = None
        self._away = False
        self._away_s = 0.0

    def interrupt(self) -> None:
        """Leave out what lies between the last reading and the next."""
        self._away = True

    def read(self, at: float) -> None:
        """Take note of a reading's time."""
        if self._away and self._last_at is not None and self.begun_at is not None:
            self._away_s += at - self._last_at
        self._away, self._last_at = False, at

    def begin(self, at: float) -> None:
        """Begin to count."""
        self.begun_at = at

    def moved_s(self, at: float) -> float:
        """Seconds for which it has been moved; 0 before it began."""
        return 0.0 if self.begun_at is None else at - self.begun_at - self._away_s

    def over(self, at: float, *, suffices: Callable[[float], bool]) -> bool:
        """Whether it has been moved for as long as was asked for, and that `suffices`.

        Where it does not, it goes on, for as long again at most.
        """
        if self.begun_at is None or self._for_s is None:
            return False
        moved = self.moved_s(at)
        return moved >= LONGER * self._for_s or (moved >= self._for_s and suffices(self._for_s))
