"""What a pin map recognises: coils, returns, taps, chains, bridges, leaks and lone pins."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from itertools import combinations

import pytest
from helpers import rows, settings
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from pin_meters import EIGHT, FOUR, LIMITS, coil_pins, exactly, head, mapped, paired, pairings

from coilmeter.compute.pinnet import map_of, name_of
from coilmeter.compute.pinnet_pairs import put_together
from coilmeter.compute.pinnet_readings import PinLimits, pair_readings, pins_of
from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.values import CASE, Isolation
from coilmeter.values.pinmaps import MapStatus, Missing, PinField, PinMap, PinPath, Shape

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


def test_independent_coils_scrambled() -> None:
    """Four coils on eight pins in no order: each with its value, and nothing else."""
    bench = head("1-4 184", "2-8 185", "3-5 186", "6-7 183")
    found = mapped(bench, EIGHT)

    assert MapStatus.CERTAIN == found.status
    assert {frozenset(pair) for pair in ("14", "28", "35", "67")} == coil_pins(found)
    assert [184, 185, 186, 183] == pytest.approx([link.ohm for link in found.coils])
    assert not found.faulty
    assert ["pins 1-4", "pins 2-8", "pins 3-5", "pins 6-7", "the case"] == [
        name_of(group) for group in found.groups
    ]


def test_common_return() -> None:
    """Hot to hot reads the sum of both coils: the return is the pin all others share."""
    found = mapped(STAR, FIVE)

    assert [("1-2-3-4-R", Shape.COMMON_RETURN)] == shapes(found)
    assert {frozenset(pin + "R") for pin in "1234"} == coil_pins(found)
    assert MapStatus.CERTAIN == found.status
    assert not found.faulty


def test_centre_tap_of_a_published_example() -> None:
    """End to end 32.4 ohm and 16.3 ohm to the tap: PROVENANCE.md P1, a service manual's table.

    The other half is 16.1 ohm then; ohms cannot tell a tap from a common return.
    """
    found = mapped(head("1-2 16.3", "2-3 16.1"), THREE)

    assert [("1-2-3", Shape.TAP_OR_RETURN)] == shapes(found)
    assert "centre tap at 2, or two coils on a common return" in told(found)
    assert [16.3, 16.1] == pytest.approx([link.ohm for link in found.coils])


def test_two_unequal_coils_on_a_common_pin() -> None:
    """Three pins with two unequal lows are no centre tap (derived)."""
    found = mapped(head("1-2 300", "2-3 180"), THREE)

    assert [("1-2-3", Shape.UNEQUAL)] == shapes(found)
    assert not found.faulty


def test_series_chain() -> None:
    """Windings in a row, all alike."""
    found = mapped(head("1-2 100", "2-3 102", "3-4 101"), FOUR)

    assert [("1-2-3-4", Shape.CHAIN)] == shapes(found)
    assert 3 == len(found.coils)
    assert "or coils of two pins each" in told(found)


def test_a_chain_of_an_odd_number_of_pins() -> None:
    """Four windings in a row cannot be coils of two pins each."""
    field = PinField((("1", "2", "3", "4", "5"),))
    found = mapped(head("1-2 100", "2-3 102", "3-4 101", "4-5 99"), field)

    assert [("1-2-3-4-5", Shape.CHAIN)] == shapes(found)
    assert "4 windings in series" in told(found)


def test_windings_that_share_pins_in_a_tree() -> None:
    """Two returns joined by a winding: neither one return nor one row."""
    field = PinField((("1", "2", "A", "B", "3"),))
    found = mapped(head("1-A 100", "2-A 101", "A-B 99", "B-3 100"), field)

    assert [("1-2-A-B-3", Shape.CHAIN)] == shapes(found)
    assert "4 windings that share pins" in told(found)


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


def test_shorted_coil() -> None:
    """Two pins that read near zero are joined; whether a very low coil is open to doubt."""
    sharp = mapped(TWO_COILS.with_shorted_turns("1"), FOUR, own_ohm=0.05)
    coarse = mapped(TWO_COILS.with_shorted_turns("1"), FOUR, own_ohm=0.4)

    assert ("1=2", Shape.JOINED) in shapes(sharp)
    assert MapStatus.CERTAIN == sharp.status
    assert ("1=2", Shape.JOINED) in shapes(coarse)
    assert [Missing.DOUBT] == [gap.what for gap in coarse.gaps]
    assert "null the leads or use four wires" in coarse.gaps[0].told


def test_a_very_low_coil_is_not_a_short() -> None:
    """An erase coil of 0.8 ohm, read well enough, stays a coil."""
    found = mapped(head("1-2 0.8", "3-4 184"), FOUR, own_ohm=0.05)

    assert {frozenset("12"), frozenset("34")} == coil_pins(found)
    assert MapStatus.CERTAIN == found.status


def test_too_uncertain_to_tell() -> None:
    """Two coils of an ohm on one pin, read to half an ohm: nothing is claimed."""
    found = mapped(head("1-2 1.4", "2-3 1.5"), THREE, own_ohm=0.5)

    assert [("1-2-3", Shape.OPEN)] == shapes(found)
    assert MapStatus.OPEN == found.status
    assert "too uncertain" in found.gaps[0].told


def test_what_is_not_read_is_open() -> None:
    """Of a triple two pairs are read: the third decides, and it is named."""
    readings = [exactly(head("1-2 184", "2-3 185"), *pins) for pins in (("1", "2"), ("2", "3"))]
    found = map_of(put_together(readings, THREE, LIMITS))
    (inner,) = [gap for gap in found.gaps if gap.what is Missing.INNER]

    assert [("1-2-3", Shape.OPEN)] == shapes(found)
    assert (("1", "3"),) == inner.pairs
    assert () == found.coils


def test_more_pins_than_readings() -> None:
    """Pins that no reading names are open, each with the pairs that would tell."""
    found = mapped(TWO_COILS, EIGHT, combinations("1234", 2))
    unread = {pin for gap in found.gaps for pair in gap.pairs for pin in pair}

    assert MapStatus.OPEN == found.status
    assert {"5", "6", "7", "8", CASE} <= unread


def test_an_ol_on_a_low_range_leaves_a_coil_open() -> None:
    """OL past 400 ohm excludes no coil of 500; past 100 kohm no leak of a megohm."""
    text = "pins,reading,range\n1-2,184,400 ohm\n1-3,OL,{}\n"
    field = PinField((("1", "2", "3"),), case=False)
    low, high, past = (
        map_of(
            put_together(
                pair_readings(rows(text.format(end)), settings(), field), field, LIMITS
            )
        )
        for end in ("400 ohm", "400 kohm", "40 Mohm")
    )

    assert [Missing.ATTACHED] == [gap.what for gap in low.gaps]
    assert "read only past 400 ohm" in low.gaps[0].told
    assert [Missing.APART] == [gap.what for gap in high.gaps]
    assert "a leak is open, read only past 400 kohm" in high.gaps[0].told
    assert [] == list(past.gaps)


def test_one_to_ten_megohm_is_to_be_repeated() -> None:
    """Between a leak and isolation: clean, dry and repeat."""
    found = mapped(TWO_COILS.with_leak("1", CASE, 3e6), FOUR)
    doubts = [gap for gap in found.gaps if gap.what is Missing.DOUBT]

    assert 1 == len(doubts)
    assert "clean, dry and repeat" in doubts[0].told
    assert Isolation.UNDECIDED in {path.verdict for path in found.paths}


def test_a_beep_conducts_and_has_no_value() -> None:
    """A beep shows that two pins belong together; how well they conduct is open."""
    text = "pins,reading\n1-2,beep\n3-4,184\n1-3,OL 40 Mohm\n"
    field = PinField((("1", "2"), ("3", "4")), case=False)
    found = map_of(put_together(pair_readings(rows(text), settings(), field), field, LIMITS))

    assert [Missing.VALUE] == [gap.what for gap in found.gaps]
    assert "known to conduct, and not how well" in found.gaps[0].told
    assert ("1-2", Shape.OPEN) in shapes(found)


def test_limits_follow_the_settings() -> None:
    """The limits are those of the reference data and of the user."""
    limits = PinLimits.of(settings(leaking_below_ohm=2e6, confidence=0.9))

    assert (0.3, 20e3, 2e6, 0.9) == (
        limits.short_ohm,
        limits.coil_ohm,
        limits.leaking_ohm,
        limits.confidence,
    )
    assert 0.02 == pytest.approx(limits.error)


def test_pins_are_ordered_as_a_person_does() -> None:
    """2 before 10, numbers before letters, and the case is none of them."""
    found = pins_of(rows("pins,reading\n10-2,1\nR-1,1\n1-case,1\n"))

    assert ("1", "2", "10", "R") == found


@hypothesis_settings(deadline=None)
@given(
    st.permutations(EIGHT.pins),
    st.lists(st.floats(30, 2000), min_size=4, max_size=4),
    st.floats(0.01, 0.3),
)
def test_any_pairing_is_found(order: list[str], ohms: list[float], own_ohm: float) -> None:
    """Whatever pins four coils are on, and whatever they read, the map has just these."""
    pairs = [(order[2 * at], order[2 * at + 1]) for at in range(4)]
    bench = SimulatedHead(
        {str(at): (*pair, ohm) for at, (pair, ohm) in enumerate(zip(pairs, ohms, strict=True))}
    )
    found = mapped(bench, EIGHT, own_ohm=own_ohm)

    assert {frozenset(pair) for pair in pairs} == coil_pins(found)
    assert MapStatus.CERTAIN == found.status
    assert not found.faulty


def test_all_pairings_are_105() -> None:
    """The pairings of eight pins are (8 - 1)!! = 105 (counted here, and a known number)."""
    assert 105 == len({frozenset(map(frozenset, each)) for each in pairings(EIGHT.pins)})
    assert 4 == len(paired(pairings(EIGHT.pins)[0]).coils)
