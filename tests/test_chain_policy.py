"""The next test: look-ahead against the best policy there is, and what is never proposed."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import functools
from collections.abc import Callable, Sequence

import numpy as np
import pytest
from chain_helpers import (
    diagnosed,
    link,
    make_chain,
    make_test,
    model_of,
    random_chain,
    said,
    with_priors,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from coilmeter.compute.chain_model import Floats, Model, complaint
from coilmeter.compute.chain_next import NEAR, candidates
from coilmeter.compute.chain_posterior import posterior
from coilmeter.compute.chain_rollout import (
    LEAST_BITS,
    SURE,
    SURE_AT_THE_END,
    SUREST,
    Table,
    enough,
)
from coilmeter.values.chains import ChainTest, Outcome, Seen

Choice = Callable[[Floats, Sequence[ChainTest]], ChainTest]


def looked_ahead(model: Model) -> Choice:
    """Choose as the program does."""

    def choose(row: Floats, tests: Sequence[ChainTest]) -> ChainTest:
        return candidates(model, row, tests)[0].test

    return choose


def minutes(model: Model, choose: Choice | None) -> float:
    """Reckon exactly the minutes until a suspect is sure: of a policy, or of the best one.

    The best policy is found by trying every test after every history (dynamic programming).
    """
    tests = model.chain.tests
    start = posterior(model, [complaint("1")], "1").combinations
    table = Table.of(model, tests, np.arange(model.size))

    @functools.cache
    def after(history: tuple[int, ...]) -> float:
        row = start * np.prod(table.chances[list(history)], axis=0)
        rows = (row / row.sum())[None, :]
        done = {int(table.of_test[each]) for each in history}
        left = np.array([[place not in done for place in range(len(tests))]])
        outcomes, bits = table.told(rows)
        useful = left & (bits >= LEAST_BITS)
        if not useful.any() or table.sure(rows, useful)[0]:
            return 0.0

        def with_test(place: int) -> float:
            return float(table.minutes[place]) + sum(
                float(outcomes[0, each]) * after(tuple(sorted((*history, int(each)))))
                for each in np.flatnonzero(table.of_test == place)
            )

        if choose is None:
            return min(with_test(int(place)) for place in np.flatnonzero(useful[0]))
        rest = [test for place, test in enumerate(tests) if left[0, place]]
        return with_test(tests.index(choose(rows[0], rest)))

    return after(())


@pytest.mark.parametrize("seed", range(40))
def test_look_ahead_is_within_five_percent_of_the_best(seed: int) -> None:
    """On small random chains its expected minutes come close to those of the best policy."""
    rng = np.random.default_rng(seed)
    links, tests = int(rng.integers(3, 7)), int(rng.integers(3, 7))
    model = Model(random_chain(rng, links, tests))

    best = minutes(model, None)

    assert best <= minutes(model, looked_ahead(model)) * (1 + 1e-9)
    assert minutes(model, looked_ahead(model)) <= 1.05 * best


def test_look_ahead_differs_from_most_bits_a_minute() -> None:
    """Over these chains, going by bits a minute alone costs more: looking ahead is of use."""
    ahead = greedy = 0.0
    for seed in range(40):
        rng = np.random.default_rng(seed)
        model = Model(random_chain(rng, int(rng.integers(3, 7)), int(rng.integers(3, 7))))

        def by_rate(row: Floats, tests: Sequence[ChainTest], model: Model = model) -> ChainTest:
            return max(candidates(model, row, tests), key=lambda each: each.rate).test

        ahead += minutes(model, looked_ahead(model))
        greedy += minutes(model, by_rate)

    assert greedy > 1.02 * ahead


def test_information_is_the_drop_of_entropy() -> None:
    """Bits of a test are the entropy before less the mean of the entropies after."""
    model = model_of("playback")
    seen = said("playback", "look=pass")
    before = posterior(model, seen, "3").combinations

    def entropy(p: Floats) -> float:
        some = p[p > 0]
        return -float(np.sum(some * np.log2(some)))

    for name in ("swap-at-plug", "ohms-at-plug", "hiss"):
        test = model.chain.test(name)
        afterwards = 0.0
        for outcome in test.meanings:
            joint = before * model.likelihood(test, outcome)
            afterwards += float(joint.sum()) * entropy(joint / joint.sum())
        (found,) = candidates(model, before, [test])

        # The program leaves out combinations that are a thousandth together.
        assert entropy(before) - afterwards == pytest.approx(found.bits, abs=0.02)


def test_a_test_that_cannot_split_the_suspects_is_never_proposed() -> None:
    """One that sees all alike, and one that sees none of the suspects, tell nothing."""
    links = [link("a"), link("b")]
    tests = [
        make_test("all", {"a": 0.9, "b": 0.9}, minutes=1),
        make_test("one", {"a": 0.9}, minutes=500),
    ]
    model = Model(make_chain(links, tests))
    seen = posterior(model, [complaint("1")], "1")

    assert ["one"] == [each.test.name for each in candidates(model, seen.combinations, tests)]
    assert [] == candidates(model, seen.combinations, [])


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_bits_are_never_more_than_an_outcome_can_hold(seed: int) -> None:
    """A yes or no holds one bit; outcomes are as probable as they sum up to."""
    model = Model(random_chain(np.random.default_rng(seed), 5, 5))
    row = posterior(model, [complaint("1")], "1").combinations

    for each in candidates(model, row, model.chain.tests):
        assert LEAST_BITS <= each.bits <= 1 + 1e-9
        assert 1 == pytest.approx(sum(chance for _, chance in each.outcomes))
        assert each.minutes_to_go >= each.minutes


def test_the_cheapest_of_equals_comes_first() -> None:
    """Two tests that see the same: the one of one minute, and among near ones too."""
    priors, names = [0.1, 0.1, 0.1], ["a", "b", "c"]
    links, several = with_priors(priors, names)
    tests = [
        make_test("dear", {"a": 0.95}, minutes=5),
        make_test("cheap", {"a": 0.95}, minutes=1),
    ]
    model = Model(make_chain(links, tests, several=several))
    row = posterior(model, [complaint("1")], "1").combinations

    assert "cheap" == candidates(model, row, tests)[0].test.name
    assert 1 < NEAR < 1.05


def test_a_loose_head_is_cheap_to_read() -> None:
    """Ohms at the head cost 8 minutes fitted and 2 in the hand, and come sooner then."""
    fitted = diagnosed("playback", "swap-at-plug=follows", "look=pass")
    loose = diagnosed("playback", "swap-at-plug=follows", "look=pass", loose=True)

    cost = {each.test.name: each.minutes for each in fitted.tests}["ohms-at-head"]
    cost_loose = {each.test.name: each.minutes for each in loose.tests}["ohms-at-head"]
    assert (8, 2) == (cost, cost_loose)


def test_enough_depends_on_the_repair() -> None:
    """A cheap repair needs 0.95, a dear one more, none more than 0.98; 0.9 at the end."""
    repairs = np.array([5.0, 100.0, 90.0, 1000.0])
    tests = np.array([4.0, 4.0, np.inf, 1.0])

    expected = [SURE, 1 - 4 / 100, SURE_AT_THE_END, SUREST]
    assert expected == pytest.approx(list(enough(repairs, tests)))


def test_sure_counts_nothing_broken_as_an_answer() -> None:
    """Nothing broken for all one can tell is sure, whatever the links are."""
    table = Table(
        chances=np.array([[1.0, 0.1], [0.0, 0.9]]),
        of_test=np.array([0, 0]),
        minutes=np.ones(1),
        broken=np.array([[0.0], [1.0]]),
        repair_minutes=np.array([60.0]),
    )
    rows = np.array([[0.96, 0.04], [0.5, 0.5], [0.01, 0.99]])

    assert [True, False, True] == list(table.sure(rows, np.ones((3, 1), dtype=bool)))


def test_outcomes_are_weighed_by_what_was_seen() -> None:
    """After a good probe the next one is expected to find what is left."""
    links, several = with_priors([0.1, 0.1, 0.1], ["a", "b", "c"])
    tests = [make_test("ab", {"a": 1.0, "b": 1.0}), make_test("a", {"a": 1.0})]
    model = Model(make_chain(links, tests, several=several))
    seen = [complaint("1"), Seen("ab", Outcome.FAIL, "1")]
    row = posterior(model, seen, "1").combinations

    (found,) = candidates(model, row, [tests[1]])

    assert dict(found.outcomes)[Outcome.FAIL] == pytest.approx(0.1 / (1 - 0.9**2))
