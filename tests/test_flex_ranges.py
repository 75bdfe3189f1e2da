"""Flexing with a meter that ranges by itself: OL of its own, and coarse readings."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math

import pytest
from flex_streams import at_rest

from coilmeter.compute.flex import flex
from coilmeter.compute.flex_scan import FlexPoint
from coilmeter.values import FlexResult, Stability


def ranging(end_ohm: float | None, level: float = 395.0) -> FlexResult:
    """Flicker past the range now and then, the meter going to a coarser range each time."""
    made = []
    for number in range(200):
        at, phase = 2.5 + number / 10, number % 40
        if phase == 20:
            made.append(FlexPoint(at, math.inf, 10e3, 40e6))
        elif phase == 21:
            made.append(FlexPoint(at, float(round(level)), 1.0, 4000.0))
        else:
            made.append(FlexPoint(at, level, 0.1, end_ohm))
    return flex(made, at_rest(level, end_ohm=end_ohm))


@pytest.mark.parametrize("end_ohm", [400.0, None], ids=["range told", "range not told"])
def test_ol_as_the_meter_changes_its_range_is_doubtful(end_ohm: float | None) -> None:
    """Near the end of its range a meter shows OL by itself as it goes to the next."""
    found = ranging(end_ohm)

    assert Stability.UNDECIDED == found.evidence.stability
    assert (0, 5) == (found.evidence.figures.dropouts, found.evidence.figures.doubtful)
    assert "it may be the meter's own" in found.reason
    assert "next higher range" in found.next
    assert ("--meter" in found.next) is (end_ohm is None)


@pytest.mark.parametrize("end_ohm", [400.0, None], ids=["range told", "range not told"])
def test_ol_far_from_the_end_of_the_range_is_the_joint(end_ohm: float | None) -> None:
    """A meter in the middle of its range leaves it only because the joint has opened."""
    found = ranging(end_ohm, level=150.0)

    assert Stability.INTERMITTENT == found.evidence.stability
    assert (5, 0) == (found.evidence.figures.dropouts, found.evidence.figures.doubtful)


def test_at_the_very_end_of_a_fixed_range_all_ol_is_doubtful() -> None:
    """399.8 ohm on 400 ohm: its own flicker is over the range, for as long as it likes."""
    made = [
        FlexPoint(2.5 + n / 10, math.inf if n % 50 > 40 else 399.8, 0.1, 400.0)
        for n in range(200)
    ]
    found = flex(made, at_rest(399.8, end_ohm=400.0))

    assert Stability.UNDECIDED == found.evidence.stability
    assert 0 == found.evidence.figures.dropouts


def test_doubtful_ones_beside_certain_ones_are_said() -> None:
    """Where others decide, those at the change of range are left out and told."""
    sure = [FlexPoint(30.0 + n / 10, math.inf if 5 < n < 12 else 395.0, 0.1) for n in range(30)]
    doubtful = [
        FlexPoint(2.5 + n / 10, math.inf if n == 20 else 395.0, 10e3 if n == 20 else 0.1, 400.0)
        for n in range(50)
    ]
    found = flex([*doubtful, *sure], at_rest(395.0))

    assert Stability.INTERMITTENT == found.evidence.stability
    assert any("OL 1 time more near the end" in note for note in found.notes)


def test_a_coarser_range_after_a_drop_out_is_no_change() -> None:
    """0.171 kohm beside 171.3 ohm is the same resistance, and no scatter either."""
    found = ranging(400.0, level=150.4)

    assert (0, 0) == (found.evidence.figures.jumps, found.evidence.figures.blips)
    assert 0.0 == pytest.approx(found.evidence.figures.scatter_ohm, abs=1e-9)


def test_a_value_past_the_open_limit_is_no_end_of_a_range() -> None:
    """30 kohm was read, on whichever range: it is the joint, wherever the level lies."""
    made = [
        FlexPoint(2.5 + n / 10, 30e3 if n % 40 == 20 else 395.0, 10.0 if n % 40 == 20 else 0.1)
        for n in range(200)
    ]
    found = flex(made, at_rest(395.0))

    assert Stability.INTERMITTENT == found.evidence.stability
    assert (5, 0) == (found.evidence.figures.dropouts, found.evidence.figures.doubtful)
