"""Resistances between all pairs to the links: published forms, an oracle, and derivatives."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
from itertools import combinations
from typing import Any

import networkx as nx
import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from published import agrees, case

from coilmeter.compute.pinnet_matrix import conductances, laplacian_of, resistances
from coilmeter.compute.verdict import Floats


def links(count: int, edges: list[list[float]]) -> Floats:
    """Matrix of conductances of edges, written as pin, pin and ohm."""
    matrix = np.zeros((count, count))
    for a, b, ohm in edges:
        matrix[int(a), int(b)] = matrix[int(b), int(a)] = 1 / ohm
    return matrix


def matrix_of(found: Floats, count: int) -> Floats:
    """Lay conductances of pairs out as a symmetric matrix."""
    matrix = np.zeros((count, count))
    matrix[np.triu_indices(count, 1)] = found
    return np.asarray(matrix + matrix.T, float)


def recovered(resistance: Floats) -> Floats:
    """Conductances that the project recovers, as a matrix."""
    nothing = np.zeros_like(resistance)
    return matrix_of(conductances(resistance, nothing).siemens, len(resistance))


@st.composite
def networks(draw: st.DrawFn, most: int = 12) -> Floats:
    """Draw a connected network of 2 to `most` points, links of 1 ohm to 100 kohm."""
    count = draw(st.integers(2, most))
    ohms = st.floats(1.0, 1e5)
    matrix = np.zeros((count, count))
    for point in range(1, count):
        other = draw(st.integers(0, point - 1))
        matrix[point, other] = matrix[other, point] = 1 / draw(ohms)
    for a, b in combinations(range(count), 2):
        if draw(st.booleans()) and not matrix[a, b]:
            matrix[a, b] = matrix[b, a] = 1 / draw(ohms)
    return matrix


def of_networkx(siemens: Floats) -> Floats:
    """Resistance between all pairs, by networkx."""
    graph: Any = nx.Graph()
    graph.add_nodes_from(range(len(siemens)))
    for a, b in combinations(range(len(siemens)), 2):
        if siemens[a, b]:
            graph.add_edge(a, b, ohm=1 / siemens[a, b])
    found: Any = nx.resistance_distance(graph, weight="ohm", invert_weight=True)
    return np.array([[found[a][b] for b in graph] for a in graph])


def test_star() -> None:
    """Three coils to a common pin: distances of a tree add, and its links come back."""
    entry = case("8.1")  # Klein and Randic 1993; Foster 1949
    given_links = links(4, entry["inputs"]["edges"])
    found = resistances(given_links)
    foster = float(np.sum(np.triu(given_links * found)))

    assert agrees(entry, "r12") == found[1, 2]
    assert agrees(entry, "r13") == found[1, 3]
    assert agrees(entry, "r23") == found[2, 3]
    assert agrees(entry, "r03") == found[0, 3]
    assert agrees(entry, "foster") == foster
    np.testing.assert_allclose(given_links, recovered(found), atol=1e-12)


def test_centre_tap() -> None:
    """Two unequal halves: tau of the tap is zero, and there is no link end to end."""
    entry = case("8.2")  # Klein and Randic 1993; Bapat 2004
    given_links = links(3, entry["inputs"]["edges"])
    found = resistances(given_links)
    tau = 2 - np.sum(recovered(found) * found, axis=1)

    assert agrees(entry, "r02") == found[0, 2]
    assert [agrees(entry, f"tau{point}") for point in range(3)] == tau.tolist()
    assert 0 == pytest.approx(recovered(found)[0, 2], abs=1e-12)


def test_closed_forms() -> None:
    """Complete graph, cycle and path of links of 1 ohm."""
    entry = case("8.5")  # Klein and Randic 1993; Lukovits 1999; Foster 1949
    k4 = resistances(np.ones((4, 4)) - np.eye(4))
    ring = links(5, [[at, (at + 1) % 5, 1] for at in range(5)])
    c5, p5 = resistances(ring), resistances(links(5, [[at, at + 1, 1] for at in range(4)]))

    assert agrees(entry, "k4") == k4[0, 1]
    assert agrees(entry, "k4_sum") == np.triu(k4).sum()
    assert agrees(entry, "c5_1") == c5[0, 1]
    assert agrees(entry, "c5_2") == c5[0, 2]
    assert agrees(entry, "c5_sum") == np.triu(c5).sum()
    assert agrees(entry, "c5_foster") == np.triu(ring * c5).sum()
    assert agrees(entry, "p5_sum") == np.triu(p5).sum()


@pytest.mark.parametrize("count", range(3, 17))
def test_complete_graphs_and_rings_of_all_sizes(count: int) -> None:
    """K_n has 2 / n between any two, C_n k (n - k) / n over k links, of 1 ohm each; and back.

    D. J. Klein and M. Randic, Resistance distance, J. Math. Chem. 12 (1993) 81-95.
    """
    complete = np.ones((count, count)) - np.eye(count)
    ring = links(count, [[at, (at + 1) % count, 1] for at in range(count)])
    steps = np.abs(np.subtract.outer(np.arange(count), np.arange(count)))

    np.testing.assert_allclose(2 / count * complete, resistances(complete), atol=1e-12)
    np.testing.assert_allclose(steps * (count - steps) / count, resistances(ring), atol=1e-12)
    np.testing.assert_allclose(complete, recovered(2 / count * complete), atol=1e-9)
    np.testing.assert_allclose(ring, recovered(steps * (count - steps) / count), atol=1e-9)


@pytest.mark.parametrize("count", range(2, 13))
def test_noisy_readings_miss_by_no_more_than_their_uncertainty(count: int) -> None:
    """Random networks read with errors: what comes back is off by as much as it says.

    Resistances are those of networkx. Of all links the errors in units of their own u are
    standard normal to first order, so their mean square is 1; u is kept small for that.
    """
    random = np.random.default_rng(count)
    squares = []
    for _ in range(60):
        siemens = np.triu(1 / random.uniform(50, 500, (count, count)), 1)
        siemens += siemens.T
        exact = of_networkx(siemens)
        own = 1e-4 * exact
        error = np.triu(random.normal(size=exact.shape) * own, 1)
        found = conductances(exact + error + error.T, own)
        miss = found.siemens - siemens[np.triu_indices(count, 1)]
        squares.append(np.mean((miss / found.u_siemens) ** 2))

    # 60 networks and more links: four standard errors of the mean square are below 0.75.
    assert 1 == pytest.approx(np.mean(squares), abs=4 * math.sqrt(2 / 60))


def test_hidden_star_is_a_delta() -> None:
    """A common point that is not brought out comes back as links between the pins."""
    entry = case("8.6")  # Kennelly 1899
    arms = entry["inputs"]["star"]
    whole = resistances(links(4, [[0, at + 1, ohm] for at, ohm in enumerate(arms)]))
    found = recovered(whole[1:, 1:])

    assert agrees(entry, "R12") == 1 / found[0, 1]
    assert agrees(entry, "R13") == 1 / found[0, 2]
    assert agrees(entry, "R23") == 1 / found[1, 2]


@given(networks())
def test_forward_agrees_with_networkx(siemens: Floats) -> None:
    """Resistance between all pairs, against an independent library."""
    np.testing.assert_allclose(of_networkx(siemens), resistances(siemens), rtol=1e-6, atol=1e-9)


@given(networks())
def test_back_gives_what_went_forward(siemens: Floats) -> None:
    """What networkx makes of a network comes back as that network."""
    found = recovered(of_networkx(siemens))

    np.testing.assert_allclose(siemens, found, atol=1e-5 * siemens.max())


@example(links(5, [[0, 1, 1], [0, 2, 46364], [1, 3, 1], [2, 4, 1]]), 0)
@given(networks(6), st.integers(0, 2**32 - 1))
def test_uncertainty_is_that_of_the_derivative(siemens: Floats, seed: int) -> None:
    """Standard uncertainties, against differences of the recovery itself (JCGM 100 5.1.2)."""
    resistance = resistances(siemens)
    count = len(resistance)
    random = np.random.default_rng(seed)
    own = np.triu(resistance * random.uniform(1e-3, 1e-2, resistance.shape), 1)
    own = own + own.T
    shared = 0.01 * resistance
    smallest = resistance[np.triu_indices(count, 1)].min()
    variance = np.zeros((count, count))
    for a, b in combinations(range(count), 2):
        step = np.zeros((count, count))
        # Small beside the smallest resistance too, or the difference is no derivative.
        step[a, b] = step[b, a] = min(1e-6 * resistance[a, b], 1e-3 * smallest)
        moved = (laplacian_of(resistance + step) - laplacian_of(resistance - step)) / 2
        variance += (moved / step[a, b] * own[a, b]) ** 2
    moved = (laplacian_of(1.000001 * resistance) - laplacian_of(0.999999 * resistance)) / 2e-6
    variance += (moved * 0.01) ** 2
    expected = np.sqrt(variance)[np.triu_indices(count, 1)]
    found = conductances(resistance, own, [shared]).u_siemens

    np.testing.assert_allclose(expected, found, rtol=1e-3, atol=1e-7 * expected.max())


def test_a_shared_gain_invents_no_link() -> None:
    """All readings too high by one factor: every link too low by it, and none is added."""
    star = links(4, [[0, 1, 300], [0, 2, 300], [0, 3, 310]])

    np.testing.assert_allclose(star / 1.01, recovered(1.01 * resistances(star)), atol=1e-12)


def test_leads_left_in_invent_links() -> None:
    """0.3 ohm left on each pair of a star of 300 ohm invents links of about 6e5 ohm.

    Derived independently of this project: half of L (0.3 on all pairs) L.
    """
    star = links(4, [[0, 1, 300], [0, 2, 300], [0, 3, 300]])
    read = resistances(star) + 0.3 * (1 - np.eye(4))
    found = recovered(read)

    assert 6e5 == pytest.approx(abs(1 / found[1, 2]), rel=0.05)
    # And 0.6 ohm is added to each coil.
    assert 300.6 == pytest.approx(1 / found[0, 1], abs=0.02)


@pytest.mark.parametrize("resistance", [np.zeros((1, 1)), np.zeros(3)], ids=["one", "row"])
def test_no_matrix(resistance: Floats) -> None:
    """Less than two points, or no matrix at all, is refused."""
    with pytest.raises(ValueError, match="two points or more"):
        conductances(resistance, resistance)


@pytest.mark.parametrize(
    "resistance",
    [
        np.array([[0.0, 0.0, 5.0], [0.0, 0.0, 5.0], [5.0, 5.0, 0.0]]),
        np.zeros((2, 2)),
    ],
    ids=["two points are one", "all points are one"],
)
def test_no_network(resistance: Floats) -> None:
    """A dead short that was not made one point is no network, and said so."""
    with pytest.raises(ValueError, match="matrix"):
        conductances(resistance, np.zeros_like(resistance))


def test_parts_do_not_conduct() -> None:
    """What nothing connects has an infinite resistance."""
    two = links(4, [[0, 1, 100], [2, 3, 200]])

    assert [0, 100, np.inf, np.inf] == pytest.approx(resistances(two)[0].tolist())
