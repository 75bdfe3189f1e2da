"""The steps of a walk: which two points to clip, and what the reading is for."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

from coilmeter.compute.paths import required_paths
from coilmeter.values import CASE, Band, HeadKind, Purpose

CLIPS = ("clip", "clip")
"""What the two points of a lead null are: the clips themselves."""

NEAR_ZERO_LEAST_OHM = 0.6
NEAR_ZERO_MOST_OHM = 2.0


@dataclass(frozen=True, slots=True)
class Step:
    """One reading to take.

    Parameters
    ----------
    purpose, coil, other
        What it is for; `other` is the far side of an isolation path, else empty.
    points
        The two points to clip: pins, or ``case``.
    choices
        Every pair of points that would serve, the first preferred.
    near_zero_ohm
        Below this, a reading may be a metal tip across the points rather than a coil.
    moves
        How many clips have to be moved from the step before.

    """

    purpose: Purpose
    coil: str
    other: str
    points: tuple[str, str]
    choices: tuple[tuple[str, str], ...]
    near_zero_ohm: float = NEAR_ZERO_MOST_OHM
    moves: int = 2

    @property
    def key(self) -> str:
        """What is measured, as a name that is the same in every run."""
        if self.purpose is Purpose.LEAD_NULL:
            return "leads"
        return f"{self.coil} to {self.other}" if self.other else f"coil {self.coil}"

    @property
    def where(self) -> str:
        """The two points, in words."""
        if self.purpose is Purpose.LEAD_NULL:
            return "the two clips together"
        first, second = (point if point == CASE else f"pin {point}" for point in self.points)
        return f"{first} and {second}"


def plan(
    kind: HeadKind,
    bands: dict[str, Band],
    *,
    lead_null: bool = True,
    isolation: bool = True,
    done: Collection[str] = (),
) -> list[Step]:
    """Plan the steps to measure a whole head, in an order that moves few clips.

    Coils and paths are mixed: a path to the next coil leaves one clip where that coil needs
    it.

    Parameters
    ----------
    kind
        The head kind.
    bands
        Band of each coil, by the coil's name.
    lead_null
        Whether to begin with the clips together.
    isolation
        Whether to read the paths that should not conduct.
    done
        Keys of steps that were taken in an earlier run.  They come first, and what is left
        begins with the clips in the air.

    """
    coils = [
        Step(Purpose.COIL, coil.name, "", coil.pins, (coil.pins,), _near_zero(bands[coil.name]))
        for coil in kind.coils
    ]
    pins = {coil.name: coil.pins for coil in kind.coils} | {CASE: (CASE, CASE)}
    paths = [
        _path(start, end, pins)
        for start, end in (required_paths(kind, [*pins][:-1]) if isolation else ())
    ]
    leads = [Step(Purpose.LEAD_NULL, "", "", CLIPS, (CLIPS,))] if lead_null else []
    ordered: list[Step] = []
    for is_done in (True, False):
        ordered += [step for step in leads if (step.key in done) is is_done]
        ordered += few_moves(
            [step for step in (*coils, *paths) if (step.key in done) is is_done]
        )
    return ordered


def few_moves(steps: Sequence[Step]) -> list[Step]:
    """Order steps so that few clips are moved, the first from the air.

    From each step to begin with, the way goes on to whatever moves fewest clips; the best of
    these ways is taken, the earliest in the given order among equals.
    """
    ways = [
        [replace(step, points=choice), *_nearest(step, choice, steps)]
        for step in steps
        for choice in step.choices
    ]
    return min(ways, key=lambda way: sum(step.moves for step in way), default=[])


def _nearest(first: Step, clipped: tuple[str, str], steps: Sequence[Step]) -> Iterator[Step]:
    """Go from a first step through the others, always to one that moves fewest clips."""
    left = [step for step in steps if step is not first]
    while left:
        moves, index, number = min(
            (_moves(clipped, choice), index, number)
            for index, step in enumerate(left)
            for number, choice in enumerate(step.choices)
        )
        step = left.pop(index)
        clipped = step.choices[number]
        yield replace(step, points=clipped, moves=moves)


def _moves(clipped: tuple[str, str], points: tuple[str, str]) -> int:
    return len(set(points) - set(clipped))


def _path(start: str, end: str, pins: dict[str, tuple[str, str]]) -> Step:
    choices = tuple((a, b) for a in pins[start] for b in dict.fromkeys(pins[end]))
    purpose = Purpose.COIL_TO_CASE if end == CASE else Purpose.COIL_TO_COIL
    return Step(purpose, start, end, choices[0], choices)


def _near_zero(band: Band) -> float:
    """Half the lowest sound resistance, but no less than a tip and two leads can show."""
    half = float(band.low.m_as("ohm")) / 2
    return min(max(half, NEAR_ZERO_LEAST_OHM), NEAR_ZERO_MOST_OHM)
