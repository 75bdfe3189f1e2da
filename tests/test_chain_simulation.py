"""Simulated repairs: the tool against three fixed orders of tests, and its own promises."""

from __future__ import annotations

import functools

import numpy as np
import pytest
from chain_helpers import shipped_chains
from chain_simulation import Figures, Workshop, fixed_orders

from coilmeter.compute.chain_diagnosis import Bench, Verdict, diagnose
from coilmeter.compute.chain_model import complaint
from coilmeter.values.chains import Seen

COUNT = 300
FAULTS = pytest.mark.parametrize("fault", ["playback", "record", "erase"])


@functools.cache
def results(fault: str) -> dict[str, Figures]:
    """Repair the same machines by every order."""
    shop = Workshop(shipped_chains()[fault])
    faults = shop.drawn(COUNT, seed=7)
    found = {"the tool": shop.repaired(faults, seed=8)}
    for name, order in fixed_orders(shop.chain).items():
        found[name] = shop.repaired(faults, seed=8, order=order)
    return found


@FAULTS
def test_the_tool_is_quicker_than_every_fixed_order(fault: str) -> None:
    """Fewer minutes of tests, and of tests and needless repairs; more solved in an hour."""
    found = dict(results(fault))
    tool = found.pop("the tool")

    assert all(tool.test_minutes < each.test_minutes for each in found.values())
    assert all(tool.minutes < each.minutes for each in found.values())
    noise = 2 * (0.06 / COUNT) ** 0.5
    assert all(tool.within_an_hour > each.within_an_hour - noise for each in found.values())


@FAULTS
def test_the_tool_solves_as_many(fault: str) -> None:
    """Named right, or first among the undecided: no worse than any order, within the noise."""
    found = dict(results(fault))
    tool = found.pop("the tool")

    def solved(each: Figures) -> float:
        return each.right + each.first_right

    noise = 2 * (0.25 / COUNT) ** 0.5
    assert all(solved(tool) > solved(each) - noise for each in found.values())
    assert tool.right > 0.6


@FAULTS
def test_a_named_link_is_as_sure_as_it_says(fault: str) -> None:
    """It is named from 95 % on (90 where no test is left): so often it is right, or more."""
    tool = results(fault)["the tool"]

    assert tool.wrong / (tool.wrong + tool.right) < 0.07 + 2 * (0.07 * 0.93 / COUNT) ** 0.5


@FAULTS
def test_the_workshop_decides_as_the_program_does(fault: str) -> None:
    """The same verdict, suspects and next test after the same tests."""
    shop = Workshop(shipped_chains()[fault])
    rng = np.random.default_rng(3)
    for _ in range(12):
        done = set()
        for test in rng.permutation(np.array(shop.chain.tests, dtype=object))[:4]:
            done.add((test.name, list(test.meanings)[int(rng.integers(len(test.meanings)))]))
        seen = [complaint("1"), *(Seen(name, outcome, "1") for name, outcome in sorted(done))]

        outlook = shop.outlook(frozenset(done))
        found = diagnose(shop.model, seen, "1", Bench())

        assert outlook.verdict is found.by_odds
        assert shop.chain.links[outlook.best].name == found.ranked[0].link.name
        assert [each.test.name for each in outlook.tests] == [
            each.test.name for each in found.tests
        ]
        if outlook.verdict is Verdict.REPAIR:
            assert shop.chain.links[outlook.best] == found.verdict_links[0]
