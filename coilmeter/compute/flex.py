"""A stream that is read while one joint is moved, and what it says of the joint.

First the joint is at rest for some seconds, which shows what the meter scatters by itself;
then it is moved.  What cannot be told from the stream is `undecided`, with what would
decide.  Resistances are SI floats in ohm, infinity for an overload; times are in seconds,
and their spacing may be uneven: figures of time use the stamps.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
import numpy.typing as npt

from coilmeter.compute.flex_drift import Drift, drift_of, robust_scatter
from coilmeter.compute.flex_rest import REST_LEAST, Floats, Rest, columns, rest_of, restless
from coilmeter.compute.flex_rule import FlexRule
from coilmeter.compute.flex_scan import SAME_STEP, FlexPoint, Mark, Meaning, Run, Scanner
from coilmeter.compute.flex_verdict import Findings, verdict
from coilmeter.values import FlexFigures, FlexResult

OPEN_OHM: Final = 20e3
"""A coil of which nothing is known is open above this: the limit of the band ``any``."""

_SQRT12: Final = math.sqrt(12.0)
_LEFT_OUT: Final = frozenset({Meaning.UNEXPLAINED, Meaning.LIFTED})
_RECLIPPED: Final = _LEFT_OUT | {Meaning.EXCUSED}


class Flexed:
    """The stream of one joint that is moved.

    Parameters
    ----------
    rest
        What it read before.
    at_rest
        Those readings; a creep begins with them.
    rule
        The limits.
    open_ohm
        A value above this is as good as open.
    breaks
        How often it dropped out or jumped before, while it was to be held still.

    """

    def __init__(
        self,
        rest: Rest,
        at_rest: Sequence[FlexPoint] = (),
        *,
        rule: FlexRule | None = None,
        open_ohm: float = OPEN_OHM,
        breaks: int = 0,
    ) -> None:
        self.rest = rest
        self.breaks = breaks
        self.rule = rule or FlexRule()
        self.at_rest = tuple(at_rest)
        self.scanner = Scanner(
            self.rule,
            level_ohm=rest.level_ohm,
            step_ohm=rest.step_ohm,
            noise_ohm=rest.upper_ohm,
            open_ohm=open_ohm,
            end_ohm=rest.end_ohm,
        )

    def feed(self, point: FlexPoint) -> Mark | None:
        """Take a reading; say what it brought, if anything."""
        return self.scanner.feed(point)

    def count(self, meaning: Meaning) -> int:
        """How often something has happened so far."""
        return sum(run.meaning(self.rule) is meaning for run in self.scanner.runs)

    def drift(self) -> Drift:
        """Find what is slow in the stream so far."""
        return drift_of(*self._values(), self._scale_ohm(), self.rule)

    def suffices(self, asked_s: float) -> bool:
        """Whether as much was watched as `asked_s` seconds should give.

        Up to the least that can be called steady: time in which it was not watched, and the
        pause before the first reading, do not count.  A meter too slow for that is not
        waited for.
        """
        _, held, covered = self._watching()
        watched, readings = float(held[~covered].sum()), int((~covered).sum())
        rule = self.rule
        if watched < min(asked_s, rule.least_s):
            return False
        slow = readings - 1 < rule.least_rate_hz * watched
        return slow or asked_s < rule.least_s or readings >= rule.least_readings

    def result(self) -> FlexResult:
        """Judge what was read."""
        drift = self.drift()
        found = Findings(
            figures=self._figures(drift),
            runs=tuple(self.scanner.runs),
            drift=drift,
            level_ohm=self.rest.level_ohm,
            step_ohm=self.rest.step_ohm,
            rest_scatter_ohm=self.rest.scatter_ohm,
            range_told=self.scanner.range_told,
            breaks=self.breaks,
        )
        return verdict(found, self.rule)

    def _scale_ohm(self) -> float:
        """Drift that means something: more than warmth, digits and scatter can make."""
        fraction = self.rule.drift_fraction * abs(self.rest.level_ohm)
        return max(fraction, 3 * self.rest.step_ohm, 3 * self.rest.upper_ohm)

    def _meanings(self) -> list[Meaning | None]:
        """Tell of each reading what its run counts as; None on the level."""
        of_runs = [run.meaning(self.rule) for run in self.scanner.runs]
        return [None if run < 0 else of_runs[run] for run in self.scanner.run_of]

    def _values(self) -> tuple[Floats, Floats]:
        """Give times and values of all that never was open, the readings at rest included.

        Where the clips may have been moved, in a pause or while it read OL for long, what
        comes after is shifted to the level before: that difference is no drift.
        """
        runs = self.scanner.runs
        shift, last = 0.0, -1
        at, ohm = [point.at for point in self.at_rest], [point.ohm for point in self.at_rest]
        for point, number in zip(self.scanner.points, self.scanner.run_of, strict=True):
            if number < 0 <= last:
                shift += self._reclipped(runs[last])
            last = number
            if number < 0 or not (runs[number].opens or runs[number].excused):
                at.append(point.at)
                ohm.append(point.ohm + shift)
        return np.array(at, float), np.array(ohm, float)

    def _reclipped(self, run: Run) -> float:
        """Difference in ohm that a run leaves behind which is nobody's fault."""
        if run.to_ohm is None or run.meaning(self.rule) not in _RECLIPPED:
            return 0.0
        return run.level_ohm - run.to_ohm

    def _watching(self) -> tuple[Floats, Floats, npt.NDArray[np.bool_]]:
        """Give values, how long each stood, and which of them were not watched."""
        at, ohm = columns(self.scanner.points)
        covered = np.array([meaning in _LEFT_OUT for meaning in self._meanings()], bool)
        held = np.zeros(len(at))
        held[:-1] = np.minimum(np.diff(at), self.rule.gap_s)
        return ohm, held, covered

    def _figures(self, drift: Drift) -> FlexFigures:
        points = self.scanner.points
        ohm, held, covered = self._watching()
        watched = float(held[~covered].sum())
        is_open = ~np.isfinite(ohm) | (ohm > self.scanner.open_ohm)
        values = ohm[~covered & ~is_open]
        steps = np.array([point.step_ohm for point in points])
        # After a drop-out a meter may show some readings on a coarser range: no scatter.
        fine = ohm[~covered & ~is_open & (steps <= SAME_STEP * self.scanner.step_ohm)]
        dropouts = self._runs(Meaning.DROPOUT, Meaning.DOUBTFUL)
        off = [run.jump_ohm for run in self._runs(Meaning.JUMP, Meaning.BLIP)]
        count = int((~covered).sum())
        some = len(values) > 0
        own = self.rest.scatter_ohm
        digit = self.rest.step_ohm / _SQRT12
        return FlexFigures(
            readings=count,
            duration_s=watched,
            rate_hz=(count - 1) / watched if watched > 0 else None,
            least_ohm=float(values.min()) if some else None,
            median_ohm=float(np.median(values)) if some else None,
            most_ohm=float(values.max()) if some else None,
            scatter_ohm=float(fine.std(ddof=1)) if len(fine) > 1 else None,
            robust_scatter_ohm=robust_scatter(fine) if len(fine) else None,
            own_scatter_ohm=digit if own is None else max(own, digit),
            jump_limit_ohm=self.scanner.jump_limit_ohm,
            dropouts=len(self._runs(Meaning.DROPOUT)),
            doubtful=len(self._runs(Meaning.DOUBTFUL)),
            longest_s=max((run.open_s for run in dropouts), default=0.0),
            open_share=(
                min(sum(run.open_s for run in dropouts) / watched, 1.0) if watched > 0 else None
            ),
            jumps=len(self._runs(Meaning.JUMP)),
            blips=len(self._runs(Meaning.BLIP)),
            largest_jump_ohm=max(off, key=abs, default=0.0),
            # Of a level that jumps, the first and the last second say nothing.
            drift_ohm=drift.ohm if drift.creeping or not off else None,
            unexplained_s=sum(run.until - run.since for run in self._runs(Meaning.UNEXPLAINED)),
        )

    def _runs(self, *meanings: Meaning) -> list[Run]:
        return [run for run in self.scanner.runs if run.meaning(self.rule) in meanings]


def flex(
    moved: Sequence[FlexPoint],
    at_rest: Sequence[FlexPoint] = (),
    *,
    rule: FlexRule | None = None,
    open_ohm: float = OPEN_OHM,
) -> FlexResult:
    """Judge a whole stream at once.

    Parameters
    ----------
    moved
        Readings while the joint was moved, one of them finite at least.
    at_rest
        Readings before, while it was held still; empty for none.
    rule, open_ohm
        As for `Flexed`.

    Raises
    ------
    ValueError
        When there is no finite reading, or too few at rest.

    """
    finite = [point for point in moved if math.isfinite(point.ohm)]
    if not (finite or at_rest):
        raise ValueError("nothing but open readings")
    rest = rest_of(at_rest) if at_rest else restless(finite[:REST_LEAST])
    flexed = Flexed(rest, at_rest, rule=rule, open_ohm=open_ohm)
    for point in moved:
        flexed.feed(point)
    return flexed.result()
