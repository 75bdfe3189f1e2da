"""Many posteriors at once: what tests would tell, when one may stop, how long it takes.

A state is a combination of broken links that matters; a posterior is a row of probabilities
of states.  All functions take many rows at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from coilmeter.compute.chain_model import Floats, Model
from coilmeter.values.chains import ChainTest

Flags = NDArray[np.bool_]

LEAST_BITS: Final = 0.02
"""A test that tells less than this cannot split the suspects (own)."""

SURE: Final = 0.95
SUREST: Final = 0.98
SURE_AT_THE_END: Final = 0.9
"""Probability that is enough for the cheapest repair, for any repair, and where no test is
left that could tell more (own)."""

NEGLIGIBLE: Final = 0.002
"""Branches rarer than this are not followed (own)."""


class Table:
    """Tests over the states that matter.

    Parameters
    ----------
    chances
        Probability of each outcome in each state: a row an outcome of a test.
    of_test
        To which test each of these rows belongs.
    minutes
        Cost of each test.
    broken
        Which links are broken in each state, as 0 and 1: a row a state.
    repair_minutes
        Of each link.

    """

    def __init__(
        self,
        *,
        chances: Floats,
        of_test: NDArray[np.intp],
        minutes: Floats,
        broken: Floats,
        repair_minutes: Floats,
    ) -> None:
        self.chances = chances
        self.of_test = of_test
        self.minutes = minutes
        self.broken = broken
        self.repair_minutes = repair_minutes
        self._nothing = broken.sum(axis=1) == 0
        self._per_test = (of_test[:, None] == np.arange(len(minutes))).astype(float)
        self._own_bits = (self._per_test.T @ _bits(chances)).T

    @classmethod
    def of(
        cls,
        model: Model,
        tests: Sequence[ChainTest],
        states: NDArray[np.intp],
        *,
        loose: bool = False,
    ) -> Table:
        """Make the table of tests over states, which are combinations of the model."""
        rows = [
            model.likelihood(test, outcome)[states]
            for test in tests
            for outcome in test.meanings
        ]
        return cls(
            chances=np.array(rows).reshape(-1, len(states)),
            of_test=np.repeat(np.arange(len(tests)), [len(test.meanings) for test in tests]),
            minutes=np.array([test.cost(loose=loose) for test in tests]),
            broken=model.broken[states].astype(float),
            repair_minutes=np.array([link.repair_minutes for link in model.chain.links]),
        )

    def told(self, rows: Floats) -> tuple[Floats, Floats]:
        """Give the chance of each outcome, and the bits each test is expected to tell.

        The bits are the mutual information of outcome and state: the entropy of the outcome
        less the entropy that it has in each state.
        """
        outcomes = rows @ self.chances.T
        bits = _bits(outcomes) @ self._per_test - rows @ self._own_bits
        return outcomes, np.maximum(bits, 0.0)

    def sure(self, rows: Floats, useful: Flags) -> Flags:
        """Whether one suspect is sure enough for its cost, given the tests that tell more.

        Nothing broken at all counts as a suspect that costs nothing.
        """
        broken = rows @ self.broken
        best = np.argmax(broken, axis=1)
        cheapest = np.where(useful, self.minutes, np.inf).min(axis=1, initial=np.inf)
        needed = enough(self.repair_minutes[best], cheapest)
        nothing = rows @ self._nothing
        return np.asarray((broken[np.arange(len(rows)), best] >= needed) | (nothing >= SURE))


def enough(repair_minutes: Floats, test_minutes: Floats) -> Floats:
    """Probability at which a repair comes before one more test.

    A repair that was not needed wastes its minutes.  Where that risk costs less than the
    cheapest test that still tells something, the repair comes first.

    Parameters
    ----------
    repair_minutes
        Of the repair.
    test_minutes
        Of the cheapest test that tells more; infinite where there is none.

    """
    risk = 1 - np.minimum(test_minutes, repair_minutes) / repair_minutes
    return np.where(np.isinf(test_minutes), SURE_AT_THE_END, np.clip(risk, SURE, SUREST))


def greedy_minutes(table: Table, rows: Floats, left: Flags, weights: Floats) -> Floats:
    """Minutes until a suspect is sure, going on with most bits a minute.

    Parameters
    ----------
    table
        The tests.
    rows
        Posteriors to begin with.
    left
        Which tests are left, for each of them.
    weights
        How probable it is to get there; what is negligible is not followed.

    Returns
    -------
    array
        Expected minutes, for each row.

    """
    minutes = np.zeros(len(rows))
    origin, reach = np.arange(len(rows)), np.ones(len(rows))
    while len(rows):
        outcomes, bits = table.told(rows)
        useful = left & (bits >= LEAST_BITS)
        going = useful.any(axis=1) & ~table.sure(rows, useful)
        going &= reach * weights[origin] > NEGLIGIBLE
        origin, reach, outcomes = origin[going], reach[going], outcomes[going]
        rates = np.where(useful[going], bits[going] / table.minutes, -1.0)
        chosen = np.argmax(rates, axis=1)
        np.add.at(minutes, origin, reach * table.minutes[chosen])
        then = after(table, rows[going], left[going], outcomes, chosen)
        rows, left = then.rows, then.left
        origin, reach = origin[then.parent], reach[then.parent] * then.chance
    return minutes


@dataclass(frozen=True, slots=True, eq=False)
class After:
    """What comes after tests: a row for every outcome.

    Parameters
    ----------
    rows, left
        Posteriors, and the tests that are left then.
    parent
        Which of the rows before each comes from.
    chance
        Its probability there.

    """

    rows: Floats
    left: Flags
    parent: NDArray[np.intp]
    chance: Floats


def after(
    table: Table, rows: Floats, left: Flags, outcomes: Floats, chosen: NDArray[np.intp]
) -> After:
    """Follow one test from each row into all of its outcomes.

    Parameters
    ----------
    table
        The tests.
    rows, left, outcomes
        Posteriors, the tests left, and the chances of all outcomes, a row each.
    chosen
        The test made from each row.

    """
    parent, outcome = np.nonzero((chosen[:, None] == table.of_test) & (outcomes > 0))
    chance = outcomes[parent, outcome]
    left = left[parent]
    left[np.arange(len(parent)), chosen[parent]] = False
    return After(
        rows=rows[parent] * table.chances[outcome] / chance[:, None],
        left=left,
        parent=parent,
        chance=chance,
    )


def _bits(chances: Floats) -> Floats:
    return np.asarray(-chances * np.log2(np.where(chances > 0, chances, 1.0)))
