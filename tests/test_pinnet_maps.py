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
from coilmeter.values.pinmaps import MapStatus, Missing, PinField, PinMap, Shape

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
