"""Which test comes next: most information a minute, with a look ahead."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from coilmeter.compute.chain_model import Floats, Model
from coilmeter.compute.chain_rollout import LEAST_BITS, Flags, Table, after, greedy_minutes
from coilmeter.values.chains import ChainTest, Outcome

_MASS: Final = 0.999
_MOST_STATES: Final = 400
"""Combinations looked at when tests are compared: all but a thousandth of the probability,
and this many at most."""

NEAR: Final = 1.02
"""Minutes to go that differ by less than this factor are as good as the same (own): weights
and chances are not known better."""

_TWO_AHEAD: Final = (8, 5)
_THREE_AHEAD: Final = (8, 6, 5)
_FEW: Final = 6
"""How many tests are tried at each step of the look-ahead, the best by bits a minute; one step
more where few tests are left."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A test that could come next.

    Parameters
    ----------
    test, minutes
        Which, and what it costs.
    bits
        Information it is expected to give.
    outcomes
        Probability of each of its outcomes.
    minutes_to_go
        Expected minutes until a suspect is sure, this test included; infinite where it was
        not looked ahead from.

    """

    test: ChainTest
    minutes: float
    bits: float
    outcomes: tuple[tuple[Outcome, float], ...]
    minutes_to_go: float

    @property
    def rate(self) -> float:
        """Bits a minute."""
        return self.bits / self.minutes


def telling(
    model: Model, combinations: Floats, tests: Sequence[ChainTest], *, loose: bool = False
) -> list[Candidate]:
    """Give the tests that can split the suspects, most bits a minute first.

    Parameters are those of `candidates`; nothing is looked ahead.
    """
    return _ranked(model, combinations, tests, loose=loose, breadths=())


def candidates(
    model: Model, combinations: Floats, tests: Sequence[ChainTest], *, loose: bool = False
) -> list[Candidate]:
    """Rank the tests that can split the suspects, the one to make next first.

    The best by bits a minute are looked ahead from, over the tests that could come second;
    what is left after that is reckoned as going on with most bits a minute.  The test with
    the fewest expected minutes until a suspect is sure comes first; of several that are as
    good as that (`NEAR`), the cheapest.

    Parameters
    ----------
    model
        The chain.
    combinations
        Probability of each combination of broken links.
    tests
        Those that may be made.
    loose
        Whether the head is out of the machine.

    Returns
    -------
    list of Candidate
        Empty where no test can tell anything.

    """
    steps = _THREE_AHEAD if len(tests) <= _FEW else _TWO_AHEAD
    return _ranked(model, combinations, tests, loose=loose, breadths=steps)


def _ranked(
    model: Model,
    combinations: Floats,
    tests: Sequence[ChainTest],
    *,
    loose: bool,
    breadths: Sequence[int],
) -> list[Candidate]:
    if not tests:
        return []
    states, row = _that_matter(combinations)
    table = Table.of(model, tests, states, loose=loose)
    outcomes, bits = (each[0] for each in table.told(row))
    to_go = np.full(len(tests), np.inf)
    if breadths:
        to_go = first_minutes(table, row, breadths)
    found = [
        Candidate(
            test=test,
            minutes=float(table.minutes[place]),
            bits=float(bits[place]),
            outcomes=tuple(
                zip(test.meanings, map(float, outcomes[table.of_test == place]), strict=True)
            ),
            minutes_to_go=float(to_go[place]),
        )
        for place, test in enumerate(tests)
        if bits[place] >= LEAST_BITS
    ]
    fewest = min((each.minutes_to_go for each in found), default=0.0)

    def rank(each: Candidate) -> tuple[float, ...]:
        near = each.minutes_to_go <= NEAR * fewest < np.inf
        return (0.0, each.minutes, each.minutes_to_go) if near else (1.0, each.minutes_to_go)

    return sorted(found, key=lambda each: (*rank(each), -each.rate))


def first_minutes(table: Table, row: Floats, breadths: Sequence[int]) -> Floats:
    """Reckon the minutes until a suspect is sure, for each test to begin with.

    Infinite for tests that were not tried.

    Parameters
    ----------
    table
        The tests.
    row
        One posterior.
    breadths
        How many tests are tried at each step.

    """
    left = np.ones((1, len(table.minutes)), dtype=bool)
    tried = _tried(table, row, left, np.ones(1), breadths, needed=np.ones(1, dtype=bool))
    return np.asarray(tried[0])


def _minutes_to_go(
    table: Table, rows: Floats, left: Flags, weights: Floats, breadths: Sequence[int]
) -> Floats:
    """Reckon the minutes until a suspect is sure, from many posteriors at once."""
    if not breadths:
        return greedy_minutes(table, rows, left, weights)
    _, bits = table.told(rows)
    useful = left & (bits >= LEAST_BITS)
    needed = useful.any(axis=1) & ~table.sure(rows, useful)
    tried = _tried(table, rows, left, weights, breadths, needed=needed)
    return np.where(needed, tried.min(axis=1), 0.0)


def _tried(
    table: Table,
    rows: Floats,
    left: Flags,
    weights: Floats,
    breadths: Sequence[int],
    *,
    needed: Flags,
) -> Floats:
    """Try the best tests from each row that needs one: minutes to go with each."""
    outcomes, bits = table.told(rows)
    useful = left & (bits >= LEAST_BITS) & needed[:, None]
    rates = np.where(useful, bits / table.minutes, -1.0)
    order = np.argsort(-rates, axis=1, kind="stable")[:, : breadths[0]]
    origin, rank = np.nonzero(np.take_along_axis(rates, order, axis=1) > 0)
    test = order[origin, rank]
    then = after(table, rows[origin], left[origin], outcomes[origin], test)
    reach = weights[origin][then.parent] * then.chance
    minutes = table.minutes[test].copy()
    to_go = _minutes_to_go(table, then.rows, then.left, reach, breadths[1:])
    np.add.at(minutes, then.parent, then.chance * to_go)
    tried = np.full(rates.shape, np.inf)
    tried[origin, test] = minutes
    return tried


def _that_matter(combinations: Floats) -> tuple[NDArray[np.intp], Floats]:
    """Take the most probable combinations, until next to nothing is left out."""
    states = np.argsort(-combinations, kind="stable")[:_MOST_STATES]
    if len(states) < len(combinations):
        most = int(np.searchsorted(np.cumsum(combinations[states]), _MASS)) + 1
        states = states[:most]
    chosen = combinations[states]
    return states, (chosen / chosen.sum())[None, :]
