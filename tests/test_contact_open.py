"""Open coils, told from streams at exact times: the metal tip, the question and the key."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from dataclasses import replace

import pytest
from contact_tapes import COIL, OTHER, RATES, TIP, asked, tape
from walk_helpers import OL, VOLTS, Tape, names, overload, steps_of, walk_over

from coilmeter.values import numbered_kind
from coilmeter.walks.events import Lift, Taken


def test_bridging_before_the_question_is_not_taken() -> None:
    """A tip across the pins for less than a held value is no reading of the coil."""
    bench = tape()
    bench.play(2.3, TIP)
    bench.play(1.5, OL)
    bench.play(2.0, COIL)

    assert [("coil 1", "171.3 ohm")] == bench.taken


def test_a_tip_before_the_question_proves_nothing() -> None:
    """Clips that meet on their way to the pins read like a tip: OL after it is no open coil."""
    bench = tape()
    bench.play(0.6, TIP)
    bench.play(3.0, OL)

    assert [] == bench.taken


def test_a_tip_is_off_in_a_second_and_a_half() -> None:
    """Just below, OL is the coil's own; from there on it is told, and a short may be lifted."""
    bench = asked()
    bench.play(1.5, TIP)
    bench.play(1.0, OL)
    longer = asked()
    longer.play(1.6, TIP)
    longer.play(1.0, OL)

    assert ["AskBridge", "Taken", "Lift"] == names(bench.events)
    assert ["AskBridge", "NearZeroHeld"] == names(longer.events)


def test_a_slow_meter_can_see_a_tip() -> None:
    """At one reading a second, two of them near zero are a tip, and four are none."""
    bench = asked(1.0)
    bench.play(2.0, TIP)
    bench.play(2.0, OL)
    longer = asked(1.0)
    longer.play(4.0, TIP)
    longer.play(3.0, OL)

    assert [("coil 1", "OL")] == bench.taken
    assert [] == longer.taken


@RATES
def test_after_an_open_coil_the_clips_are_lifted_unseen(rate_hz: float) -> None:
    """It is said that they must be, and what conducts again at once is credited to nobody."""
    bench = asked(rate_hz)
    bench.play(1.1, TIP)
    while not bench.taken:
        bench.play(1 / rate_hz, OL)
    bench.play(0.5, OL)
    bench.play(3.0, COIL)
    early = bench.taken
    bench.play(1.6, OL)
    bench.play(3.0, OTHER)

    assert ["AskBridge", "Taken", "Lift", "LiftLonger", "Contact", "Taken", "Lift"] == names(
        bench.events
    )
    assert [True, False] == [event.unseen for event in bench.events if isinstance(event, Lift)]
    assert [("coil 1", "OL")] == early
    assert [("coil 1", "OL"), ("coil 2", "172.9 ohm")] == bench.taken


def test_after_the_last_one_nothing_can_be_mistaken() -> None:
    """An open coil at the end of a walk brings no warning; a path before the end does."""
    bench = tape(1)
    bench.events += bench.walk.confirm_open()
    path = Tape(walk_over(steps_of(numbered_kind(2), isolation=True), done=["coil 1"]))
    while path.walk.step is not None and not path.walk.step.other:
        path.walk.skip()
    path.play(2.0, OL)
    path.events += path.walk.confirm_open()

    assert [Lift(bench.walk.steps[0])] == [
        event for event in bench.events if isinstance(event, Lift)
    ]
    assert [True] == [event.unseen for event in path.events if isinstance(event, Lift)]


def test_the_key_waits_for_the_clips_to_be_moved() -> None:
    """Pressed twice, it credits the next coil with nothing; a second later it is obeyed."""
    bench = tape()
    bench.events += bench.walk.confirm_open()
    bench.events += bench.walk.confirm_open()
    once = bench.taken
    bench.play(1.2, OL)
    bench.events += bench.walk.confirm_open()

    assert [("coil 1", "OL")] == once
    assert [("coil 1", "OL"), ("coil 2", "OL")] == bench.taken


