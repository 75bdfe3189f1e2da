"""Settled values of a log: the step of a walk that needs no hands, run again."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from coilmeter.cli.logging_rows import stamp
from coilmeter.compute.settle import Settled, Settler, SettleRule
from coilmeter.values import Reading
from coilmeter.walks.refusals import why_not

GAP_S: Final = 2.5
"""After a silence as long nothing is known of the clips: settling begins again."""

COLUMNS: Final = ("time", "at_s", "value_ohm", "scatter_ohm", "count", "display")


@dataclass(frozen=True, slots=True)
class SettledValue:
    """A settled resistance.

    Parameters
    ----------
    at
        When it counted as settled, in seconds since the start of the log.
    mean_ohm, scatter_ohm, count
        Mean, standard deviation and number of the readings it was settled on.
    display
        What the meter showed then.

    """

    at: float
    mean_ohm: float
    scatter_ohm: float
    count: int
    display: str

    def cells(self, start: datetime) -> tuple[object, ...]:
        """Cells in the order of `COLUMNS`."""
        return (
            stamp(start, self.at),
            f"{self.at:.6f}",
            # Below a nano-ohm it is the rounding of a mean of equal readings.
            round(self.mean_ohm, 9),
            round(self.scatter_ohm, 9),
            self.count,
            self.display,
        )

    def entry(self, start: datetime) -> dict[str, Any]:
        """Give it as an object of a JSON document."""
        cells = dict(zip(COLUMNS, self.cells(start), strict=True))
        return cells | {"time": cells["time"] or None, "at_s": round(self.at, 6)}


class SettleAgain:
    """Finds the settled values of a stream of readings, one for each time it comes to rest.

    At the value it had already, within what the rule allows, it has not come to rest anew.
    Over-range is no value: an open coil and clips in the air look the same, and only a walk
    that asks can tell them apart.  Readings that no walk would judge (volts, HOLD) end a run.
    """

    def __init__(self) -> None:
        self._rule = SettleRule()
        self._settler: Settler[Reading] | None = None
        self._told: float | None = None
        self._last = -math.inf

    def interrupt(self) -> None:
        """Begin again: what came before and what follows do not belong together."""
        self._settler = None
        self._told = None

    def feed(self, at: float, reading: Reading) -> SettledValue | None:
        """Take one reading; answer with a value where it has just come to rest."""
        if at - self._last > GAP_S:
            self.interrupt()
        self._last = at
        value = reading.value
        if value is None or not math.isfinite(value) or why_not(reading):
            self.interrupt()
            return None
        if self._settler is None:
            self._settler = Settler(self._rule)
        step = reading.resolution or 0.0
        found = self._settler.feed(at, value, step, reading)
        if found is None:
            return None
        mean, rule = found.mean_ohm, self._rule
        allowed = max(rule.fraction * abs(mean), rule.steps * step)
        if self._told is not None and abs(mean - self._told) <= allowed:
            return None
        self._told = mean
        return _value(at, found)


def _value(at: float, found: Settled[Reading]) -> SettledValue:
    return SettledValue(
        at, found.mean_ohm, found.scatter_ohm, found.count, found.items[-1].display
    )
