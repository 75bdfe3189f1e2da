"""Maps of heads with faults: bridges, shorts, open coils, leaks, and coils to the case."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from itertools import combinations

import pytest
from pin_meters import EIGHT, FOUR, coil_pins, head, mapped

from coilmeter.values import CASE, Isolation
from coilmeter.values.pinmaps import MapStatus, PinField, PinMap, PinPath, Shape

THREE = PinField((("1", "2", "3"),))
FIVE = PinField((("1", "2", "3", "4", "R"),))
TWO_COILS = head("1-2 184", "3-4 186")
STAR = head("1-R 184", "2-R 185", "3-R 186", "4-R 183")


def shapes(found: PinMap) -> list[tuple[str, Shape]]:
    """Pins and shape of each group but the case."""
    return [
        ("-".join("=".join(node) for node in group.nodes), group.shape)
        for group in found.groups
        if group.shape is not Shape.CASE
    ]


def conducting(found: PinMap) -> list[PinPath]:
    """Paths that conduct by themselves."""
    return [
        path
        for path in found.paths
        if path.verdict in {Isolation.LEAKING, Isolation.BRIDGED} and not path.through
    ]


def told(found: PinMap) -> str:
    """Everything that is said of the groups."""
    return "; ".join(group.told for group in found.groups)


@pytest.mark.parametrize("ohm", [12.0, 50.0, 3000.0, 15_000.0])
def test_resistive_bridge_between_pins(ohm: float) -> None:
    """Two pins a coil, and a link that reads like neither: a bridge, with its pins."""
    found = mapped(TWO_COILS.with_leak("1", "3", ohm), FOUR, own_ohm=0.02)
    (bridge,) = [link for group in found.groups for link in group.links if not link.is_coil]

    assert [("1-2-3-4", Shape.BRIDGED)] == shapes(found)
    assert ("1", "3") == bridge.pins
    assert ohm == pytest.approx(bridge.ohm, rel=1e-3)
    assert {frozenset("12"), frozenset("34")} == coil_pins(found)
    assert found.faulty


def test_dead_bridge() -> None:
    """A dead short between two coils makes two pins one."""
    found = mapped(TWO_COILS.with_leak("2", "3", 0.0), FOUR)

    assert [("1-2=3-4", Shape.BRIDGED)] == shapes(found)
    assert "pins 2 and 3 are joined by a dead short" in told(found)
    assert "a bridge between two coils, or a return of both" in told(found)
    assert found.faulty


@pytest.mark.parametrize("pair", list(combinations(FOUR.points, 2)))
def test_a_dead_short_in_every_position(pair: tuple[str, str]) -> None:
    """Wherever the short is, its two points are one, and the map is no sound one."""
    found = mapped(TWO_COILS.with_leak(*pair, 0.0), FOUR)
    joined = [node for group in found.groups for node in group.nodes if len(node) > 1]

    assert [pair] == joined
    assert found.faulty
    assert not found.contradictions


@pytest.mark.parametrize("opened", ["1", "2", "3", "4"])
def test_an_open_coil_in_every_position(opened: str) -> None:
    """Its two pins have no partner; the other coils are found."""
    bench = head("1-4 184", "2-8 185", "3-5 186", "6-7 183").with_open(opened)
    found = mapped(bench, EIGHT)
    pins = {"1": "14", "2": "28", "3": "35", "4": "67"}

    assert tuple(pins[opened]) == found.floating
    assert {frozenset(pair) for number, pair in pins.items() if number != opened} == coil_pins(
        found
    )
    assert MapStatus.CERTAIN == found.status
    assert found.faulty


@pytest.mark.parametrize("ohm", [4.0, 100.0, 10_000.0])
def test_bridge_between_the_ends_of_a_common_return(ohm: float) -> None:
    """Four coils that are alike, and one link that is not."""
    found = mapped(STAR.with_leak("1", "2", ohm), FIVE, own_ohm=0.02)
    (bridge,) = [link for group in found.groups for link in group.links if not link.is_coil]

    assert [("1-2-3-4-R", Shape.BRIDGED)] == shapes(found)
    assert ("1", "2") == bridge.pins
    assert ohm == pytest.approx(bridge.ohm, rel=1e-3)


def test_a_ring_is_nothing_simpler() -> None:
    """Two coils bridged at both their ends: the links are told, and no coil is claimed."""
    bench = TWO_COILS.with_leak("1", "3", 50.0).with_leak("2", "4", 20.0)
    found = mapped(bench, FOUR)
    (group,) = [each for each in found.groups if each.shape is not Shape.CASE]

    assert Shape.NETWORK == group.shape
    assert [20, 50, 184, 186] == pytest.approx(sorted(link.ohm or 0 for link in group.links))
    assert () == found.coils
    assert found.faulty


def test_hidden_common_point() -> None:
    """Three windings whose common point is not brought out, or a delta: said to be either."""
    found = mapped(head("1-X 300", "2-X 300", "3-X 310"), THREE)

    assert [("1-2-3", Shape.HIDDEN)] == shapes(found)
    assert "with 1 300 ohm, 2 300 ohm, 3 310 ohm to it" in told(found)
    assert "1-2 890.32 ohm, 1-3 920.00 ohm, 2-3 920.00 ohm: ohms cannot" in told(found)
    assert found.faulty


def test_hidden_common_point_of_four() -> None:
    """The same of four pins, where the sums of opposite pairs are all one."""
    found = mapped(head("1-X 100", "2-X 200", "3-X 300", "4-X 310"), FOUR)

    assert [("1-2-3-4", Shape.HIDDEN)] == shapes(found)
    assert "with 1 100 ohm, 2 200 ohm, 3 300 ohm, 4 310 ohm to it" in told(found)


@pytest.mark.parametrize("ohm", [20.0, 500.0, 5000.0])
@pytest.mark.parametrize("fraction", [0.0, 0.3, 1.0])
def test_leak_to_the_case_with_its_place(fraction: float, ohm: float) -> None:
    """Rf = (a + b - R) / 2, at (a - Rf) / R of the way (derived)."""
    found = mapped(TWO_COILS.with_leak(("1", fraction), CASE, ohm), FOUR, own_ohm=0.2)
    (path,) = conducting(found)
    where = {0.0: "at pin 1", 1.0: "at pin 2", 0.3: "of the way from pin 1 to pin 2"}

    assert Isolation.LEAKING == path.verdict
    assert ohm == pytest.approx(path.ohm, abs=1.0)
    assert path.places[0].endswith(where[fraction])
    assert "at 30 +/- 1 %" in path.places[0] or fraction != 0.3
    assert {frozenset("12"), frozenset("34")} == coil_pins(found)


def test_the_place_of_a_large_leak_is_not_told() -> None:
    """Beyond fifty times the coil the two ends read alike."""
    found = mapped(TWO_COILS.with_leak(("1", 0.3), CASE, 220e3), FOUR)
    (path,) = conducting(found)

    assert 220e3 == pytest.approx(path.ohm, rel=1e-3)
    assert ("", "") == path.places


def test_bridge_along_two_coils() -> None:
    """From 30 % of one coil to the middle of the other, with no pin at either place."""
    bench = TWO_COILS.with_leak(("1", 0.3), ("2", 0.5), 80.0)
    found = mapped(bench, FOUR)
    (path,) = conducting(found)

    assert [("1-2", Shape.COIL), ("3-4", Shape.COIL)] == shapes(found)
    assert 80 == pytest.approx(path.ohm, abs=0.2)
    assert (
        "at 30 +/- 1 % of the way from pin 1 to pin 2",
        "at 50 +/- 1 % of the way from pin 3 to pin 4",
    ) == path.places


@pytest.mark.parametrize(("one", "other"), [(22.0, 12.0), (220e3, 120e3)])
def test_two_leaks_to_the_case_are_no_bridge(one: float, other: float) -> None:
    """What reads between the coils is the way over the case, and nothing of their own."""
    bench = TWO_COILS.with_leak(("1", 0.3), CASE, one).with_leak(("2", 0.3), CASE, other)
    found = mapped(bench, FOUR)
    between = found.paths[0]

    assert {(0, 2), (1, 2)} == {path.between for path in conducting(found)}
    assert (CASE,) == between.through
    assert [one, other] == pytest.approx(
        [path.ohm for path in conducting(found)], rel=1e-3, abs=0.1
    )


def test_a_coil_shorted_to_the_case_along_its_way() -> None:
    """Dead: the case is a point of the coil, or two coils return through it."""
    found = mapped(TWO_COILS.with_leak(("1", 0.3), CASE, 0.0), FOUR)

    assert ("1-2-case", Shape.BRIDGED) in shapes(found)
    assert "a coil 1-2 that is shorted to the case at 30 %" in told(found)
    assert found.faulty


def test_a_pin_tied_to_the_case() -> None:
    """A dead short to the case is told of the pin."""
    found = mapped(TWO_COILS.with_leak("1", CASE, 0.0), FOUR)

    assert "pin 1 is tied to the case" in told(found)
    assert found.faulty


def test_coils_that_return_through_the_case() -> None:
    """One pin a coil: the case is their common return; never called sound."""
    field = PinField((("1", "2", "3"),))
    found = mapped(head("1-case 184", "2-case 185", "3-case 186"), field)

    assert [("1-2-3-case", Shape.COMMON_RETURN)] == shapes(found)
    assert found.faulty


def test_one_coil_to_the_case() -> None:
    """It may be a broken coil that leaks."""
    found = mapped(head("1-case 184", "2-3 185"), THREE)

    assert "a coil that returns through the case, or a broken one" in told(found)
    assert found.faulty
