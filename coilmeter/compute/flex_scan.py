"""Goes along a stream while a joint is moved: what is on the level, off it, or open.

Resistances are SI floats in ohm, infinity for an overload; times are seconds that never go
back, however unevenly spaced.  A reading stands until the next one comes.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from enum import Enum, StrEnum, auto
from typing import Final

from coilmeter.compute.flex_rule import FlexRule

AGREE: Final = 3
"""So many readings off the level that agree are a new level."""

SETTLED_STEP: Final = 10
"""After so many readings with another last digit, that range is the usual one."""

SAME_STEP: Final = 1.01
FEW_OPEN: Final = 3
"""An autoranging meter shows no more readings of OL while it changes its range."""


@dataclass(frozen=True, slots=True)
class FlexPoint:
    """One reading: when, what, the value of its last digit and the end of its range.

    `step_ohm` is zero and `end_ohm` None where they are not told.
    """

    at: float
    ohm: float
    step_ohm: float = 0.0
    end_ohm: float | None = None


class Mark(Enum):
    """What a reading brought."""

    OPENED = auto()
    """The first open reading of a run."""
    LONG = auto()
    """It has been open for so long that the clips may have been lifted."""
    BACK = auto()
    """A run with open readings is over."""
    JUMPED = auto()
    """Two readings off the level, none of them open."""


class Meaning(StrEnum):
    """What a run of readings off the level counts as."""

    DROPOUT = "drop-out"
    DOUBTFUL = "doubtful"
    UNEXPLAINED = "unexplained"
    LIFTED = "lifted"
    JUMP = "jump"
    BLIP = "blip"
    EXCUSED = "excused"


@dataclass(slots=True)
class Run:
    """Readings one after the other that are not on the level.

    Parameters
    ----------
    since, until
        From its first reading to the first one behind it, in seconds.
    level_ohm
        The level that it left.
    opens, offs
        How many of its readings are open, and how many are values off the level.
    open_s
        How long it was open.
    jump_ohm
        How far the value that is furthest off lies from the level, with its sign.
    range_changed
        Whether the last digit changed in it or at its edges.
    near_end, at_end
        Whether the level lies so near to the end of the meter's range that the meter may
        change it by itself; and so near that its flicker reaches past it.
    excused
        Whether the stream was interrupted right before it or in it.
    returned
        Whether it came back to a level.
    answer
        What a person said of its OL: lifted clips, a drop-out; None where nobody said.
    to_ohm
        The level behind it; None where there is none yet.

    """

    since: float
    until: float
    level_ohm: float
    opens: int = 0
    offs: int = 0
    open_s: float = 0.0
    jump_ohm: float = 0.0
    range_changed: bool = False
    near_end: bool = False
    at_end: bool = False
    excused: bool = False
    returned: bool = False
    answer: Meaning | None = None
    to_ohm: float | None = None

    def meaning(self, rule: FlexRule) -> Meaning:
        """Tell what it counts as."""
        if not self.opens:
            if self.excused:
                return Meaning.EXCUSED
            return Meaning.JUMP if self.offs > 1 else Meaning.BLIP
        if self.answer is not None:
            return self.answer
        if not self.returned or self.excused or self.open_s >= rule.long_open_s:
            return Meaning.UNEXPLAINED
        of_range = self.near_end and self.range_changed and self.opens <= FEW_OPEN
        if of_range or self.at_end:
            return Meaning.DOUBTFUL
        return Meaning.DROPOUT


class Scanner:
    """Tells the readings of one contact apart, one by one.

    The level follows a slow drift, and moves to where three readings off it agree.

    Parameters
    ----------
    rule
        The limits.
    level_ohm, step_ohm, end_ohm
        The level to begin with, the last digit it is shown with, and the end of that range;
        None where it is not told.
    noise_ohm
        What the meter scatters by itself at most, as a standard deviation.
    open_ohm
        A value above this is as good as open.

    Attributes
    ----------
    points, run_of
        Everything that was fed, and the number of the run that each belongs to; -1 on the
        level.
    runs
        The runs, in order.

    """

    def __init__(
        self,
        rule: FlexRule,
        *,
        level_ohm: float,
        step_ohm: float,
        noise_ohm: float,
        open_ohm: float,
        end_ohm: float | None = None,
    ) -> None:
        self.rule = rule
        self.level_ohm = level_ohm
        self.step_ohm = step_ohm
        self.points: list[FlexPoint] = []
        self.run_of: list[int] = []
        self.runs: list[Run] = []
        self._noise_ohm = noise_ohm
        self.open_ohm = open_ohm
        self._run: Run | None = None
        self._agreeing: deque[float] = deque(maxlen=AGREE)
        self._other_step = 0
        self._interrupted = False
        self._end_ohm = end_ohm

    @property
    def run(self) -> Run | None:
        """The run that is going on; None on the level."""
        return self._run

    @property
    def jump_limit_ohm(self) -> float:
        """A change above this is no flicker of the meter."""
        return self._limit(self.step_ohm)

    def answer(self, meaning: Meaning) -> bool:
        """Take a person's word for the last OL: lifted clips, or a drop-out.

        Returns whether there was an OL to be explained.
        """
        run = self.runs[-1] if self.runs else None
        if run is None or run.meaning(self.rule) is not Meaning.UNEXPLAINED:
            return False
        run.answer = meaning
        return True

    @property
    def range_told(self) -> bool:
        """Whether the end of the range is known, by the bytes or by the meter's table."""
        return self._end_ohm is not None

    def interrupt(self) -> None:
        """Have what comes next judged as coming after a pause: the clips may have moved."""
        self._interrupted = True

    def feed(self, point: FlexPoint) -> Mark | None:
        """Take a reading; say what it brought, if anything."""
        before = self.points[-1] if self.points else None
        held = 0.0 if before is None else point.at - before.at
        if held > self.rule.gap_s:
            self._interrupted, held = True, self.rule.gap_s
        run = self._run
        if run is not None:
            run.until = point.at
            if before is not None and self._is_open(before):
                run.open_s += held
            run.excused |= self._interrupted
            if before is not None:
                run.range_changed |= _other(point.step_ohm, before.step_ohm)
        self.points.append(point)
        is_open = self._is_open(point)
        if not is_open and abs(point.ohm - self.level_ohm) <= self._limit(point.step_ohm):
            self.run_of.append(-1)
            mark = self._close()
            self._follow(point, held)
        else:
            mark = self._off(point, before, is_open=is_open)
        self._interrupted = False
        return mark

    def _is_open(self, point: FlexPoint) -> bool:
        return point.ohm > self.open_ohm

    def _limit(self, step_ohm: float) -> float:
        floor = self.rule.floor_ohm_at(self.level_ohm, step_ohm)
        return max(floor, self.rule.sigmas * self._noise_ohm)

    def _off(self, point: FlexPoint, before: FlexPoint | None, *, is_open: bool) -> Mark | None:
        run = self._run
        if run is None:
            run = self._run = self._begin(point, before)
        self.run_of.append(len(self.runs) - 1)
        if is_open:
            if math.isfinite(point.ohm):
                # A value that high is no end of a range.
                run.near_end = run.at_end = False
            return self._opened(run)
        run.offs += 1
        jump = point.ohm - run.level_ohm
        if abs(jump) > abs(run.jump_ohm):
            run.jump_ohm = jump
        self._agreeing.append(point.ohm)
        if len(self._agreeing) == AGREE:
            least, middle, most = sorted(self._agreeing)
            if most - least <= self._limit(point.step_ohm):
                self.level_ohm = middle
                return self._close()
        return Mark.JUMPED if run.offs == 2 and not run.opens else None  # noqa: PLR2004 - as Meaning

    def _begin(self, point: FlexPoint, before: FlexPoint | None) -> Run:
        share = self.rule.share_of_range(self.level_ohm, self.step_ohm, self._end_ohm)
        flicker = self.jump_limit_ohm / abs(self.level_ohm) if self.level_ohm else 0.0
        run = Run(
            point.at,
            point.at,
            self.level_ohm,
            near_end=share is not None and share >= self.rule.near_end_share,
            at_end=share is not None and share * (1 + flicker) >= 1,
            range_changed=before is not None and _other(point.step_ohm, before.step_ohm),
            excused=self._interrupted,
        )
        self.runs.append(run)
        self._agreeing.clear()
        return run

    def _opened(self, run: Run) -> Mark | None:
        self._agreeing.clear()
        run.opens += 1
        if run.opens == 1:
            return Mark.OPENED
        long = run.open_s >= self.rule.long_open_s and run.answer is None
        return Mark.LONG if long else None

    def _close(self) -> Mark | None:
        run, self._run = self._run, None
        if run is None:
            return None
        run.returned, run.to_ohm = True, self.level_ohm
        return Mark.BACK if run.opens else None

    def _follow(self, point: FlexPoint, held: float) -> None:
        """Have the level go with a slow drift, on the usual range only."""
        step = point.step_ohm
        if _other(step, self.step_ohm):
            self._other_step += 1
            if self._other_step < SETTLED_STEP:
                return
            self.step_ohm = step
        self._other_step = 0
        self._end_ohm = point.end_ohm
        share = -math.expm1(-held / self.rule.follow_s)
        self.level_ohm += share * (point.ohm - self.level_ohm)


def _other(step_ohm: float, usual_ohm: float) -> bool:
    """Whether two last digits, as far as they are told, are of two ranges."""
    if not (step_ohm and usual_ohm):
        return False
    low, high = sorted((step_ohm, usual_ohm))
    return high > SAME_STEP * low
