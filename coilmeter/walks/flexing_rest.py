"""The beginning of a flexing: wait for a contact, then for rest."""

from __future__ import annotations

import math
from typing import Final

from coilmeter.compute.circumstances import MeterTable
from coilmeter.compute.flex_rest import REST_LEAST, Rest, rest_of, restless
from coilmeter.compute.flex_scan import FlexPoint
from coilmeter.values import Reading
from coilmeter.walks.flexing_told import ClipOn, FlexEvent, HoldStill

REST_S: Final = 2.0
REST_WITHIN_S: Final = 8.0
"""A joint that does not come to rest in this time is moved without that."""

PATIENT_S: Final = 5.0
"""After this, more flicker is taken for rest."""

GONE_S: Final = 1.0
"""OL for so long: the clips are off again."""

UNTOLD_STEP: Final = 0.001
"""Last digit, as a fraction of the reading, where nothing tells it: that of a display of
1000 counts."""

_STILL: Final = (0.01, 6.0)
_STILL_LATER: Final = (0.05, 12.0)
"""At rest the readings lie within this fraction of the level, or so many last digits."""


def point_of(at: float, reading: Reading, meter: MeterTable) -> FlexPoint:
    """Make a point of a reading; the meter tells what the frame does not."""
    ohm = math.inf if reading.overload or reading.value is None else reading.value
    end, step = meter.range_end(reading), reading.resolution
    if step is None and math.isfinite(ohm):
        at_range = meter.range_for(ohm, end) if meter.ranges else None
        step = UNTOLD_STEP * abs(ohm) if at_range is None else at_range.resolution_ohm
    return FlexPoint(at, ohm, step or 0.0, end)


class RestWatcher:
    """Waits until a coil is clipped and at rest.

    Parameters
    ----------
    open_ohm
        A value above this is as good as open.

    Attributes
    ----------
    found
        What it reads at rest, once that is known, or that it does not come to rest.
    points
        The readings at rest.

    """

    def __init__(self, open_ohm: float) -> None:
        self.found: Rest | None = None
        self.points: list[FlexPoint] = []
        self._open_ohm = open_ohm
        self._contact_at: float | None = None
        self._open_at: float | None = None

    @property
    def touching(self) -> bool:
        """Whether the clips touch something."""
        return self._contact_at is not None

    def interrupt(self) -> None:
        """Begin the rest again: what came in between was no resistance."""
        self.points.clear()

    def feed(self, point: FlexPoint) -> list[FlexEvent]:
        """Take a reading; say what to do where that changes."""
        if point.ohm > self._open_ohm:
            return self._open(point.at)
        self._open_at = None
        told: list[FlexEvent] = []
        if self._contact_at is None:
            self._contact_at = point.at
            told.append(HoldStill())
        since = point.at - self._contact_at
        self.points.append(point)
        if not self._still(_STILL if since < PATIENT_S else _STILL_LATER):
            self.points = [point]
        enough = len(self.points) >= REST_LEAST
        if enough and point.at - self.points[0].at >= REST_S:
            self.found = rest_of(self.points)
        elif since >= REST_WITHIN_S:
            self.found = restless(self.points)
            self.points = []
        return told

    def _open(self, at: float) -> list[FlexEvent]:
        self.points.clear()
        if self._open_at is None:
            self._open_at = at
        if self._contact_at is None or at - self._open_at < GONE_S:
            return []
        self._contact_at = None
        return [ClipOn()]

    def _still(self, limits: tuple[float, float]) -> bool:
        ohms = [point.ohm for point in self.points]
        fraction, steps = limits
        allowed = max(fraction * abs(ohms[-1]), steps * self.points[-1].step_ohm)
        return max(ohms) - min(ohms) <= allowed
