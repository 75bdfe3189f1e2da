"""Which head could take the place of another: same coils, same pins, nearest figures.

How far a head is off is told in match limits: a deviation of resistance counts in parts of
5 %, one of inductance in parts of 10 %, and the coil that is furthest off counts for all.
Ohms cannot show that two heads are of one make: track width, gap and mounting are looked at.
"""

from __future__ import annotations

import math
import statistics
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

RESISTANCE_LIMIT: Final = 0.05
INDUCTANCE_LIMIT: Final = 0.10
"""Deviations up to which siblings are matched (the tool's own defaults, no published ones)."""

SAME_FREQUENCY: Final = 0.01
"""Inductances are compared where their frequencies differ by no larger part."""

_OTHER_PINS: Final = 1e6
"""Cost of other pins in an assignment: more than any deviation."""


@dataclass(frozen=True, slots=True)
class CoilFigures:
    """What one coil is compared by.

    Parameters
    ----------
    coil, role, band
        Its name, role, and the band that is expected of it.
    sound
        Whether it stands for what it is meant to be: intact, and like its siblings.
    pins
        Its two pins; empty where not known.
    ohm
        Resistance at 20 degC in ohm; None where not known.
    henry, hertz
        Inductance in henry and the frequency it was read at; None where not known.
    suspect
        Whether inductance or Q speak against it.

    """

    coil: str
    role: str
    band: str
    pins: frozenset[str] = frozenset()
    sound: bool = True
    ohm: float | None = None
    henry: float | None = None
    hertz: float | None = None
    suspect: bool = False

    @property
    def sort(self) -> tuple[str, str]:
        """Role and band: what a coil in its place must have alike."""
        return self.role, self.band


@dataclass(frozen=True, slots=True)
class PairOfCoils:
    """A coil, the one in its place, and by which fractions that one is off; None unknown."""

    coil: str
    other: str
    resistance: float | None
    inductance: float | None


@dataclass(frozen=True, slots=True)
class Fit:
    """How one head fits in the place of another.

    Parameters
    ----------
    same_pins
        Whether each coil sits on the pins of the one it replaces.
    pairs
        Coil by coil.
    distance
        The furthest deviation, in match limits; 1 is just matched.

    """

    same_pins: bool
    pairs: tuple[PairOfCoils, ...]
    distance: float

    @property
    def rank(self) -> tuple[bool, float]:
        """Sorts the better fit first: same pins, then the smaller distance."""
        return (not self.same_pins, self.distance)


def when_sound(coils: Sequence[CoilFigures]) -> tuple[CoilFigures, ...]:
    """Figures that the coils of a head had when it was sound, as far as its rest tells.

    A sound coil stands for itself; any other for the median of the sound ones of its role and
    band.  Where none is sound, what it was is not known.
    """
    return tuple(_sound(coil, coils) for coil in coils)


def total_ohm(coils: Sequence[CoilFigures]) -> float | None:
    """Sum of the resistances; None where one is not known."""
    known = [coil.ohm for coil in coils if coil.ohm is not None]
    return math.fsum(known) if known and len(known) == len(coils) else None


def least_distance(total: float, other_total: float) -> float:
    """Least distance of two heads that follows from their total resistances alone.

    Where every coil is off by a fraction f at most, so is the sum.
    """
    return abs(other_total / total - 1) / RESISTANCE_LIMIT


def fit(wanted: Sequence[CoilFigures], other: Sequence[CoilFigures]) -> Fit | None:
    """Fit the coils of another head in the places of the wanted ones.

    None where they are not of the same roles and bands.  On other pins, the channels are
    paired so that the deviations are least, by linear assignment.
    """
    if Counter(coil.sort for coil in wanted) != Counter(coil.sort for coil in other):
        return None
    by_pins = {(*coil.sort, coil.pins): coil for coil in other if coil.pins}
    matching = [by_pins.get((*coil.sort, coil.pins)) for coil in wanted]
    mates = [mate for mate in matching if mate is not None]
    same_pins = len(mates) == len(wanted)
    if not same_pins:
        mates = _best_channels(wanted, other)
    pairs = [_pair(coil, mate) for coil, mate in zip(wanted, mates, strict=True)]
    return Fit(same_pins, tuple(pairs), max(map(_distance, pairs), default=0.0))


