"""A walk whose meter is away for a while: nothing is believed of the clips across the gap."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math

import pytest
from helpers import shipped
from hypothesis import given, settings
from hypothesis import strategies as st
from test_contact_any import STREAMS
from walk_helpers import OL, VOLTS, ListKeeper, Tape, names, ohms_of, steps_of, walk_over

from coilmeter.values import Reading, numbered_kind
from coilmeter.walks.contact import State
from coilmeter.walks.contact_rule import ContactRule
from coilmeter.walks.events import Begun, Event, Lift, MeterAway, MeterBack, Taken

COIL = ohms_of(171.3)
OTHER = ohms_of(172.9)
TIP = ohms_of(0.2)
SHORT_S = 0.1
"""A gap far below that at which a watcher begins again by itself."""


def tape(coils: int = 2) -> Tape:
    """Make a walk over coils."""
    return Tape(walk_over(steps_of(numbered_kind(coils))))


def gap(bench: Tape) -> list[Event]:
    """Unplug the meter for a moment, and plug it in again."""
    events = bench.walk.interrupted("the meter is unplugged", "plug it in again")
    bench.wait(SHORT_S)
    events += bench.walk.resumed("the meter is back")
    bench.events += events
    return events


def test_what_is_said() -> None:
    """What happened and what to do; then that it is back, and the step once more."""
    bench = tape()
    (away, back, begun) = gap(bench)

    assert MeterAway("the meter is unplugged", "plug it in again") == away
    assert MeterBack("the meter is back") == back
    assert Begun(bench.walk.steps[0], 1, 2) == begun


def test_half_settled_is_begun_again() -> None:
    """However short the gap was, readings before and after are not of one run."""
    bench = tape()
    bench.play(0.7, COIL)
    gap(bench)
    bench.play(0.7, ohms_of(171.5))
    early = bench.taken
    bench.play(0.4, ohms_of(171.5))
    (row,) = [event.row for event in bench.events if isinstance(event, Taken)]

    assert [] == early
    assert [("coil 1", "171.5 ohm")] == bench.taken
    assert row.count <= 11


def test_half_proved_is_begun_again() -> None:
    """A tip before the gap proves no OL after it."""
    bench = tape()
    bench.play(5.0, OL)
    bench.play(0.5, TIP)
    gap(bench)
    bench.play(3.0, OL)

    assert [] == bench.taken


def test_a_question_before_the_gap_is_asked_again() -> None:
    """Clips that brush each other right after it are no answer to a question of before."""
    bench = tape()
    bench.play(5.0, OL)
    gap(bench)
    bench.play(0.5, OL)
    bench.play(0.5, TIP)
    bench.play(3.0, OL)
    early = bench.taken
    bench.play(2.0, OL)
    bench.play(0.5, TIP)
    bench.play(2.0, OL)

    assert [] == early
    assert [("coil 1", "OL")] == bench.taken
    assert 2 == names(bench.events).count("AskBridge")


def test_clips_that_sat_on_a_coil_must_still_be_lifted() -> None:
    """What was taken before the gap does not pass for the next coil; lifting is said."""
    bench = tape()
    bench.play(2.0, COIL)
    said = gap(bench)
    bench.play(3.0, COIL)
    early = bench.taken
    bench.play(1.5, OL)
    bench.play(1.5, OTHER)

    assert [("coil 1", "171.3 ohm")] == early
    assert Lift(bench.walk.steps[1]) == said[-1]
    assert [("coil 1", "171.3 ohm"), ("coil 2", "172.9 ohm")] == bench.taken


@pytest.mark.parametrize("command", ["skip", "type"])
def test_a_command_meanwhile_does_not_take_the_clips_for_lifted(command: str) -> None:
    """Skipped or typed while nothing comes: the clips may still sit on that coil."""
    bench = tape()
    bench.play(0.5, COIL)
    bench.walk.interrupted("gone", "wait")
    bench.events += bench.walk.skip() if command == "skip" else bench.walk.type("171.3")
    bench.events += bench.walk.resumed("back")
    before = len(bench.taken)
    bench.play(3.0, COIL)
    early = bench.taken[before:]
    bench.play(1.5, OL)
    bench.play(1.5, OTHER)

    assert [] == early
    assert [("coil 2", "172.9 ohm")] == bench.taken[before:]


def test_keys_that_speak_of_what_the_meter_shows_do_nothing_meanwhile() -> None:
    """There is no OL to be confirmed, and nothing doubtful to be kept."""
    kind = shipped().kind("two-channel-rp-no-case")
    bench = Tape(walk_over(steps_of(kind, isolation=True)))
    bench.play(1.5, OL)
    bench.walk.interrupted("gone", "wait")
    no_overload = bench.walk.confirm_open()
    bench.walk.resumed("back")
    bench.walk.skip()
    bench.play(1.5, OL)
    bench.play(2.0, COIL)
    doubtful = names(bench.events).count("ReadsLikeACoil")
    bench.walk.interrupted("gone", "wait")
    kept = bench.walk.keep_it()

    assert [] == no_overload
    assert 1 == doubtful
    assert [] == kept
    assert [] == bench.taken


def test_what_stands_in_the_way_is_said_again() -> None:
    """A meter that comes back on volts is told so, though it was told before."""
    bench = tape()
    bench.play(0.5, VOLTS)
    gap(bench)
    bench.play(0.5, VOLTS)

    assert ["Refused", "MeterAway", "MeterBack", "Refused"] == names(bench.events)


def test_a_walk_that_is_over_or_not_begun_says_no_more() -> None:
    """There is no step to begin again."""
    early = walk_over(steps_of(numbered_kind(1)))
    bench = tape(1)
    bench.play(2.0, COIL)

    assert ["MeterAway"] == names(early.interrupted("gone", "wait"))
    assert ["MeterBack"] == names(early.resumed("back"))
    assert ["MeterAway", "MeterBack"] == names(gap(bench))
    assert bench.walk.finished


INTERRUPTIONS = st.lists(st.integers(0, 120), max_size=6)


@settings(max_examples=200, deadline=None)
@given(STREAMS, INTERRUPTIONS)
def test_interrupted_anywhere(
    stream: list[tuple[float, Reading, int]], places: list[int]
) -> None:
    """No value holds a reading from before a gap, and two of them have a lift between them."""
    walk = walk_over(steps_of(numbered_kind(3), isolation=True), ListKeeper())
    walk.start()
    at, number, open_since, lifted = 0.0, 0, math.inf, True
    since_gap = 0
    for pause, reading, times in stream:
        for _ in range(times):
            if number in places:
                walk.interrupted("gone", "wait")
                walk.resumed("back")
                since_gap, open_since = 0, math.inf
            number += 1
            at += pause
            since_gap += 1
            open_since = min(open_since, at) if reading.overload else math.inf
            lifted = lifted or at - open_since >= ContactRule().lift_s
            for event in walk.feed(at, reading):
                if not isinstance(event, Taken):
                    continue

                assert event.row.count <= since_gap
                assert event.row.proof or lifted
                lifted = lifted and bool(event.row.proof)


def test_the_screen_is_told_what_the_clips_do() -> None:
    """A new watcher waits for a contact, or for the lift that was waited for before."""
    bench = tape()
    gap(bench)
    states = [bench.walk.watcher and bench.walk.watcher.state]
    bench.play(2.0, COIL)
    gap(bench)
    states.append(bench.walk.watcher and bench.walk.watcher.state)

    assert [State.WAITING, State.LIFTING] == states
