"""The best pairs, or larger sets, among many heads: those whose coils differ least.

The spread of a set is how far the highest and the lowest of its heads are apart, as a part of
the middle between them, at the coil where that is most::

    spread = max over coils of 2 (max - min) / (max + min)

It never shrinks when a head is added, so that sets can be built up and left off early.  Which
sets to take, no head twice, is a set packing problem and solved exactly, by HiGHS through
`scipy.optimize.milp`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from coilmeter.errors import InputError

Floats = npt.NDArray[np.float64]

MOST_SETS: Final = 100_000
"""So many possible sets are weighed at most."""

_FIRST_REACH: Final = 1e-5
_GROWTH: Final = 4.0


@dataclass(frozen=True, slots=True)
class AlikeSet:
    """Heads that belong together, by their index, and their spread as a fraction."""

    members: tuple[int, ...]
    spread: float


def best_sets(
    resistances: Sequence[Sequence[float]], size: int, count: int, within: float
) -> list[AlikeSet]:
    """Find sets of heads that are most alike: as many as asked, then of the least total spread.

    Parameters
    ----------
    resistances
        In ohm, above zero: for each head those of its coils, coils of one place in one column.
    size
        Heads in a set, 2 at least.
    count
        Sets at most; no head is in two.
    within
        Largest spread of a set, a fraction.

    Raises
    ------
    InputError
        When more sets are possible than can be weighed.

    """
    if len(resistances) < size:
        return []
    ohm = np.array(resistances, float)
    reach = min(_FIRST_REACH, within)
    chosen: list[AlikeSet] = []
    weighed: list[AlikeSet] = []
    while True:
        weighed = _possible(ohm, size, reach)
        chosen = _packed(weighed, count, within) if weighed else []
        if len(chosen) == count or reach >= within:
            break
        reach = _further(ohm, size, reach, within)
    # A set with more spread than this cannot be in a better choice of as many: the others of
    # such a choice have together no less than the least spreads there are.
    spreads = sorted(each.spread for each in weighed)
    enough = sum(each.spread for each in chosen) - sum(spreads[: count - 1])
    if len(chosen) == count and enough > reach:
        chosen = _packed(_possible(ohm, size, min(enough, within)), count, within)
    return sorted(chosen, key=lambda each: (each.spread, each.members))


def spread_of(ohm: Floats) -> float:
    """Spread of the heads of one set, shape (heads, coils)."""
    high, low = ohm.max(axis=0), ohm.min(axis=0)
    both = high + low
    # Coils that read nothing, all of them, do not differ.
    return float(np.max(2 * (high - low) / np.where(both > 0, both, 1.0)))


def _further(ohm: Floats, size: int, reach: float, within: float) -> float:
    """Reach that weighs more sets, and no more than can be weighed."""
    low, high = reach, min(reach * _GROWTH, within)
    while _count(ohm, size, high) > MOST_SETS:
        high = (low + high) / 2
        if high <= low * (1 + 1e-6):
            _too_many()
    return high


def _possible(ohm: Floats, size: int, reach: float) -> list[AlikeSet]:
    found: list[AlikeSet] = []
    for members in _sets(ohm, size, reach):
        if len(found) >= MOST_SETS:
            _too_many()
        found.append(AlikeSet(tuple(sorted(members)), spread_of(ohm[list(members)])))
    return found


def _count(ohm: Floats, size: int, reach: float) -> int:
    count = 0
    for _ in _sets(ohm, size, reach):
        count += 1
        if count > MOST_SETS:
            break
    return count


def _too_many() -> None:
    raise InputError(
        f"more than {MOST_SETS} sets of these heads are about equally alike",
        hint="ask for fewer sets or smaller ones, a smaller --within, or fewer heads.",
    )


def _sets(ohm: Floats, size: int, reach: float) -> Iterator[list[int]]:
    """All sets of a size whose spread is within reach."""
    # 2 (q - 1) / (q + 1) <= reach, with q = max / min
    ratio = (2 + reach) / (2 - reach) * (1 + 1e-12)
    order = np.argsort(ohm[:, 0], kind="stable")
    ranked = ohm[order]
    ends = np.searchsorted(ranked[:, 0], ranked[:, 0] * ratio, side="right")

    def grow(members: list[int], low: Floats, high: Floats, end: int) -> Iterator[list[int]]:
        if len(members) == size:
            yield [int(order[index]) for index in members]
            return
        start = members[-1] + 1
        lows = np.minimum(ranked[start:end], low)
        highs = np.maximum(ranked[start:end], high)
        for offset in np.flatnonzero(np.all(highs <= lows * ratio, axis=1)).tolist():
            yield from grow([*members, start + offset], lows[offset], highs[offset], end)

    for first in range(len(ranked)):
        if ends[first] - first >= size:
            yield from grow([first], ranked[first], ranked[first], int(ends[first]))


def _packed(possible: Sequence[AlikeSet], count: int, within: float) -> list[AlikeSet]:
    """As many of the sets as asked, none overlapping, and of these the least total spread."""
    if not possible:
        return []
    if count == 1:
        return [min(possible, key=lambda each: (each.spread, each.members))]
    from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415 - slow
    from scipy.sparse import csr_array  # noqa: PLC0415 - as above

    members = sorted({index for each in possible for index in each.members})
    row_of = {index: row for row, index in enumerate(members)}
    rows = [row_of[index] for each in possible for index in each.members]
    columns = [column for column, each in enumerate(possible) for _ in each.members]
    shape = (len(members), len(possible))
    once = csr_array((np.ones(len(rows)), (rows, columns)), shape=shape)
    spreads = np.array([each.spread for each in possible])
    # One set more is worth more than all the spread that it can bring.
    worth = (count + 1) * max(within, float(spreads.max()))
    solved = milp(
        spreads - worth,
        integrality=np.ones(len(possible), dtype=np.int64),
        bounds=Bounds(0, 1),
        constraints=[
            LinearConstraint(once, -np.inf, 1),
            LinearConstraint(np.ones((1, len(possible))), -np.inf, count),
        ],
        options={"mip_rel_gap": 0.0},
    )
    if not solved.success:
        raise InputError(
            f"the best sets could not be found ({solved.message})", hint="ask for fewer."
        )
    return [possible[index] for index in np.flatnonzero(solved.x > 0.5).tolist()]  # noqa: PLR2004 - 0 or 1
