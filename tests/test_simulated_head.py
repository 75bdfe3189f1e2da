"""The simulated head against closed forms of resistor networks and of copper."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilmeter.errors import InputError
from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.sources.simulated_network import Node, network_resistance
from coilmeter.values import CASE, CoilSpec, HeadKind, Role

Edge = tuple[Node, Node, float]


def two_coils(temperature_degc: float = 20.0) -> SimulatedHead:
    """Give a two-coil head with independent pins."""
    return SimulatedHead(
        {"L": ("1", "2", 300.0), "R": ("3", "4", 310.0)}, temperature_degc=temperature_degc
    )


def resistances(edges: list[Edge], names: list[str]) -> dict[tuple[str, str], float]:
    """Resistance between every two of `names`."""
    return {(a, b): network_resistance(edges, a, b) for a, b in combinations(names, 2)}


def test_series_adds() -> None:
    """Resistors in a row add up."""
    edges: list[Edge] = [("a", "b", 10.0), ("b", "c", 22.0), ("c", "d", 0.5)]

    assert 32.5 == pytest.approx(network_resistance(edges, "a", "d"), rel=1e-12)


def test_parallel_adds_conductances() -> None:
    """Resistors side by side: conductances add up."""
    edges: list[Edge] = [("a", "b", 10.0), ("a", "b", 15.0), ("b", "a", 6.0)]

    assert 3.0 == pytest.approx(network_resistance(edges, "a", "b"), rel=1e-12)


@pytest.mark.parametrize("n", [2, 3, 5, 12, 20])
def test_complete_graph(n: int) -> None:
    """Between any two nodes of K_n of one-ohm resistors lie 2/n ohm."""
    # D. J. Klein and M. Randic, Resistance distance, J. Math. Chem. 12 (1993) 81-95.
    names = [f"n{i}" for i in range(n)]
    edges: list[Edge] = [(a, b, 1.0) for a, b in combinations(names, 2)]

    assert dict.fromkeys(combinations(names, 2), 2 / n) == pytest.approx(
        resistances(edges, names), rel=1e-12
    )


@pytest.mark.parametrize("n", [3, 4, 9, 30])
def test_cycle(n: int) -> None:
    """Between nodes k steps apart on C_n of one-ohm resistors lie k(n-k)/n ohm."""
    # D. J. Klein and M. Randic, Resistance distance, J. Math. Chem. 12 (1993) 81-95.
    names = [f"n{i}" for i in range(n)]
    edges: list[Edge] = [(names[i], names[(i + 1) % n], 1.0) for i in range(n)]
    expected = {
        (names[i], names[j]): (j - i) * (n - (j - i)) / n for i, j in combinations(range(n), 2)
    }

    assert expected == pytest.approx(resistances(edges, names), rel=1e-12)


@given(
    ohms=st.lists(st.floats(0.01, 1e7), min_size=6, max_size=20),
    seed=st.integers(0, 2**32 - 1),
)
def test_foster_sum_of_any_connected_network(ohms: list[float], seed: int) -> None:
    """Over all resistors, the ratio of network to own resistance adds up to nodes minus one."""
    # R. M. Foster, The average impedance of an electrical network (1949): sum of r/R = n - 1.
    random = np.random.default_rng(seed)
    names = [f"n{i}" for i in range(6)]
    edges: list[Edge] = [
        (names[i + 1], names[int(random.integers(0, i + 1))], ohms[i]) for i in range(5)
    ]
    for ohm in ohms[5:]:
        i, j = random.choice(6, 2, replace=False)
        edges.append((names[i], names[j], ohm))

    shares = sum(network_resistance(edges, a, b) / ohm for a, b, ohm in edges)

    assert 5.0 == pytest.approx(shares, rel=1e-6)


def test_balanced_bridge_ignores_its_middle() -> None:
    """A balanced bridge reads the same whatever lies across it."""
    arms: list[Edge] = [("a", "p", 1.0), ("a", "q", 2.0), ("p", "b", 3.0), ("q", "b", 6.0)]

    readings = [
        network_resistance([*arms, ("p", "q", ohm)], "a", "b") for ohm in (0.0, 5.0, math.inf)
    ]

    assert [8 / 3] * 3 == pytest.approx(readings, rel=1e-12)


def test_nothing_between_is_infinite() -> None:
    """Two parts that do not touch, and nodes of no resistor at all, read infinite."""
    edges: list[Edge] = [("a", "b", 1.0), ("c", "d", 1.0), ("b", "c", math.inf)]

    assert math.inf == network_resistance(edges, "a", "d")
    assert math.inf == network_resistance(edges, "x", "a")
    assert 0.0 == network_resistance(edges, "x", "x")


def test_sound_head() -> None:
    """A sound head reads its coils, and nothing between them or to the case."""
    head = two_coils()

    assert ("1", "2", "3", "4", CASE) == head.pins
    assert 300.0 == pytest.approx(head.resistance_between("1", "2"))
    assert 310.0 == pytest.approx(head.resistance_between("4", "3"))
    assert math.inf == head.resistance_between("2", "3")
    assert math.inf == head.resistance_between("1", CASE)
    assert 0.0 == head.resistance_between("1", "1")


def test_common_return_reads_the_sum() -> None:
    """With a common return, hot to hot reads both coils in series."""
    head = SimulatedHead({"L": ("1", "0", 212.0), "R": ("2", "0", 215.0)})

    assert 427.0 == pytest.approx(head.resistance_between("1", "2"))
    assert ("1", "0", "2", CASE) == head.pins


def test_centre_tap_reads_half() -> None:
    """A centre tap reads half of what lies between the ends."""
    # trade rule; printed in a disk-drive maker's resistance table as 32.4 and 16.3 ohm
    # (1541-II service manual, p. 18), which is half to within 1 %.
    head = SimulatedHead({"a": ("1", "t", 16.2), "b": ("t", "2", 16.2)})

    assert 32.4 == pytest.approx(head.resistance_between("1", "2"))
    assert 16.3 == pytest.approx(head.resistance_between("1", "t"), rel=0.01)


@pytest.mark.parametrize("fraction", [0.0, 0.1, 0.5, 0.83, 1.0])
@pytest.mark.parametrize("leak_ohm", [0.0, 47.0, 3300.0])
def test_leak_position_from_three_readings(fraction: float, leak_ohm: float) -> None:
    """The leak to the case and its place along the coil follow from three readings."""
    # From R, and a and b from the two ends to the case: (a + b - R)/2 is the leak, and
    # (a - leak)/R its place (derived: each end reads the leak plus its share of the coil).
    head = two_coils().with_leak(("L", fraction), CASE, leak_ohm)
    whole = head.resistance_between("1", "2")
    a = head.resistance_between("1", CASE)
    b = head.resistance_between("2", CASE)

    leak = (a + b - whole) / 2

    assert 300.0 == pytest.approx(whole)
    assert leak_ohm == pytest.approx(leak, abs=1e-9)
    assert fraction == pytest.approx((a - leak) / whole, abs=1e-12)


def test_two_leaks_to_the_case_shunt_the_coil() -> None:
    """With two leaks the case is a second path around the turns between them."""
    head = two_coils().with_leak(("L", 0.25), CASE, 75.0).with_leak(("L", 0.75), CASE, 75.0)

    assert 75 + 75 + 75 == pytest.approx(head.resistance_between("1", "2"))


def test_coil_to_coil_bridge_keeps_both_coils() -> None:
    """One bridge between two coils leaves each coil's own reading alone."""
    head = two_coils().with_leak("2", ("R", 0.5), 4.0)

    assert 300.0 == pytest.approx(head.resistance_between("1", "2"))
    assert 310.0 == pytest.approx(head.resistance_between("3", "4"))
    assert 4.0 + 155.0 == pytest.approx(head.resistance_between("2", "3"))


