"""The steps of a walk: which two points to clip, and what the reading is for."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

from coilmeter.compute.paths import required_paths
from coilmeter.values import CASE, Band, HeadKind, Purpose

CLIPS = ("clip", "clip")
"""What the two points of a lead null are: the clips themselves."""

ANY = "any"
"""The band of a coil of which nothing is known: everything reads like it."""

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
    coil_ohm
        For a path: from the lowest to the highest resistance of a sound coil of this head.
    open_above_ohm
        For a coil: an OL on a lower range than this does not show that it is open.

    """

    purpose: Purpose
    coil: str
    other: str
    points: tuple[str, str]
    choices: tuple[tuple[str, str], ...]
    near_zero_ohm: float = NEAR_ZERO_MOST_OHM
    moves: int = 2
    coil_ohm: tuple[float, float] | None = None
    open_above_ohm: float = 0.0

    @property
    def key(self) -> str:
        """What is measured, as a name that is the same in every run."""
        return key_of(self.purpose, self.coil, self.other)

    def reads_like_a_coil(self, ohm: float) -> bool:
        """Whether a value on this path is what a sound coil of the head reads."""
        return self.coil_ohm is not None and self.coil_ohm[0] <= ohm <= self.coil_ohm[1]

    @property
    def where(self) -> str:
        """The two points, in words."""
        if self.purpose is Purpose.LEAD_NULL:
            return "the two clips together"
        first, second = (point if point == CASE else f"pin {point}" for point in self.points)
        return f"{first} and {second}"


def key_of(purpose: Purpose, coil: str, other: str) -> str:
    """Name of what is measured, the same in every run and in a readings file."""
    if purpose is Purpose.LEAD_NULL:
        return "leads"
    return f"{coil} to {other}" if other else f"coil {coil}"


def plan(
    kind: HeadKind,
    bands: dict[str, Band],
    *,
    lead_null: bool = True,
    isolation: bool = True,
    done: Collection[str] = (),
    coils_first: bool = False,
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
    coils_first
        Whether all coils come before all paths, for a meter whose range is turned by hand:
        more clip moves, one turn of the switch.
    done
        Keys of steps that were taken in an earlier run.  They come first, and what is left
        begins with the clips in the air.

    """
    coils = [
        Step(
            Purpose.COIL,
            coil.name,
            "",
            coil.pins,
            (coil.pins,),
            _near_zero(bands[coil.name]),
            open_above_ohm=bands[coil.name].limits_ohm[3],
        )
        for coil in kind.coils
    ]
    pins = {coil.name: coil.pins for coil in kind.coils} | {CASE: (CASE, CASE)}
    known = [band.limits_ohm for band in bands.values() if band.name != ANY]
    coil_ohm = (
        (min(ends[1] for ends in known), max(ends[2] for ends in known)) if known else None
    )
    paths = [
        replace(_path(start, end, pins), coil_ohm=coil_ohm)
        for start, end in (required_paths(kind, [*pins][:-1]) if isolation else ())
    ]
    leads = [Step(Purpose.LEAD_NULL, "", "", CLIPS, (CLIPS,))] if lead_null else []
    ordered: list[Step] = []
    for is_done in (True, False):
        ordered += [step for step in leads if (step.key in done) is is_done]
        for group in (coils, paths) if coils_first else ([*coils, *paths],):
            here = [step for step in group if (step.key in done) is is_done]
            ordered += few_moves(here, ordered[-1].points if ordered and coils_first else None)
    return ordered


def few_moves(steps: Sequence[Step], clipped: tuple[str, str] | None = None) -> list[Step]:
    """Order steps so that few clips are moved, from where they are, or from the air.

    From each step to begin with, the way goes on to whatever moves fewest clips; the best of
    these ways is taken, the earliest in the given order among equals.
    """
    ways = [
        [
            replace(step, points=choice, moves=moves_between(clipped or ("", ""), choice)),
            *_nearest(step, choice, steps),
        ]
        for step in steps
        for choice in step.choices
    ]
    return min(ways, key=lambda way: sum(step.moves for step in way), default=[])


def _nearest(first: Step, clipped: tuple[str, str], steps: Sequence[Step]) -> Iterator[Step]:
    """Go from a first step through the others, always to one that moves fewest clips."""
    left = [step for step in steps if step is not first]
    while left:
        moves, index, number = min(
            (moves_between(clipped, choice), index, number)
            for index, step in enumerate(left)
            for number, choice in enumerate(step.choices)
        )
        step = left.pop(index)
        clipped = step.choices[number]
        yield replace(step, points=clipped, moves=moves)


def moves_between(clipped: tuple[str, ...], points: tuple[str, str]) -> int:
    """How many clips have to be moved; from the air, where none is clipped, both."""
    return len(set(points) - set(clipped))


def _path(start: str, end: str, pins: dict[str, tuple[str, str]]) -> Step:
    choices = tuple((a, b) for a in pins[start] for b in dict.fromkeys(pins[end]))
    purpose = Purpose.COIL_TO_CASE if end == CASE else Purpose.COIL_TO_COIL
    return Step(purpose, start, end, choices[0], choices)


def _near_zero(band: Band) -> float:
    """Half the lowest sound resistance, but no less than a tip and two leads can show."""
    half = float(band.low.m_as("ohm")) / 2
    return min(max(half, NEAR_ZERO_LEAST_OHM), NEAR_ZERO_MOST_OHM)
