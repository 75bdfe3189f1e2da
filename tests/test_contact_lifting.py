"""Clips lifted after a reading: what is a lift, what is none, and what is said of it."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import pytest
from contact_tapes import COIL, OTHER, RATES, tape
from walk_helpers import OL, VOLTS, Tape, bad_resistances, names, ohms_of

from coilmeter.values import Reading
from coilmeter.walks.contact import State
from coilmeter.walks.events import LiftLonger


def state(of: Tape) -> State | None:
    """Tell what the watcher of a walk waits for."""
    return None if of.walk.watcher is None else of.walk.watcher.state


@RATES
def test_a_joint_that_drops_out_is_no_lift(rate_hz: float) -> None:
    """After a capture, 0.3 s of OL from a flaky joint credits nobody else with the coil."""
    bench = tape(rate_hz=rate_hz)
    bench.play(3.0, COIL)
    for _ in range(5):
        bench.play(0.3, OL)
        bench.play(3.0, COIL)
    still = bench.taken
    bench.play(2.0, OL)
    bench.play(3.0, OTHER)

    assert [("coil 1", "171.3 ohm")] == still
    assert [("coil 1", "171.3 ohm"), ("coil 2", "172.9 ohm")] == bench.taken


def test_clips_moved_too_quickly_wait_for_a_lift() -> None:
    """Half a second in the air is not told from a drop-out: LIFT stays, nothing is taken."""
    bench = tape()
    bench.play(2.0, COIL)
    bench.play(0.5, OL)
    bench.play(3.0, OTHER)

    assert [("coil 1", "171.3 ohm")] == bench.taken
    assert State.LIFTING is state(bench)


@RATES
def test_clips_moved_too_quickly_are_told_once(rate_hz: float) -> None:
    """Back on after half a second: a longer lift is asked for, once in a step."""
    bench = tape(rate_hz=rate_hz)
    bench.play(3.0, COIL)
    for _ in range(3):
        bench.play(0.5, OL)
        bench.play(1.5, OTHER)
    told = [event for event in bench.events if isinstance(event, LiftLonger)]
    early = bench.taken
    bench.play(2.0, OL)
    bench.play(3.0, OTHER)
    bench.play(0.5, OL)
    bench.play(1.5, COIL)
    again = [event for event in bench.events if isinstance(event, LiftLonger)]

    assert [LiftLonger(bench.walk.steps[1])] == told
    assert [("coil 1", "171.3 ohm")] == early
    assert [("coil 1", "171.3 ohm"), ("coil 2", "172.9 ohm")] == bench.taken
    assert [LiftLonger(step) for step in bench.walk.steps[1:]] == again


def test_a_joint_that_drops_out_for_one_reading_is_told() -> None:
    """It cannot be told from a new contact, so that the same is said, and nothing is taken."""
    bench = tape()
    bench.play(2.0, COIL)
    bench.play(0.1, OL)
    bench.play(3.0, COIL)

    assert ["Contact", "Taken", "Lift", "LiftLonger"] == names(bench.events)


def test_clips_that_bounce_as_they_are_lifted_are_not_told() -> None:
    """A value for a moment between two OLs is no new contact."""
    bench = tape()
    bench.play(2.0, COIL)
    for _ in range(3):
        bench.play(0.2, OL)
        bench.play(0.2, ohms_of(480.0))
    bench.play(1.5, OL)
    bench.play(2.0, OTHER)

    assert "LiftLonger" not in names(bench.events)
    assert [("coil 1", "171.3 ohm"), ("coil 2", "172.9 ohm")] == bench.taken


@pytest.mark.parametrize("between", [VOLTS, *bad_resistances()])
def test_what_came_before_something_else_is_not_told(between: Reading) -> None:
    """After readings that tell nothing of the clips, a short OL before them is forgotten."""
    bench = tape()
    bench.play(2.0, COIL)
    bench.play(0.5, OL)
    bench.play(0.1, between)
    bench.play(2.0, COIL)

    assert "LiftLonger" not in names(bench.events)


def test_refused_while_the_clips_must_be_lifted() -> None:
    """What came in between is no lift: the clips are still on the coil that was taken."""
    bench = tape()
    bench.play(1.5, COIL)
    bench.play(3.0, VOLTS)
    bench.play(3.0, COIL)

    assert [("coil 1", "171.3 ohm")] == bench.taken
