"""The order of readings: how many it takes, how many clips move, and when it stops."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import functools
import random
from dataclasses import replace
from fractions import Fraction
from itertools import combinations
from statistics import mean

import numpy as np
import pytest
from pin_meters import (
    EIGHT,
    FOUR,
    Run,
    coil_pins,
    exactly,
    followed,
    head,
    paired,
    pairings,
)

from coilmeter.compute.pinnet_readings import PairReading
from coilmeter.compute.pinplan import Ask, Reason, Wishes, next_pair
from coilmeter.compute.pinplan_prior import Prior, pairing_sums, partners, ranked, weights
from coilmeter.values import CASE
from coilmeter.values.pinmaps import MapStatus, PinField, PinPair

BARE = PinField(EIGHT.rows, case=False)
NEIGHBOURS: list[PinPair] = [("1", "2"), ("3", "4"), ("5", "6"), ("7", "8")]
FIVE = PinField((("1", "2", "3", "4", "R"),))


def least_on_average(coils: int) -> Fraction:
    """Fewest readings on average to find how so many coils are paired, by dynamic programming.

    Independent of the project: over every set of pairings that the answers so far leave, the
    best next pair is tried; a pair of which is known that it conducts is read all the same.
    """
    pins = [str(pin) for pin in range(2 * coils)]
    every = frozenset(frozenset(map(frozenset, each)) for each in pairings(pins))

    @functools.cache
    def cost(
        left: frozenset[frozenset[frozenset[str]]], read: frozenset[frozenset[str]]
    ) -> Fraction:
        known = next(iter(left))
        if len(left) == 1 and known <= read:
            return Fraction(0)
        best = None
        for pair in {pair for each in left for pair in each} - read:
            yes = frozenset(each for each in left if pair in each)
            total = Fraction(len(yes), len(left)) * cost(yes, read | {pair})
            if yes != left:
                no = left - yes
                total += Fraction(len(no), len(left)) * cost(no, read)
            best = total if best is None or total < best else best
        return Fraction(1) + (best or Fraction(0))

    return cost(every, frozenset())


def searched(prior: Prior, field: PinField = BARE) -> list[Run]:
    """Map every pairing of the pins of a field, without isolation readings."""
    wishes = Wishes(prior, isolation=False)
    return [followed(paired(each), field, wishes) for each in pairings(field.pins)]


@pytest.mark.parametrize("coils", [1, 2, 3])
def test_asking_one_pin_until_found_is_best(coils: int) -> None:
    """It takes n (n + 1) / 2 readings on average; no strategy less, by dynamic programming."""
    pins = tuple(str(pin) for pin in range(1, 2 * coils + 1))
    runs = searched(Prior.UNIFORM, PinField((pins,), case=False))

    assert Fraction(coils * (coils + 1), 2) == least_on_average(coils)
    assert least_on_average(coils) == Fraction(sum(len(run.asked) for run in runs), len(runs))


def test_four_coils_on_eight_pins_of_which_nothing_is_known() -> None:
    """Over all 105 pairings, exactly: 10 readings and 14 clip moves on average.

    All 28 pairs take 28 readings and 29 moves at best: each pair after the first moves one
    clip at least.
    """
    runs = searched(Prior.UNIFORM)

    assert 105 == len(runs)
    assert 10.0 == mean(len(run.asked) for run in runs)
    assert 14.0 == mean(run.moves for run in runs)
    assert (4, 16) == (
        min(len(run.asked) for run in runs),
        max(len(run.asked) for run in runs),
    )
    assert all(len(run.found.coils) == 4 for run in runs)


@pytest.mark.parametrize(
    "rows", [EIGHT.rows, (tuple("12345678"),)], ids=["in pairs", "in a row"]
)
def test_neighbours_take_four_readings(rows: tuple[tuple[str, ...], ...]) -> None:
    """Where the prior is right, each coil takes one reading, and both clips each time."""
    run = followed(paired(NEIGHBOURS), PinField(rows, case=False), Wishes(isolation=False))

    assert NEIGHBOURS == [ask.pins for ask in run.asked]
    assert 8 == run.moves


def test_a_wrong_prior_costs_little() -> None:
    """Expecting neighbours where the pairs are any takes less than half a reading more."""
    runs = searched(Prior.NEIGHBOURS)

    assert 10.4 == pytest.approx(mean(len(run.asked) for run in runs), abs=0.05)
    assert max(len(run.asked) for run in runs) < 28


def test_isolation_of_a_sound_head() -> None:
    """What the search has read counts: the rest is one pair between any two groups."""
    run = followed(paired(NEIGHBOURS), EIGHT)
    isolation = [ask for ask in run.asked if ask.reason is Reason.APART]

    assert MapStatus.CERTAIN == run.found.status
    assert 4 + 6 == len(isolation)
    # Each of them moves one clip.
    assert [1] * len(isolation) == [ask.moves for ask in isolation]
    assert 14 == len(run.asked)


def test_weights_of_own() -> None:
    """A person who knows better sets a weight for each pair."""
    weight = np.ones((8, 8)) - np.eye(8)
    for pair in ((0, 7), (1, 6), (2, 5), (3, 4)):
        weight[pair] = weight[pair[::-1]] = 50.0
    mirrored: list[PinPair] = [("1", "8"), ("2", "7"), ("3", "6"), ("4", "5")]
    run = followed(paired(mirrored), BARE, Wishes(weight=weight, isolation=False))

    assert 4 == len(run.asked)


def test_sums_over_pairings() -> None:
    """Pairings of 2n points are (2n - 1)!!, with points left alone the involutions.

    1, 3, 15, 105 and 1, 2, 4, 10, 26, 76, 232, 764: On-Line Encyclopedia of Integer Sequences
    A001147 and A000085 (from memory, not verified).
    """
    weight = np.ones((8, 8)) - np.eye(8)
    whole, alone = pairing_sums(weight, 0.0), pairing_sums(weight, 1.0)

    assert [1, 3, 15, 105] == [whole[(1 << 2 * n) - 1] for n in (1, 2, 3, 4)]
    assert [1, 2, 4, 10, 26, 76, 232, 764] == [alone[(1 << n) - 1] for n in range(1, 9)]


@pytest.mark.parametrize("seed", range(5))
def test_probabilities_agree_with_counting(seed: int) -> None:
    """Partners' probabilities, against the sum over all pairings one by one."""
    weight = np.triu(np.random.default_rng(seed).uniform(0, 5, (6, 6)), 1)
    weight += weight.T
    every = pairings("012345")
    chances = [np.prod([weight[int(a), int(b)] for a, b in each]) for each in every]
    expected = np.zeros((6, 6))
    for each, chance in zip(every, chances, strict=True):
        for a, b in each:
            expected[int(a), int(b)] += chance / sum(chances)

    np.testing.assert_allclose(expected + expected.T, partners(weight, alone=0.0), atol=1e-12)