@pytest.mark.parametrize(("degc", "factor"), [(0, 0.92140), (25, 1.01965), (40, 1.07860)])
def test_copper_temperature_rows(degc: float, factor: float) -> None:
    """Copper's resistance follows its temperature by the published rows."""
    # IEC 60028, and NBS Circular 31 (Copper Wire Tables): 0.00393 per kelvin at 20 degC.
    head = two_coils().at_temperature(degc)

    assert factor == pytest.approx(head.resistance_between("1", "2") / 300.0, abs=5e-6)


def test_leak_does_not_follow_the_copper() -> None:
    """A leak keeps its resistance when the copper warms up."""
    head = two_coils(temperature_degc=40.0).with_leak("1", CASE, 1000.0)

    assert 1000.0 == pytest.approx(head.resistance_between("1", CASE))


@pytest.mark.parametrize(
    ("at", "from_first", "from_second"),
    [
        (0.0, math.inf, 150.0),
        (0.2, math.inf, 150.0),
        (0.5, 150.0, math.inf),
        (0.9, 150.0, math.inf),
        (1.0, 150.0, math.inf),
    ],
)
def test_a_broken_coil_keeps_its_two_halves(
    at: float, from_first: float, from_second: float
) -> None:
    """A break opens the coil, and what leaks is seen from the side it is on."""
    head = two_coils().with_leak(("L", 0.5), CASE, 0.0).with_open("L", at)

    assert math.inf == head.resistance_between("1", "2")
    assert from_first == pytest.approx(head.resistance_between("1", CASE))
    assert from_second == pytest.approx(head.resistance_between("2", CASE))


