"""The best pairs and sets: against brute force, and in their order."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilmeter.compute import pairing
from coilmeter.compute.pairing import best_sets, spread_of
from coilmeter.errors import InputError


def brute_force(
    ohm: list[list[float]], size: int, count: int, within: float
) -> tuple[int, float]:
    """Most sets there can be, and their least total spread, by trying all."""
    values = np.array(ohm)
    possible = [
        (set(members), spread_of(values[list(members)]))
        for members in itertools.combinations(range(len(ohm)), size)
    ]
    possible = [each for each in possible if each[1] <= within]
    best = (0, 0.0)
    for number in range(count, 0, -1):
        sums = [
            sum(spread for _, spread in chosen)
            for chosen in itertools.combinations(possible, number)
            if len(set().union(*(members for members, _ in chosen))) == number * size
        ]
        if sums:
            best = (number, min(sums))
            break
    return best


heads = st.integers(1, 3).flatmap(
    lambda coils: st.lists(
        st.lists(st.floats(100.0, 130.0), min_size=coils, max_size=coils),
        min_size=0,
        max_size=7,
    )
)


@settings(max_examples=60, deadline=None)
@given(heads, st.integers(2, 3), st.integers(1, 3), st.sampled_from([0.01, 0.05, 0.3]))
def test_as_good_as_trying_all(
    ohm: list[list[float]], size: int, count: int, within: float
) -> None:
    """As many sets, and no more spread, than the best of all choices."""
    found = best_sets(ohm, size, count, within)
    number, total = brute_force(ohm, size, count, within)
    members = [index for each in found for index in each.members]

    assert number == len(found)
    assert total == pytest.approx(sum(each.spread for each in found), abs=1e-9)
    assert len(members) == len(set(members))
    assert sorted(each.spread for each in found) == [each.spread for each in found]
    for each in found:
        values = np.array([ohm[index] for index in each.members])
        assert spread_of(values) == pytest.approx(each.spread)


def test_heads_that_read_nothing_do_not_differ() -> None:
    """Two dead shorts are no reason for a number that is none."""
    assert 0.0 == spread_of(np.zeros((2, 3)))
    assert 2.0 == spread_of(np.array([[0.0], [170.0]]))


def test_the_spread_of_a_set() -> None:
    """How far the ends are apart, as a part of the middle, at the coil where that is most."""
    values = np.array([[190.0, 100.0], [210.0, 101.0], [200.0, 100.5]])

    assert 0.1 == pytest.approx(spread_of(values))


@given(st.lists(st.floats(1.0, 1e4), min_size=3, max_size=6))
def test_a_head_more_never_brings_a_set_together(values: list[float]) -> None:
    """What the search rests on: a set is at least as far apart as any part of it."""
    whole = np.array(values)[:, None]

    assert spread_of(whole[:-1]) <= spread_of(whole) + 1e-12


def test_taking_the_nearest_first_would_be_worse() -> None:
    """The nearest pair leaves two far apart: both pairs together are chosen."""
    ohm = [[100.0], [101.0], [101.9], [103.0]]
    (one,) = best_sets(ohm, 2, 1, 0.5)
    two = best_sets(ohm, 2, 2, 0.5)

    assert (1, 2) == one.members
    assert [(0, 1), (2, 3)] == sorted(each.members for each in two)


def test_the_best_choice_may_hold_a_wider_set() -> None:
    """Pairs of 0.91 + 1.00 % are found first; 0.82 + 1.05 % is less in all, and is taken."""
    value, ohm = 100.0, [[100.0]]
    for spread in (0.0091, 0.0082, 0.0100, 0.0105):
        value *= (2 + spread) / (2 - spread)
        ohm.append([value])
    found = best_sets(ohm, 2, 2, 0.05)

    assert [(1, 2), (3, 4)] == sorted(each.members for each in found)
    assert 0.0187 == pytest.approx(sum(each.spread for each in found))


def test_many_heads_of_which_few_are_alike() -> None:
    """The nearest of thousands, exactly: found by looking at neighbours only."""
    ohm = np.random.default_rng(3).uniform(100, 400, 3000)
    ranked = np.sort(ohm)
    expected = np.min(2 * np.diff(ranked) / (ranked[1:] + ranked[:-1]))
    (found,) = best_sets(ohm[:, None].tolist(), 2, 1, 0.05)

    assert expected == pytest.approx(found.spread)


def test_too_many_that_are_all_alike(monkeypatch: pytest.MonkeyPatch) -> None:
    """An exact answer is not to be had: said, with what to ask for instead."""
    monkeypatch.setattr(pairing, "MOST_SETS", 50)
    with pytest.raises(InputError, match="about equally alike") as caught:
        best_sets([[170.0]] * 40, 3, 5, 0.05)

    assert "fewer" in caught.value.hint


def test_a_reach_between_few_and_too_many(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the next step would be too much, a smaller one is taken."""
    monkeypatch.setattr(pairing, "MOST_SETS", 30)
    ohm = [[100.0 * 1.003**n] for n in range(20)]
    found = best_sets(ohm, 2, 6, 0.05)

    assert 6 == len(found)
    assert 6 * 2 * 0.003 / 2.003 == pytest.approx(sum(each.spread for each in found))


@pytest.mark.parametrize(("heads_", "size"), [(0, 2), (1, 2), (2, 3)])
def test_too_few_heads(heads_: int, size: int) -> None:
    """No set of more heads than there are."""
    assert [] == best_sets([[170.0]] * heads_, size, 1, 0.05)


def test_more_than_can_be_weighed_between_two_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no reach gives more sets, and not too many, it is said."""
    monkeypatch.setattr(pairing, "MOST_SETS", 10)
    ohm = [[100.0], [100.0005], *[[200.0 + n * 1e-9] for n in range(12)]]
    with pytest.raises(InputError, match="about equally alike"):
        best_sets([[50.0], [51.0], *ohm], 2, 9, 0.05)


def test_none_within_reach() -> None:
    """Heads that are all further apart make no set."""
    assert [] == best_sets([[100.0], [200.0], [400.0]], 2, 1, 0.05)
