"""Clocks that a source can be given: the real one, and a faster one for the demo.

All times are seconds of a monotonic clock with an arbitrary origin: only differences mean
something.
"""

from __future__ import annotations

import math
import time
from typing import Protocol


class Clock(Protocol):
    """What a source asks of time."""

    def now(self) -> float:
        """Monotonic time in seconds."""
        ...

    def sleep(self, seconds: float) -> None:
        """Wait; a negative time is none."""
        ...


class RealClock:
    """The monotonic clock of the machine."""

    def now(self) -> float:
        """Monotonic time in seconds."""
        return time.monotonic()

    def sleep(self, seconds: float) -> None:
        """Wait; a negative time is none."""
        time.sleep(max(seconds, 0.0))


class FastClock:
    """A clock that starts at zero and runs `factor` times as fast as the real one.

    Parameters
    ----------
    factor
        Seconds of this clock in one real second.

    Raises
    ------
    ValueError
        When the factor is not a finite number above zero.

    """

    def __init__(self, factor: float) -> None:
        if not (math.isfinite(factor) and factor > 0):
            raise ValueError(f"a clock cannot run {factor} times as fast")
        self._factor = factor
        self._start = time.monotonic()

    def now(self) -> float:
        """Seconds of this clock since it was made."""
        return (time.monotonic() - self._start) * self._factor

    def sleep(self, seconds: float) -> None:
        """Wait for seconds of this clock; a negative time is none."""
        time.sleep(max(seconds, 0.0) / self._factor)
