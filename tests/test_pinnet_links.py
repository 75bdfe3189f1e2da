"""Which links are kept: those that differ from none, one by one and together."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from coilmeter.compute.pinnet_links import Chosen, chi_squared, choose, sigmas
from coilmeter.compute.pinnet_matrix import conductances, resistances
from coilmeter.compute.verdict import Floats

ERROR = 0.01


def network(count: int, *edges: tuple[int, int, float]) -> Floats:
    """Resistances between all pairs of a network of edges: point, point and ohm."""
    matrix = np.zeros((count, count))
    for a, b, ohm in edges:
        matrix[a, b] = matrix[b, a] = 1 / ohm
    return resistances(matrix)


def chosen(resistance: Floats, own_ohm: float) -> Chosen:
    """Choose the links of resistances that are each uncertain by so much."""
    own = own_ohm * (1 - np.eye(len(resistance)))
    return choose(conductances(resistance, own), ERROR)


def kept(found: Chosen, count: int) -> set[tuple[int, int]]:
    """Pairs whose links were kept."""
    pairs = combinations(range(count), 2)
    return {pair for pair, is_kept in zip(pairs, found.kept, strict=True) if is_kept}


@pytest.mark.parametrize("freedom", [1, 2, 3, 10, 100])
@pytest.mark.parametrize("probability", [0.95, 0.995, 1 - 1e-6])
def test_quantile_of_chi_squared(probability: float, freedom: int) -> None:
    """The approximation, against SciPy's exact quantile; far out it is on the safe side."""
    expected = float(stats.chi2.ppf(probability, freedom))
    found = chi_squared(probability, freedom)

    assert 0.97 * expected < found < (1.04 if probability < 0.999 else 1.16) * expected


def test_sigmas_of_many_links() -> None:
    """All links together are invented with half of the error; the other test has the rest."""
    expected = float(stats.norm.isf(ERROR / 2 / 120))

    assert expected == pytest.approx(sigmas(ERROR, 120))
    assert float(stats.norm.isf(ERROR / 2)) == pytest.approx(sigmas(ERROR, 1))


def test_a_star_keeps_its_arms() -> None:
    """Nothing is invented between the ends of four coils on one pin."""
    star = network(5, (0, 4, 184), (1, 4, 185), (2, 4, 186), (3, 4, 183))
    found = chosen(star, 0.3)

    assert {(0, 4), (1, 4), (2, 4), (3, 4)} == kept(found, 5)
    assert found.explains
    assert found.clear


@pytest.mark.parametrize("seed", range(20))
def test_noise_invents_nothing(seed: int) -> None:
    """Random errors of the size that is stated leave the star a star."""
    random = np.random.default_rng(seed)
    star = network(5, (0, 4, 184), (1, 4, 185), (2, 4, 186), (3, 4, 183))
    noise = np.triu(random.uniform(-0.5, 0.5, star.shape), 1)
    found = chosen(star + noise + noise.T, 0.5 / 3**0.5)

    assert {(0, 4), (1, 4), (2, 4), (3, 4)} == kept(found, 5)


def test_what_differs_only_together_is_kept() -> None:
    """A bridge of 2 ohm makes both coils at it uncertain: neither is dropped for that.

    By itself each of the two differs from none by 2.4 u only.
    """
    bridged = network(5, (0, 4, 184), (1, 4, 185), (2, 4, 186), (3, 4, 183), (0, 1, 2.0))
    own = 0.3 * (1 - np.eye(5))
    alone = conductances(bridged, own)
    found = choose(alone, ERROR)

    assert {(0, 1), (0, 4), (1, 4), (2, 4), (3, 4)} == kept(found, 5)
    assert (alone.siemens / alone.u_siemens)[[3, 6]].max() < sigmas(ERROR, 10)
    assert 184 == pytest.approx(1 / found.siemens[3], rel=0.01)


def test_those_left_out_are_held_at_zero() -> None:
    """The links kept become more certain when the others are known to be none."""
    star = network(4, (0, 3, 300), (1, 3, 300), (2, 3, 310))
    own = 0.3 * (1 - np.eye(4))
    alone, found = conductances(star, own), chosen(star, 0.3)

    assert np.all(found.u_siemens[found.kept] < alone.u_siemens[found.kept])
    assert np.allclose(found.siemens[found.kept], [1 / 300, 1 / 300, 1 / 310])


def test_no_network_at_all() -> None:
    """Readings that no links explain are said to explain nothing.

    Three distances of 100 ohm and one point that is 10 ohm from all three: on the way over
    it, the three would be 20 ohm apart at most.
    """
    wrong = np.array(
        [[0, 100, 100, 10], [100, 0, 100, 10], [100, 100, 0, 10], [10, 10, 10, 0.0]]
    )

    assert not chosen(wrong, 0.1).explains


def test_too_uncertain_to_tell() -> None:
    """Where a link kept hardly differs from none, the choice is not called clear."""
    siemens, u = np.array([0.01, 0.02]), np.array([0.001, 0.011])

    assert not Chosen(np.array([True, True]), siemens, u, explains=True).clear
    assert Chosen(np.array([True, False]), siemens, u, explains=True).clear


@given(st.lists(st.floats(100, 500), min_size=3, max_size=6), st.floats(0.01, 0.3))
def test_stars_of_all_sizes(arms: list[float], own_ohm: float) -> None:
    """However many coils there are on a common return, they are found and nothing else."""
    count = len(arms)
    star = network(count + 1, *((at, count, ohm) for at, ohm in enumerate(arms)))

    assert {(at, count) for at in range(count)} == kept(chosen(star, own_ohm), count + 1)