def test_equal_chances_are_ranked_equal() -> None:
    """Rounding in the last digit must not choose."""
    chances = np.array([[0.0, 0.1 + 1e-14], [0.1, 0.0]])

    assert [(0.1, (0, 1)), (0.1, (1, 0))] == ranked(chances, [(0, 1), (1, 0)])


def test_neighbours_in_a_row_weigh_most() -> None:
    """A row a track (common practice, no source); then a column, then a corner."""
    found = weights(FOUR, Prior.NEIGHBOURS)

    assert found[0, 1] > found[0, 2] > found[0, 3] > 1
    assert 0 == np.trace(found)
    assert {0.0, 1.0} == set(weights(FOUR, Prior.UNIFORM).flat)


def test_an_open_coil_is_read_twice_before_it_is_believed() -> None:
    """A pin without partner is read once more against every other group."""
    bench = head("1-4 184", "2-8 185", "3-5 186", "6-7 183").with_open("3")
    run = followed(bench, EIGHT)
    twice = [ask.pins for ask in run.asked if ask.reason is Reason.CONFIRM]

    assert MapStatus.CERTAIN == run.found.status
    assert ("3", "5") == run.found.floating
    assert ("3", "5") in twice
    for pin in ("3", "5"):
        others = [{*"14"}, {*"28"}, {*"67"}]
        assert all(
            sum(pin in ask.pins and bool({*ask.pins} & other) for ask in run.asked) >= 2
            for other in others
        )


def test_a_common_return_needs_every_pair_within() -> None:
    """Five pins on one return: their ten pairs, and one to the case."""
    run = followed(head("1-R 184", "2-R 185", "3-R 186", "4-R 183"), FIVE)

    assert 11 == len(run.asked)
    assert 11 == len({ask.pins for ask in run.asked})
    assert MapStatus.CERTAIN == run.found.status


