"""The beginning of a flexing: wait for a contact, then for rest."""

from __future__ import annotations

import math
from typing import Final

from coilmeter.compute.circumstances import MeterTable
from coilmeter.compute.flex_rest import REST_LEAST, Rest, rest_of, restless
from coilmeter.compute.flex_rule import FlexRule
from coilmeter.compute.flex_scan import FlexPoint
from coilmeter.values import Reading
from coilmeter.walks.flexing_told import ClipOn, FlexEvent, HoldStill

REST_S: Final = 2.0
REST_WITHIN_S: Final = 8.0
"""A joint that does not come to rest in this time is moved without that."""

PATIENT_S: Final = 5.0
"""After this, more flicker is taken for rest."""

LOOKED_S: Final = 3.0
"""For so long after the first rest a quieter one is looked for."""

QUIET: Final = 1.2
"""A meter that flickers no more than this times what is nobody's fault is not waited for."""

AS_QUIET: Final = 1.25
"""Two rests of one meter differ by so much, as a factor."""

SEATED_S: Final = 1.5
"""A contact so old bounces no more, and no meter looks for its range any longer."""

GONE_S: Final = 1.0
"""OL for so long: the clips are off again."""

UNTOLD_STEP: Final = 0.001
"""Last digit, as a fraction of the reading, where nothing tells it: that of a display of
1000 counts."""

_STILL: Final = (0.01, 6.0)
_STILL_LATER: Final = (0.05, 12.0)
"""At rest the readings lie within this fraction of the level, or so many last digits."""


_STILL_LEAST: Final = 4
"""Readings that lie still before one of them can be a jump."""


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
    rule
        The limits.

    Attributes
    ----------
    found
        What it reads at rest, once that is known, or that it does not come to rest.
    points
        The readings at rest.
    breaks
        How often it dropped out or jumped though it was to be held still.

    """

    def __init__(self, open_ohm: float, rule: FlexRule) -> None:
        self.found: Rest | None = None
        self.points: list[FlexPoint] = []
        self.breaks = 0
        self._open_ohm = open_ohm
        self._rule = rule
        self._rests: list[tuple[Rest, list[FlexPoint]]] = []
        self._contact_at: float | None = None
        self._open_at: float | None = None

    @property
    def touching(self) -> bool:
        """Whether the clips touch something."""
        return self._contact_at is not None

    def interrupt(self) -> None:
        """Begin the rest again: what came in between was no resistance."""
        self._begin_again()

    def feed(self, point: FlexPoint) -> list[FlexEvent]:
        """Take a reading; say what to do where that changes."""
        if point.ohm > self._open_ohm:
            return self._open(point.at)
        came_back, self._open_at = self._open_at is not None, None
        told: list[FlexEvent] = []
        if self._contact_at is None:
            self._contact_at = point.at
            told.append(HoldStill())
        since = point.at - self._contact_at
        self.breaks += since >= SEATED_S and (came_back or self._jumped(point))
        self.points.append(point)
        if not self._still(_STILL if since < PATIENT_S else _STILL_LATER):
            self.points = [point]
            self._rests.clear()
        self._judge(since)
        return told

    def _begin_again(self) -> None:
        self.points.clear()
        self._rests.clear()

    def _judge(self, since: float) -> None:
        """See whether it is at rest by now, or has had all the time there is for that."""
        latest = self._latest()
        if latest:
            rest = rest_of(latest)
            self._rests.append((rest, latest))
            limit = self._rule.sigmas * rest.upper_ohm
            floor = self._rule.floor_ohm_at(rest.level_ohm, rest.step_ohm)
            waited = self.points[-1].at - self._rests[0][1][-1].at
            over = waited >= LOOKED_S or since >= REST_WITHIN_S
            if over or limit <= QUIET * floor:
                self.found, self.points = self._quietest()
        elif since >= REST_WITHIN_S:
            self.found, self.points = restless(self.points), []

    def _latest(self) -> list[FlexPoint]:
        """Give the last readings that are long enough for a rest; empty where they are not."""
        begun = [
            n for n, each in enumerate(self.points) if self.points[-1].at - each.at >= REST_S
        ]
        start = min(begun[-1], len(self.points) - REST_LEAST) if begun else -1
        return self.points[start:] if start >= 0 else []

    def _quietest(self) -> tuple[Rest, list[FlexPoint]]:
        """Give the latest rest of those that are as quiet as the quietest.

        A clip that still settles, or a knock, makes a rest restless; nothing makes it quieter
        than the meter is.
        """
        least = min(rest.upper_ohm for rest, _ in self._rests)
        return [each for each in self._rests if each[0].upper_ohm <= AS_QUIET * least][-1]

    def _open(self, at: float) -> list[FlexEvent]:
        self._begin_again()
        if self._open_at is None:
            self._open_at = at
        if self._contact_at is None or at - self._open_at < GONE_S:
            return []
        self._contact_at = None
        return [ClipOn()]

    def _jumped(self, point: FlexPoint) -> bool:
        """Whether it is elsewhere from one reading to the next, and was still before."""
        if len(self.points) < _STILL_LEAST:
            return False
        fraction, steps = _STILL
        allowed = max(fraction * abs(point.ohm), steps * point.step_ohm)
        return abs(point.ohm - self.points[-1].ohm) > allowed

    def _still(self, limits: tuple[float, float]) -> bool:
        ohms = [point.ohm for point in self.points]
        fraction, steps = limits
        allowed = max(fraction * abs(ohms[-1]), steps * self.points[-1].step_ohm)
        return max(ohms) - min(ohms) <= allowed
