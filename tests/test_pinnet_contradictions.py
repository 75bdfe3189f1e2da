"""Readings that cannot all be right are named, and nothing is guessed from them."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import pytest
from helpers import rows, settings
from pin_meters import FOUR, LIMITS, head

from coilmeter.compute.pinnet import map_of
from coilmeter.compute.pinnet_pairs import put_together
from coilmeter.compute.pinnet_readings import pair_readings
from coilmeter.errors import MistakesError
from coilmeter.values.pinmaps import MapStatus, PinField, PinMap, Shape

THREE = PinField((("1", "2", "3"),), case=False)
HEADER = "pins,reading,range\n"


def read(text: str, field: PinField = THREE, **changes: str) -> PinMap:
    """Map the rows of a file under a header of pins, reading and range."""
    chosen = settings(**({"meter": "handheld-4000", "lead": "nulled"} | changes))
    readings = pair_readings(rows(HEADER + text), chosen, field)
    return map_of(put_together(readings, field, LIMITS))


def test_triangle_inequality() -> None:
    """700 ohm where two others add up to 600: all three are named, with their lines."""
    found = read("1-2,300,\n2-3,300,\n1-3,700,\n")
    (wrong,) = found.contradictions

    assert MapStatus.CONTRADICTORY == found.status
    assert {("1", "3"), ("1", "2"), ("2", "3")} == {*wrong.pairs}
    assert (
        "1-3 reads 700 ohm (line 4), although 1-2 reads 300 ohm (line 2), 2-3 reads 300 ohm "
        "(line 3): over these it is 600 ohm at most" == wrong.told
    )


def test_within_the_uncertainty_nothing_is_named() -> None:
    """602 ohm on another range is within what the meter states: a tap, and no contradiction."""
    found = read("1-2,300.0,400 ohm\n2-3,300.0,400 ohm\n1-3,602,4 kohm\n")

    assert () == found.contradictions
    assert MapStatus.CERTAIN == found.status


def test_ol_between_pins_that_conduct() -> None:
    """1 conducts to 2 and 2 to 3: then 1 to 3 cannot read OL."""
    found = read("1-2,184,\n2-3,185,\n1-3,OL,40 Mohm\n")
    (wrong,) = found.contradictions

    assert "1-3 reads OL past 40 Mohm (line 4), although 1-2 reads 184 ohm" in wrong.told
    assert "over these it is 369 ohm at most" in wrong.told


def test_ol_on_a_low_range_contradicts_nothing() -> None:
    """OL past 400 ohm and two coils of 250 ohm in a row agree."""
    found = read("1-2,250,\n2-3,250,\n1-3,OL,400 ohm\n")

    assert () == found.contradictions
    assert MapStatus.OPEN == found.status


def test_a_beep_counts_as_what_it_is_below() -> None:
    """Two beeps of 50 ohm in a row refute 184 ohm across both."""
    found = read("1-2,beep 50 ohm,\n2-3,beep 50 ohm,\n1-3,184,\n")

    assert "over these it is 100 ohm at most" in found.contradictions[0].told


def test_the_same_pair_twice() -> None:
    """Two readings of one pair that differ are both named."""
    found = read("1-2,184.0,400 ohm\n1-2,212.0,400 ohm\n")
    (wrong,) = found.contradictions

    assert (("1", "2"),) == wrong.pairs
    assert wrong.told.startswith(
        "1-2 reads 184.0 ohm (line 2), and 1-2 reads 212.0 ohm (line 3)"
    )
    assert "a contact was bad, a joint is loose, or the clips were elsewhere" in wrong.told


def test_the_same_pair_twice_alike() -> None:
    """Two readings of one pair that agree count as their mean."""
    found = read("1-2,184.0,400 ohm\n2-1,184.4,400 ohm\n")

    assert () == found.contradictions
    assert 184.2 == pytest.approx(found.coils[0].ohm)


def test_a_value_and_an_ol() -> None:
    """A pair that conducts once and not the other time."""
    found = read("1-2,184,\n1-2,OL,40 Mohm\n")

    assert "1-2 reads 184 ohm (line 2), and 1-2 reads OL past 40 Mohm" in (
        found.contradictions[0].told
    )


@pytest.mark.parametrize(
    "lines",
    [
        "1-2,300,\n2-3,300,\n1-3,700,4 kohm\n3-1,610,4 kohm\n",
        "1-2,300,\n2-3,300,\n1-3,900,4 kohm\n",
        "1-2,184,\n1-2,OL,40 Mohm\n",
    ],
    ids=["both ways round", "a broken sum", "a value and an OL"],
)
def test_nothing_is_guessed_from_what_contradicts(lines: str) -> None:
    """No coil and no shape is told from such readings, and nothing is called certain."""
    found = read(lines)
    group = found.groups[0]

    assert MapStatus.CONTRADICTORY == found.status
    assert (Shape.OPEN, ()) == (group.shape, group.links)
    assert () == found.coils
    assert group.told.endswith("is not told from readings that contradict")


def test_asymmetric_polarity() -> None:
    """The other way round it reads otherwise: what is in the path is no coil."""
    found = read("1-2,184.0,400 ohm\n2-1,260.0,400 ohm\n")

    assert "the other way round: a semiconductor, corrosion or a thermal voltage" in (
        found.contradictions[0].told
    )


def test_no_network_reads_like_this() -> None:
    """No sum is broken, and still no resistors read so: all readings among them are named.

    In a ring of four equal links opposite pins read 4/3 of what neighbours read, and any
    further link brings that down (Klein and Randic 1993, C_n): 100 against 56 ohm is
    beyond every network.
    """
    neighbours = "1-3,{0},\n1-4,{0},\n2-3,{0},\n2-4,{0},\n"
    ring = read(f"1-2,100.0,\n3-4,100.0,\n{neighbours.format('75.0')}", FOUR)
    found = read(f"1-2,100.0,\n3-4,100.0,\n{neighbours.format('56.0')}", FOUR)

    assert () == ring.contradictions
    assert MapStatus.CONTRADICTORY == found.status
    assert "no network of resistors reads like this among pins 1, 2, 3, 4" in (
        found.contradictions[0].told
    )
    assert 6 == len(found.contradictions[0].pairs)


def test_each_contradiction_once() -> None:
    """Three readings that break one sum are one contradiction, not three."""
    found = read("1-2,300,\n2-3,300,\n1-3,900,\n")

    assert 1 == len(found.contradictions)


@pytest.mark.parametrize(
    ("text", "place", "expected"),
    [
        ("1-9,184,\n", "pins", "two points of the field: 1, 2, 3"),
        ("1-2,-30,\n", "reading", "a resistance, which cannot be negative"),
        ("1-case,OL,\n", "pins", "two points of the field"),
    ],
    ids=["a pin that is not there", "below zero", "no case here"],
)
def test_mistakes(text: str, place: str, expected: str) -> None:
    """What cannot be a reading of this field is told by file, line and column."""
    with pytest.raises(MistakesError, match=f"bench.csv:2: {place}: .*{expected}") as caught:
        read(text)

    assert "nothing was mapped" in str(caught.value)


def test_rows_without_pins() -> None:
    """A reading of a coil by its name belongs nowhere in a field of pins."""
    with pytest.raises(MistakesError, match="pins: saw 'no pins'"):
        pair_readings(rows("coil,reading\n1,184\n"), settings(), THREE)


def test_a_sound_head_has_none() -> None:
    """All pairs of two sound coils, as a meter shows them."""
    bench = head("1-2 184", "3-4 186")
    lines = []
    for a, b in (("1", "2"), ("3", "4"), ("1", "3"), ("2", "4"), ("1", "4"), ("2", "3")):
        ohm = bench.resistance_between(a, b)
        lines.append(
            f"{a}-{b},{'OL' if ohm > 1e9 else f'{ohm:.1f}'},{'40 Mohm' if ohm > 1e9 else ''}"
        )
    found = read("\n".join(lines) + "\n", PinField((("1", "2"), ("3", "4")), case=False))

    assert () == found.contradictions
    assert MapStatus.CERTAIN == found.status