def test_a_leak_is_placed() -> None:
    """The other end of the coil is read where that tells where the leak is."""
    near = followed(head("1-2 184", "3-4 186").with_leak(("1", 0.3), CASE, 30e3), FOUR)
    coil = followed(head("1-2 1200", "3-4 1210").with_leak(("1", 0.3), CASE, 30e3), FOUR)

    assert Reason.PLACE not in {ask.reason for ask in near.asked}
    assert Reason.PLACE in {ask.reason for ask in coil.asked}
    assert "of the way from pin 1 to pin 2" in "".join(
        place for path in coil.found.paths for place in path.places
    )


def test_what_contradicts_is_read_again_first() -> None:
    """A reading that breaks a sum is asked for again, once, with those it breaks with."""
    bench = head("1-2 184", "2-3 185")
    field = PinField((("1", "2", "3"),), case=False)
    wrong = {("1", "3"): 1.0}

    def read(ask: Ask, times: int) -> PairReading:
        reading = exactly(bench, *ask.pins, own_ohm=0.05, times=times)
        if times == 1 and ask.pins in wrong:
            return replace(reading, ohm=900.0, text="900 ohm")
        return reading

    run = followed(bench, field, read=read)

    assert Reason.AGAIN in {ask.reason for ask in run.asked}
    assert MapStatus.CERTAIN == run.found.status
    assert {frozenset("12"), frozenset("23")} == coil_pins(run.found)


def test_what_keeps_contradicting_ends() -> None:
    """A pair that goes on breaking a sum is read twice, and then named."""
    bench = head("1-2 184", "2-3 185")
    field = PinField((("1", "2", "3"),), case=False)

    def read(ask: Ask, times: int) -> PairReading:
        reading = exactly(bench, *ask.pins, own_ohm=0.05, times=times)
        return replace(reading, ohm=900.0) if ask.pins == ("1", "3") else reading

    run = followed(bench, field, read=read)

    assert MapStatus.CONTRADICTORY == run.found.status
    assert (
        max(sum(ask.pins == pins for ask in run.asked) for pins in combinations("123", 2)) == 2
    )


@pytest.mark.parametrize("seed", range(40))
def test_a_clip_on_a_wrong_pin_makes_no_wrong_map(seed: int) -> None:
    """Once in a run one clip sits elsewhere: the map is right all the same, or not certain."""
    draw = random.Random(seed)  # noqa: S311 - not for secrets
    pins = list(EIGHT.pins)
    draw.shuffle(pins)
    pairs = [(pins[2 * at], pins[2 * at + 1]) for at in range(4)]
    broken = pairs[:1] if seed % 2 else []
    bench = paired([pair for pair in pairs if pair not in broken])
    slip = draw.randrange(1, 26)
    count = 0

    def read(ask: Ask, times: int) -> PairReading:
        nonlocal count
        count += 1
        a, b = ask.pins
        if count == slip:
            a = draw.choice([pin for pin in EIGHT.points if pin not in ask.pins])
        return replace(exactly(bench, a, b, own_ohm=0.05, times=times), pins=ask.pins)

    run = followed(bench, EIGHT, read=read)
    right = {frozenset(pair) for pair in pairs if pair not in broken} == coil_pins(run.found)

    assert right or run.found.status is not MapStatus.CERTAIN


def test_skipped_pairs_are_not_asked_for() -> None:
    """A pair that cannot be reached is left out, and what it leaves open is said."""
    run = followed(paired(NEIGHBOURS[:1]), PinField((("1", "2"),)))
    skipped = {("1", "2"), ("1", CASE), ("2", CASE)}
    empty = followed(paired([]), PinField((("1", "2"),), case=False))

    assert [("1", "2"), ("1", CASE)] == [ask.pins for ask in run.asked]
    assert next_pair(run.pairs, run.found, Wishes(), skipped=skipped) is None
    assert ("1", "2") == empty.found.floating


def test_an_ol_on_a_low_range_is_read_again_once() -> None:
    """On a range that reaches further; where the meter has none, it is left."""

    def read(ask: Ask, times: int) -> PairReading:
        reading = exactly(paired(NEIGHBOURS[:1]), *ask.pins, own_ohm=0.05, times=times)
        low = CASE in ask.pins and times == 1
        return replace(reading, ohm=4e3) if low else reading

    field = PinField((("1", "2"),))
    run = followed(paired(NEIGHBOURS[:1]), field, read=read)
    short = followed(paired(NEIGHBOURS[:1]), field, Wishes(reach_ohm=4e3), read=read)

    # The clips stay where they are, only the range is turned.
    assert [("1", "2"), ("1", CASE), ("1", CASE)] == [ask.pins for ask in run.asked]
    assert MapStatus.CERTAIN == run.found.status
    assert MapStatus.OPEN == short.found.status
