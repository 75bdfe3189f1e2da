"""A head that is said to be of a kind: which readings test it, and what they say of it."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import functools

import pytest
from helpers import shipped
from pin_meters import EIGHT, FOUR, LIMITS, Run, coil_pins, exactly, followed, head

from coilmeter.compute.pinnet import map_of
from coilmeter.compute.pinnet_kinds import refutes
from coilmeter.compute.pinnet_pairs import put_together
from coilmeter.compute.pinplan import Reason, Wishes
from coilmeter.compute.pinplan_kind import (
    Expected,
    against,
    is_tested,
    silent_coils,
    unknown_points,
    wanted,
)
from coilmeter.values import CASE
from coilmeter.values.pinmaps import MapStatus, PinField


def kind_run(*coils: str, kind: str = "four-channel-rp") -> Run:
    """Test a head against a kind."""
    expected = Expected.of(shipped().kind(kind))
    return followed(head(*coils), EIGHT, Wishes(kind=expected))


def test_a_known_kind_gets_only_what_tests_it() -> None:
    """Its coils and the paths that a check asks for, and few clip moves."""
    run = kind_run("1-2 184", "3-4 185", "5-6 186", "7-8 183")
    expected = Expected.of(shipped().kind("four-channel-rp"))

    assert {Reason.KIND} == {ask.reason for ask in run.asked}
    assert 4 + 3 + 4 == len(run.asked)
    assert run.moves <= 16
    assert [] == wanted(expected, run.pairs)
    assert [] == against(expected, run.pairs)


def test_a_head_of_another_wiring_is_searched() -> None:
    """The first reading against the kind ends its test; the map is made as of any head."""
    run = kind_run("1-4 184", "2-8 185", "3-5 186", "6-7 183")
    told = against(Expected.of(shipped().kind("four-channel-rp")), run.pairs)

    assert MapStatus.CERTAIN == run.found.status
    assert {frozenset(pair) for pair in ("14", "28", "35", "67")} == coil_pins(run.found)
    assert "coil 1 should be on 1-2, and 1-2 reads OL past 40 Mohm" in [
        text for _, text in told
    ]
    assert "1 and 4 should not be connected, and 1-4 reads 184 ohm" in [
        text for _, text in told
    ]


def test_a_silent_coil_ends_no_test_of_a_kind() -> None:
    """One coil that reads OL may be open: its kind is tested on, then partners are sought."""
    bench = head("1-2 184", "3-4 185", "5-6 186", "7-8 183").with_open("2")
    expected = Expected.of(shipped().kind("four-channel-rp"))
    run = followed(bench, EIGHT, Wishes(kind=expected))
    kind_first = [ask.reason is Reason.KIND for ask in run.asked]
    silent = silent_coils(expected, run.pairs, run.found)

    assert [True] * 11 == kind_first[:11]
    assert MapStatus.CERTAIN == run.found.status
    assert [("2", ("3", "4"), True)] == [
        (each.name, each.pins, each.certain) for each in silent
    ]
    assert [] == refutes(expected, run.pairs, run.found)
    assert not is_tested(expected, run.pairs)


def test_two_silent_coils_end_the_test_of_a_kind() -> None:
    """Two of them speak for another wiring: the search begins at once."""
    run = kind_run("1-4 184", "2-8 185", "3-5 186", "6-7 183")
    of_kind = [ask for ask in run.asked if ask.reason is Reason.KIND]

    assert len(of_kind) <= 4
    assert MapStatus.CERTAIN == run.found.status


def test_a_silent_coil_that_was_not_looked_into_is_not_called_open() -> None:
    """Only the readings of the kind are there: it is open, or the head is wired otherwise."""
    expected = Expected.of(shipped().kind("two-channel-rp"))
    asked = [("1", "2"), ("3", "4"), ("1", "3"), ("1", CASE), ("3", CASE)]
    readings = [exactly(head("1-2 184", "3-4 184").with_open("1"), *pins) for pins in asked]
    pairs = put_together(readings, FOUR, LIMITS)
    (silent,) = silent_coils(expected, pairs, map_of(pairs))

    assert ("1", False) == (silent.name, silent.certain)
    assert [] == refutes(expected, pairs, map_of(pairs))


@pytest.mark.parametrize("kind", ["two-channel-rp", "coils-3", "four-channel-rp"])
def test_a_kind_is_tested_with_the_fewest_clip_moves(kind: str) -> None:
    """Against every order of its readings, by dynamic programming over what was read."""
    expected = Expected.of(shipped().kind(kind))
    coils = [f"{'-'.join(pins)} 184" for _, pins in expected.coils]
    field = PinField((tuple(pin for _, pins in expected.coils for pin in pins),))
    run = followed(head(*coils), field, Wishes(kind=expected))
    choices = [(pins,) for _, pins in expected.coils] + [pins for _, pins in expected.paths]

    @functools.cache
    def least(left: frozenset[int], clipped: frozenset[str]) -> int:
        return min(
            (
                len({*pins} - clipped) + least(left - {each}, frozenset(pins))
                for each in left
                for pins in choices[each]
            ),
            default=0,
        )

    assert len(choices) == len(run.asked)
    assert least(frozenset(range(len(choices))), frozenset()) == run.moves


def test_a_leak_speaks_against_no_kind() -> None:
    """It is a fault of this head: the test goes on."""
    bench = head("1-2 184", "3-4 185", "5-6 186", "7-8 183").with_leak("1", CASE, 220e3)
    run = followed(bench, EIGHT, Wishes(kind=Expected.of(shipped().kind("four-channel-rp"))))

    assert {Reason.KIND} == {ask.reason for ask in run.asked}
    assert run.found.faulty


def test_pins_of_a_kind_that_the_field_has_not() -> None:
    """They are named."""
    expected = Expected.of(shipped().kind("two-channel-rp-common"))

    assert ["R"] == unknown_points(expected, FOUR.points)
    assert ("1", "R", "2", CASE) == expected.points
