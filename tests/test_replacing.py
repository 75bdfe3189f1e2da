"""Which head could take the place of another: fits, distances, assignment."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import itertools
import math
import random
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilmeter.compute.replacing import (
    INDUCTANCE_LIMIT,
    RESISTANCE_LIMIT,
    CoilFigures,
    Fit,
    assign,
    fit,
    least_distance,
    total_ohm,
    when_sound,
)

resistances = st.floats(min_value=50.0, max_value=500.0)


def coil(
    name: str, ohm: float | None, *, sound: bool = True, pins: str = "", role: str = "rp"
) -> CoilFigures:
    """Make a coil, on the pins of its name where no others are given."""
    place = int(name)
    both = pins.split("-") if pins else [str(2 * place - 1), str(2 * place)]
    return CoilFigures(name, role, f"{role}-band", frozenset(both), sound, ohm)


def head(*ohms: float | None) -> list[CoilFigures]:
    """Make a head of sound coils on the usual pins."""
    return [coil(str(number), ohm) for number, ohm in enumerate(ohms, 1)]


def fitted(wanted: list[CoilFigures], other: list[CoilFigures]) -> Fit:
    """Fit two heads that do fit."""
    found = fit(wanted, other)
    if found is None:
        raise ValueError("they do not fit")
    return found


def test_coil_by_coil_on_the_same_pins() -> None:
    """Each is held against the one on its pins, and the furthest off counts."""
    found = fitted(head(200.0, 200.0), head(202.0, 190.0))

    assert found.same_pins
    assert [("1", "1"), ("2", "2")] == [(pair.coil, pair.other) for pair in found.pairs]
    assert [0.01, -0.05] == pytest.approx([pair.resistance for pair in found.pairs])
    assert 1.0 == pytest.approx(found.distance)


def test_pins_count_and_not_names_or_their_order() -> None:
    """A coil of another name on the same two pins is the one in its place."""
    other = [coil("2", 190.0, pins="2-1"), coil("1", 210.0, pins="4-3")]
    found = fitted(head(200.0, 200.0), other)

    assert found.same_pins
    assert [("1", "2"), ("2", "1")] == [(pair.coil, pair.other) for pair in found.pairs]


def test_on_other_pins_the_channels_are_paired_best() -> None:
    """Then a fit sorts behind any on the same pins, however near."""
    wired_otherwise = [coil("1", 250.0, pins="a-b"), coil("2", 200.0, pins="c-d")]
    found = fitted(head(200.0, 250.0), wired_otherwise)
    same = fitted(head(200.0, 250.0), head(100.0, 100.0))

    assert not found.same_pins
    assert [("1", "2"), ("2", "1")] == [(pair.coil, pair.other) for pair in found.pairs]
    assert 0.0 == found.distance
    assert same.rank < found.rank


@pytest.mark.parametrize(
    "other",
    [
        head(200.0),
        head(200.0, 200.0, 200.0),
        [coil("1", 200.0), coil("2", 200.0, role="erase")],
        [],
    ],
)
def test_other_coils_do_not_fit(other: list[CoilFigures]) -> None:
    """More or fewer, or of another role or band: not a replacement at any distance."""
    assert fit(head(200.0, 200.0), other) is None


def test_inductance_counts_where_both_have_it_at_one_frequency() -> None:
    """In its own limit; at another frequency, or on one side only, it says nothing."""
    plain = coil("1", 200.0)
    wanted = replace(plain, henry=0.100, hertz=10_000.0)
    near = replace(plain, henry=0.120, hertz=10_050.0)
    far = replace(plain, henry=0.120, hertz=1_000.0)

    assert 0.2 / INDUCTANCE_LIMIT == pytest.approx(fitted([wanted], [near]).distance)
    assert 0.2 == pytest.approx(fitted([wanted], [near]).pairs[0].inductance)
    assert 0.0 == fitted([wanted], [far]).distance
    assert fitted([wanted], [far]).pairs[0].inductance is None


def test_a_broken_coil_was_what_its_siblings_are() -> None:
    """The median of the sound ones stands for it; without any, nothing is known."""
    coils = [*head(180.0, 190.0, 200.0), coil("4", None, sound=False)]
    coils += [coil("5", 148.0, sound=False), coil("6", None, sound=False, role="erase")]
    found = when_sound(coils)

    assert [180.0, 190.0, 200.0, 190.0, 190.0, None] == [each.ohm for each in found]
    assert total_ohm(found) is None
    assert 950.0 == total_ohm(found[:5])
    assert total_ohm([]) is None


def test_what_is_not_known_takes_no_part() -> None:
    """A coil of unknown resistance is neither near nor far."""
    found = fitted(head(None, 200.0), head(500.0, 200.0))

    assert 0.0 == found.distance
    assert [None, 0.0] == [pair.resistance for pair in found.pairs]


@given(st.lists(st.tuples(resistances, resistances), min_size=1, max_size=6))
def test_the_totals_give_a_bound(pairs: list[tuple[float, float]]) -> None:
    """No head is nearer than its total resistance allows: the search may end there."""
    wanted, other = head(*(pair[0] for pair in pairs)), head(*(pair[1] for pair in pairs))
    totals = total_ohm(wanted), total_ohm(other)

    assert totals[0] is not None
    assert totals[1] is not None
    bound = least_distance(totals[0], totals[1])
    assert bound <= fitted(wanted, other).distance + 1e-9


@given(st.lists(st.tuples(resistances, resistances), min_size=1, max_size=5), st.randoms())
def test_the_best_channels_have_the_least_sum(
    pairs: list[tuple[float, float]], chance: random.Random
) -> None:
    """No other way of pairing the channels has a smaller sum, tried by brute force."""
    wanted = head(*(pair[0] for pair in pairs))
    others = [coil(str(n), pair[1], pins=f"{n}x-{n}y") for n, pair in enumerate(pairs, 1)]
    chance.shuffle(others)
    found = fitted(wanted, others)
    sums = [
        sum(abs((b.ohm or 0) / (a.ohm or 1) - 1) for a, b in zip(wanted, order, strict=True))
        for order in itertools.permutations(others)
    ]

    assert min(sums) == pytest.approx(sum(abs(p.resistance or 0.0) for p in found.pairs))


def brute_force(fits: list[list[Fit | None]]) -> tuple[int, int, float]:
    """Give the best there is: heads served, most on the same pins, least distance."""
    wanted, others = len(fits), len(fits[0])
    best = (0, 0, 0.0)
    for columns in itertools.permutations([*range(others), *[-1] * wanted], wanted):
        chosen = [
            fits[row][column]
            for row, column in enumerate(columns)
            if column >= 0 and fits[row][column] is not None
        ]
        same = sum(each is not None and each.same_pins for each in chosen)
        distance = sum(each.distance for each in chosen if each is not None)
        best = min(best, (-len(chosen), -same, distance))
    return best


@pytest.mark.parametrize("seed", range(12))
def test_several_heads_are_served_as_well_as_can_be(seed: int) -> None:
    """As many as possible, then on their pins, then near: no assignment is better."""
    chance = random.Random(seed)  # noqa: S311 - invented fits
    fits: list[list[Fit | None]] = [
        [
            None
            if chance.random() < 0.25
            else Fit(chance.random() < 0.7, (), round(chance.uniform(0, 9), 3))
            for _ in range(4)
        ]
        for _ in range(3)
    ]
    chosen = assign(fits)
    taken = [index for index in chosen if index is not None]
    served = [fits[row][index] for row, index in enumerate(chosen) if index is not None]
    found = (
        -len(served),
        -sum(each is not None and each.same_pins for each in served),
        sum(each.distance for each in served if each is not None),
    )
    expected = brute_force(fits)

    assert len(taken) == len(set(taken))
    assert expected[:2] == found[:2]
    assert expected[2] == pytest.approx(found[2])


def test_nothing_to_assign() -> None:
    """No head wanted, or none to give."""
    assert [] == assign([])
    assert [None, None] == assign([[], []])
    assert [None] == assign([[None, None]])


def test_limits_are_those_of_siblings() -> None:
    """A head within the limit of every coil is within a distance of one."""
    found = fitted(head(200.0, 200.0), head(200 * (1 + RESISTANCE_LIMIT), 200.0))

    assert math.isclose(1.0, found.distance)