def test_coil_of_infinite_resistance_is_open() -> None:
    """A coil may simply be given as open, and may still leak at its pins."""
    head = two_coils().with_resistance("L", math.inf).with_leak(("L", 1.0), CASE, 5.0)

    assert math.inf == head.resistance_between("1", "2")
    assert 5.0 == pytest.approx(head.resistance_between("2", CASE))


@pytest.mark.parametrize(("share", "left"), [(0.001, 299.7), (0.01, 297.0), (0.1, 270.0)])
def test_shorted_turns_take_only_their_share(share: float, left: float) -> None:
    """Shorted turns lower the reading by their share and no more."""
    # derived: at DC the shorted turns are missing, and nothing else changes
    head = two_coils().with_shorted_turns("L", share)

    assert left == pytest.approx(head.resistance_between("1", "2"))


def test_shorted_ends_read_zero() -> None:
    """All turns shorted is a dead short between the pins."""
    assert 0.0 == two_coils().with_shorted_turns("R").resistance_between("3", "4")


def test_faults_leave_the_original_alone() -> None:
    """A fault gives another head; the one before stays sound."""
    sound = two_coils()
    sound.with_open("L")
    sound.with_leak("1", CASE, 1.0)

    assert two_coils() == sound


def four_pin_kind(*, case: bool) -> HeadKind:
    """Give a kind of two independent coils."""
    return HeadKind(
        "bench-two",
        "two coils",
        (
            CoilSpec("L", Role.RECORD_PLAYBACK, ("1", "2"), "any"),
            CoilSpec("R", Role.RECORD_PLAYBACK, ("3", "4"), "any"),
        ),
        case=case,
    )


def test_head_of_a_kind() -> None:
    """A head is made from its kind and one resistance a coil."""
    head = SimulatedHead.of_kind(
        four_pin_kind(case=False), {"R": 310.0, "L": 300.0}, temperature_degc=25.0
    )

    assert ("1", "2", "3", "4") == head.pins
    assert 310.0 * 1.01965 == pytest.approx(head.resistance_between("3", "4"))


@pytest.mark.parametrize(
    ("given_ohm", "words"),
    [
        ({"L": 300.0}, "no resistance was given for coil R"),
        ({"L": 300.0, "R": 1.0, "X": 2.0}, "no coil of 'bench-two' is called 'X'"),
    ],
)
def test_head_of_a_kind_wants_all_coils(given_ohm: dict[str, float], words: str) -> None:
    """A coil left out, or one too many, is named."""
    with pytest.raises(InputError, match=words):
        SimulatedHead.of_kind(four_pin_kind(case=True), given_ohm)


def test_unknown_pin_lists_the_pins() -> None:
    """A pin that is not there is answered with those that are."""
    head = SimulatedHead.of_kind(four_pin_kind(case=False), {"L": 300.0, "R": 310.0})

    with pytest.raises(InputError, match="'9'") as caught:
        head.resistance_between("1", "9")
    with pytest.raises(InputError, match="'case'"):
        head.resistance_between("1", CASE)

    assert "1, 2, 3, 4" in str(caught.value)


@pytest.mark.parametrize("ohm", [0.0, -3.0, math.nan])
def test_impossible_coil_is_refused(ohm: float) -> None:
    """A coil has more than zero ohm."""
    with pytest.raises(InputError, match="coil 'L' was given"):
        two_coils().with_resistance("L", ohm)


def test_coil_on_one_pin_is_refused() -> None:
    """A coil has two different pins."""
    with pytest.raises(InputError, match="begins and ends at pin '1'"):
        SimulatedHead({"L": ("1", "1", 300.0)})


def test_impossible_faults_are_refused() -> None:
    """Faults outside a coil, of less than zero ohm, or of unknown coils are refused."""
    head = two_coils()

    with pytest.raises(InputError, match="a leak was given -1"):
        head.with_leak("1", CASE, -1.0)
    with pytest.raises(InputError, match="a leak was given nan"):
        head.with_leak("1", CASE, math.nan)
    with pytest.raises(InputError, match=r"fraction 1\.2 along coil 'L'"):
        head.with_open("L", 1.2)
    with pytest.raises(InputError, match="no coil of this head is called 'X'"):
        head.with_leak(("X", 0.5), CASE, 1.0)
    with pytest.raises(InputError, match="no coil of this head is called 'X'"):
        head.with_resistance("X", 1.0)
    with pytest.raises(InputError, match="share of turns"):
        head.with_shorted_turns("L", 0.0)
    with pytest.raises(InputError, match="no point along it"):
        head.with_resistance("L", math.inf).with_leak(("L", 0.5), CASE, 1.0)
    with pytest.raises(InputError, match="-300"):
        head.at_temperature(-300.0)