def assign(fits: Sequence[Sequence[Fit | None]]) -> list[int | None]:
    """Give each wanted head another of its own, so that the sum of the distances is least.

    Parameters
    ----------
    fits
        For each wanted head, how each of the others fits; None where it does not.

    Returns
    -------
    list
        For each wanted head the index of the other, None where none is left that fits.

    Source: rectangular linear assignment, solved exactly by `scipy.optimize`.

    """
    from scipy.optimize import linear_sum_assignment  # noqa: PLC0415 - slow, and seldom needed

    if not fits or not fits[0]:
        return [None] * len(fits)
    impossible = _OTHER_PINS * 1e3
    cost = np.array(
        [[impossible if each is None else _cost(each) for each in row] for row in fits]
    )
    rows, columns = linear_sum_assignment(cost)
    chosen: list[int | None] = [None] * len(fits)
    for row, column in zip(rows.tolist(), columns.tolist(), strict=True):
        chosen[row] = column if fits[row][column] is not None else None
    return chosen


def _cost(fit_: Fit) -> float:
    return min(fit_.distance, _OTHER_PINS / 2) + (0.0 if fit_.same_pins else _OTHER_PINS)


def _sound(coil: CoilFigures, coils: Sequence[CoilFigures]) -> CoilFigures:
    if coil.sound:
        return coil
    like = [each for each in coils if each.sound and each.sort == coil.sort]
    ohms = [each.ohm for each in like if each.ohm is not None]
    henries = [each.henry for each in like if each.henry is not None]
    return replace(
        coil,
        ohm=statistics.median(ohms) if ohms else None,
        henry=statistics.median(henries) if henries else None,
        hertz=next((each.hertz for each in like if each.henry is not None), None),
    )


def _best_channels(
    wanted: Sequence[CoilFigures], other: Sequence[CoilFigures]
) -> list[CoilFigures]:
    """Others in the order of the wanted coils, each of its sort, deviations least."""
    mates: dict[int, CoilFigures] = {}
    for sort in {coil.sort for coil in wanted}:
        mine = [index for index, coil in enumerate(wanted) if coil.sort == sort]
        theirs = [coil for coil in other if coil.sort == sort]
        mates |= zip(mine, _paired([wanted[index] for index in mine], theirs), strict=True)
    return [mates[index] for index in range(len(wanted))]


def _paired(mine: list[CoilFigures], theirs: list[CoilFigures]) -> Iterator[CoilFigures]:
    if len(mine) == 1:
        yield from theirs
        return
    from scipy.optimize import linear_sum_assignment  # noqa: PLC0415 - slow, and seldom needed

    cost = [[_distance(_pair(coil, mate)) for mate in theirs] for coil in mine]
    _, columns = linear_sum_assignment(np.array(cost))
    yield from (theirs[column] for column in columns.tolist())


def _pair(coil: CoilFigures, mate: CoilFigures) -> PairOfCoils:
    same_frequency = (
        coil.hertz is not None
        and mate.hertz is not None
        and math.isclose(coil.hertz, mate.hertz, rel_tol=SAME_FREQUENCY)
    )
    return PairOfCoils(
        coil.coil,
        mate.coil,
        _deviation(coil.ohm, mate.ohm),
        _deviation(coil.henry, mate.henry) if same_frequency else None,
    )


def _deviation(wanted: float | None, found: float | None) -> float | None:
    if wanted is None or found is None or wanted <= 0:
        return None
    return found / wanted - 1


def _distance(pair: PairOfCoils) -> float:
    return max(
        abs(pair.resistance or 0.0) / RESISTANCE_LIMIT,
        abs(pair.inductance or 0.0) / INDUCTANCE_LIMIT,
    )
