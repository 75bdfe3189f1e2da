"""Repairs of invented machines: faults drawn by their weights, tests that err as they may.

The tool's own order of tests is set against three fixed ones.  All four reckon alike, stop by
the same rule, and leave out tests that can tell nothing more: only the order differs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from coilmeter.compute.chain_diagnosis import Verdict
from coilmeter.compute.chain_model import Floats, Model, complaint
from coilmeter.compute.chain_next import Candidate, candidates, telling
from coilmeter.compute.chain_posterior import posterior
from coilmeter.compute.chain_rollout import SURE, SURE_AT_THE_END, enough
from coilmeter.values.chains import ChainMap, ChainTest, Outcome

TRACK: Final = "1"
HOUR: Final = 60.0

Done = frozenset[tuple[str, Outcome]]


@dataclass(frozen=True, slots=True)
class Outlook:
    """What is known after some tests.

    Parameters
    ----------
    verdict
        Test, repair, nothing broken or undecided.
    best
        Place of the most probable link.
    ranked
        Places of the links, the most probable first.
    tests
        Those that tell more, the tool's choice first.

    """

    verdict: Verdict
    best: int
    ranked: tuple[int, ...]
    tests: tuple[Candidate, ...]


@dataclass(frozen=True, slots=True)
class Figures:
    """What came of many repairs by one order of tests; shares and minutes are means.

    Parameters
    ----------
    right, wrong
        Share in which the link that was named was broken, and was not.
    undecided, first_right
        Share in which none was named; part of it in which the first of the suspects was it.
    within_an_hour
        Share in which a link that was broken had been reached after an hour of tests and of
        repairs that were not needed.
    test_minutes
        Minutes of tests.
    wasted_minutes
        Minutes of repairs that were not needed, in the order of the suspects.

    """

    right: float
    wrong: float
    undecided: float
    first_right: float
    within_an_hour: float
    test_minutes: float
    wasted_minutes: float

    @property
    def minutes(self) -> float:
        """Minutes of tests and of repairs that were not needed."""
        return self.test_minutes + self.wasted_minutes


def fixed_orders(chain: ChainMap) -> dict[str, list[ChainTest]]:
    """Give three orders that a person could hold to."""
    places = {link.name: place for place, link in enumerate(chain.links)}

    def first(test: ChainTest) -> int:
        return min(places[link] for signal in test.signals for link in signal.chances)

    def sees(test: ChainTest) -> int:
        return -sum(len(signal.certain) for signal in test.signals)

    return {
        "cheapest first": sorted(chain.tests, key=lambda test: test.minutes),
        "along the signal": sorted(chain.tests, key=first),
        "most detecting first": sorted(chain.tests, key=sees),
    }


class Workshop:
    """Repairs of machines with one complaint.

    Parameters
    ----------
    chain
        The map.

    """

    def __init__(self, chain: ChainMap) -> None:
        self.chain = chain
        self.model = Model(chain)
        self._start = posterior(self.model, [complaint(TRACK)], TRACK).combinations
        self._outlooks: dict[tuple[Done, bool], Outlook] = {}
        self._chances = {
            (test.name, outcome): self.model.likelihood(test, outcome)
            for test in chain.tests
            for outcome in test.meanings
        }
        self._repair = np.array([link.repair_minutes for link in chain.links])

    def drawn(self, count: int, seed: int) -> list[int]:
        """Draw combinations of broken links as the complaint leaves them."""
        rng = np.random.default_rng(seed)
        return [int(each) for each in rng.choice(self.model.size, size=count, p=self._start)]

    def outlook(self, done: Done, *, ahead: bool = True) -> Outlook:
        """Reckon what is known after some tests; a fixed order need not look ahead."""
        key = (done, ahead)
        if key not in self._outlooks:
            row = self._start.copy()
            for each in sorted(done):
                row = row * self._chances[each]
            made = {name for name, _ in done}
            self._outlooks[key] = self._outlook(row / row.sum(), made, ahead=ahead)
        return self._outlooks[key]

    def repaired(
        self, faults: Sequence[int], seed: int, order: Sequence[ChainTest] | None = None
    ) -> Figures:
        """Repair machines, by the tool's order or by a fixed one."""
        rng = np.random.default_rng(seed)
        each = np.array([self._one(fault, rng, order) for fault in faults])
        return Figures(*map(float, each.mean(axis=0)))

    def _one(
        self, fault: int, rng: np.random.Generator, order: Sequence[ChainTest] | None
    ) -> tuple[float, ...]:
        done: Done = frozenset()
        spent = 0.0
        while True:
            outlook = self.outlook(done, ahead=order is None)
            if outlook.verdict is not Verdict.TEST:
                break
            test = outlook.tests[0].test if order is None else _first(order, outlook)
            outcomes = list(test.meanings)
            chances = [float(self._chances[test.name, each][fault]) for each in outcomes]
            shown = outcomes[rng.choice(len(outcomes), p=chances)]
            done |= {(test.name, shown)}
            spent += test.minutes
        named = outlook.verdict is not Verdict.UNDECIDED
        right = (
            fault == 0
            if outlook.verdict is Verdict.NOTHING
            else bool(fault >> outlook.best & 1)
        )
        wasted = 0.0 if named and right else self._wasted(fault, outlook)
        return (
            named and right,
            named and not right,
            not named,
            not named and right,
            spent + wasted <= HOUR and (fault != 0 or right),
            spent,
            wasted,
        )

    def _wasted(self, fault: int, outlook: Outlook) -> float:
        """Minutes of repairs before one that was needed; of the first where none was."""
        wasted = 0.0
        for place in outlook.ranked:
            if fault >> place & 1:
                break
            wasted += float(self._repair[place])
            if fault == 0:
                break
        return wasted

    def _outlook(self, row: Floats, made: set[str], *, ahead: bool) -> Outlook:
        tests = [test for test in self.chain.tests if test.name not in made]
        found = (candidates if ahead else telling)(self.model, row, tests)
        broken = row @ self.model.broken
        ranked = tuple(int(place) for place in np.argsort(-broken, kind="stable"))
        best = ranked[0]
        cheapest = min((each.minutes for each in found), default=np.inf)
        needed = enough(self._repair[[best]], np.array([cheapest]))[0]
        if row[0] >= (SURE if found else SURE_AT_THE_END):
            verdict = Verdict.NOTHING
        elif broken[best] >= needed:
            verdict = Verdict.REPAIR
        else:
            verdict = Verdict.TEST if found else Verdict.UNDECIDED
        return Outlook(verdict, best, ranked, tuple(found))


def _first(order: Sequence[ChainTest], outlook: Outlook) -> ChainTest:
    names = {each.test.name for each in outlook.tests}
    return next(test for test in order if test.name in names)