@RATES
def test_a_blip_after_the_question_proves_an_open_coil(rate_hz: float) -> None:
    """The metal tip is seen, so the OL after it is the coil's own."""
    bench = asked(rate_hz)
    bench.play(1.1, TIP)
    bench.play(1.6, OL)
    (row,) = [event.row for event in bench.events if isinstance(event, Taken)]

    assert [("coil 1", "OL")] == bench.taken
    assert ("bridged", 40e6) == (row.proof, row.range_ohm)
    assert {"4f4c"} == set(row.raw.split())


def test_several_blips_prove_it_once() -> None:
    """A tip that bounces, or is laid on twice, is one proof."""
    bench = asked()
    for _ in range(2):
        bench.play(0.4, TIP)
        bench.play(0.2, OL)
    bench.play(2.0, OL)

    assert [("coil 1", "OL")] == bench.taken


def test_clips_that_brush_against_each_other_prove_nothing() -> None:
    """A brush of a fifth of a second is not a tip: the clips may be in the air."""
    bench = asked()
    bench.play(0.2, TIP)
    bench.play(3.0, OL)

    assert [] == bench.taken


def test_after_one_that_was_held_a_short_touch_proves() -> None:
    """A tip held too long is not believed; laid on again for a moment it is."""
    bench = asked()
    bench.play(4.0, TIP)
    bench.play(2.0, OL)
    first = bench.taken
    bench.play(0.5, TIP)
    bench.play(1.0, OL)

    assert [] == first
    assert [("coil 1", "OL")] == bench.taken


def test_a_coil_behind_the_question_is_taken_as_ever() -> None:
    """Whoever was slow with the clips is asked, and then simply clips on."""
    bench = asked()
    bench.play(1.5, COIL)

    assert [("coil 1", "171.3 ohm")] == bench.taken


def test_the_question_is_asked_again() -> None:
    """After a contact that came to nothing the question comes once more."""
    bench = asked()
    bench.play(6.0, OL)
    once = names(bench.events)
    bench.play(0.3, COIL)
    bench.play(6.0, OL)

    assert ["AskBridge"] == once
    assert ["AskBridge", "Contact", "AskBridge"] == names(bench.events)


def test_an_overload_of_another_function_is_no_open_coil() -> None:
    """Neither by itself nor on the key."""
    bench = tape()
    bench.play(5.0, replace(VOLTS, value=None, overload=True))
    bench.events += bench.walk.confirm_open()

    assert ["Refused"] == names(bench.events)


@pytest.mark.parametrize(
    ("ends", "expected"),
    [([40e6, 400.0, 40e6], 400.0), ([40e6, None, 40e6], None), ([4e6, 40e6, 4e6], 4e6)],
)
def test_of_several_ranges_the_lowest_counts(
    ends: list[float | None], expected: float | None
) -> None:
    """An overload means no more than the least that its frames say."""
    bench = asked()
    bench.play(0.4, TIP)
    for end in ends:
        bench.play(0.3, overload(end))
    bench.play(0.3, overload(ends[-1]))
    (row,) = [event.row for event in bench.events if isinstance(event, Taken)]

    assert expected == row.range_ohm


def test_the_key_says_that_the_clips_touch() -> None:
    """One press takes the OL that is shown, and the row keeps how it is known."""
    bench = tape()
    bench.events += bench.walk.confirm_open()
    (row,) = [event.row for event in bench.events if isinstance(event, Taken)]

    assert ("OL", "key", 40e6) == (row.reading.text, row.proof, row.range_ohm)


def test_the_key_is_not_obeyed_where_a_value_is_shown() -> None:
    """Neither on a coil, nor before the clips were lifted, nor before any reading."""
    steps = steps_of(numbered_kind(2))
    fresh = walk_over(steps)
    fresh.start()
    bench = tape()
    bench.play(0.3, COIL)
    on_a_coil = bench.walk.confirm_open()
    bench.play(1.5, COIL)
    bench.play(0.5, OL)

    assert [] == fresh.confirm_open()
    assert [] == on_a_coil
    assert [] == bench.walk.confirm_open()


def test_a_gap_behind_a_tip_proves_nothing() -> None:
    """What the clips did while nothing came is not known."""
    bench = asked()
    bench.play(0.5, TIP)
    bench.wait(3.0)
    bench.play(3.0, OL)

    assert [] == bench.taken
