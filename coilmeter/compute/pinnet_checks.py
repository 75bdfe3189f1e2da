"""Readings that cannot all be right, whatever the network is.

The resistance between two points is never above that of any way over other points that were
read (the triangle inequality of resistance distance), and so an OL between two points that
other readings connect is refuted too.

Source: D. J. Klein and M. Randic, Resistance distance, J. Math. Chem. 12 (1993) 81-95.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from coilmeter.compute.pinnet_apart import combination
from coilmeter.compute.pinnet_pairs import Pair, Pairs
from coilmeter.compute.pinnet_solve import Solved
from coilmeter.units import format_ohm
from coilmeter.values.pinmaps import Contradiction, PinPair

BEYOND_SIGMAS: Final = 4.0
"""A way that is shorter than the direct reading by more than so many u refutes it.

There are hundreds of such sums in a field of sixteen pins: at four, hardly any is called
refuted by chance.
"""


@dataclass(slots=True)
class _Ways:
    """Shortest way between each two points over what was read, and its last step."""

    ohm: dict[tuple[str, str], float]
    before: dict[tuple[str, str], str]

    def steps(self, start: str, end: str) -> list[tuple[str, str]]:
        """Pairs along the way."""
        steps = []
        while end != start:
            middle = self.before[start, end]
            steps.append((middle, end))
            end = middle
        return steps[::-1]


def refuted(pairs: Pairs) -> list[Contradiction]:
    """Find readings that other readings refute, each with the readings concerned."""
    ways = _ways(pairs)
    found: list[Contradiction] = []
    seen: set[frozenset[PinPair]] = set()
    for pair in pairs.by_pins.values():
        steps = _shorter(pairs, ways, pair)
        if not steps:
            continue
        concerned = (pair.pins, *(pairs.field.pair(*step) for step in steps))
        if frozenset(concerned) in seen:
            continue
        seen.add(frozenset(concerned))
        over = [pairs.of(*step) for step in steps]
        told = ", ".join(each.readings[-1].told for each in over)
        found.append(
            Contradiction(
                concerned,
                f"{_told(pair)}, although {told}: over these it is "
                f"{format_ohm(math.fsum(_upper(each) for each in over))} at most",
            )
        )
    return found


def impossible(pairs: Pairs, solved: Solved) -> list[Contradiction]:
    """Name the readings among nodes that no network of resistors has together."""
    if solved.explains:
        return []
    among = [pair.pins for pair in _within(pairs, solved)]
    names = ", ".join(pin for node in solved.nodes for pin in node)
    told = "; ".join(pairs.of(*pins).readings[-1].told for pins in among)
    return [
        Contradiction(
            tuple(among), f"no network of resistors reads like this among pins {names}: {told}"
        )
    ]


def _within(pairs: Pairs, solved: Solved) -> Sequence[Pair]:
    points = {pin for node in solved.nodes for pin in node}
    return [pair for pair in pairs.by_pins.values() if set(pair.pins) <= points]


def _told(pair: Pair) -> str:
    """Name the reading of a pair that says the most: the highest."""
    return max(pair.readings, key=lambda reading: reading.ohm).told


def _upper(pair: Pair) -> float:
    return pair.below_ohm if pair.value is None else pair.value.ohm


def _lower(pair: Pair) -> float:
    return pair.above_ohm if pair.value is None else pair.value.ohm


def _shorter(pairs: Pairs, ways: _Ways, pair: Pair) -> list[tuple[str, str]]:
    """Give the steps of a way that refutes the reading of a pair; none where it may be so."""
    a, b = pair.pins
    lower = _lower(pair)
    if not lower or ways.ohm.get((a, b), math.inf) >= lower:
        return []
    steps = ways.steps(a, b)
    values = [value for step in steps if (value := pairs.of(*step).value) is not None]
    terms = [(-1.0, value) for value in values]
    if pair.value is not None:
        terms.append((1.0, pair.value))
    beeps = math.fsum(_upper(pairs.of(*step)) for step in steps) - math.fsum(
        value.ohm for value in values
    )
    above, u = combination(terms)
    above += (0.0 if pair.value is not None else lower) - beeps
    return steps if above > BEYOND_SIGMAS * u else []


def _ways(pairs: Pairs) -> _Ways:
    """Shortest ways between all points, by the algorithm of Floyd and Warshall."""
    ohm: dict[tuple[str, str], float] = {}
    before: dict[tuple[str, str], str] = {}
    points = sorted({pin for pair in pairs.by_pins.values() for pin in pair.pins})
    for pair in pairs.by_pins.values():
        reach = _upper(pair)
        if reach < math.inf:
            for a, b in (pair.pins, pair.pins[::-1]):
                ohm[a, b], before[a, b] = max(reach, 0.0), a
    for middle in points:
        for a in points:
            first = ohm.get((a, middle))
            if first is None or a == middle:
                continue
            for b in points:
                second = ohm.get((middle, b))
                if second is None or b in {a, middle}:
                    continue
                if first + second < ohm.get((a, b), math.inf):
                    ohm[a, b], before[a, b] = first + second, before[middle, b]
    return _Ways(ohm, before)
