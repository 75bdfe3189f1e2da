"""The walk that watches one coil: contact, rest, moving, and how it ends."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest
from flex_played import COIL, OPEN, Played, kinds
from helpers import meter_table
from walk_helpers import VOLTS, ohms_of, overload

from coilmeter.compute.flex_rest import REST_LEAST
from coilmeter.values import Flag, Reading, Stability
from coilmeter.walks.events import Refused
from coilmeter.walks.flexing_rest import REST_WITHIN_S, UNTOLD_STEP, point_of
from coilmeter.walks.flexing_told import (
    CameBack,
    Changed,
    ClipOn,
    Creeps,
    DroppedOut,
    End,
    Ended,
    FlexState,
    HoldStill,
    MoveNow,
)


def test_from_contact_to_the_end() -> None:
    """Clip on, hold still, move, and done when the time is over."""
    played = Played(for_s=10.0).moving()
    states = [played.walk.state]
    played.play(COIL, 11.0)
    states.append(played.walk.state)

    assert [ClipOn, HoldStill, MoveNow, Ended] == kinds(played.events)
    assert [MoveNow(171.3, 0.5, rested=True)] == played.said(MoveNow)
    assert [Ended(End.TIME)] == played.said(Ended)
    assert [FlexState.MOVING, FlexState.ENDED] == states
    assert Stability.STEADY == played.result().evidence.stability
    assert 10.0 == pytest.approx(played.result().evidence.figures.duration_s, abs=0.21)


def test_each_drop_out_is_an_event() -> None:
    """As it opens, counted, and as it is back, with how long it took."""
    played = Played().moving()
    for open_s in (0.1, 0.5):
        played.play(COIL, 2.0)
        played.play(OPEN, open_s)
        assert FlexState.OPEN == played.walk.state
    played.play(COIL, 2.0)

    assert [DroppedOut(1), DroppedOut(2)] == played.said(DroppedOut)
    assert [0.1, 0.5] == pytest.approx([event.open_s for event in played.said(CameBack)])
    assert 2 == played.walk.dropouts
    assert Stability.INTERMITTENT == played.result().evidence.stability


def test_a_change_of_level_is_an_event() -> None:
    """There and back are two of them, each with its size."""
    played = Played().moving()
    played.play(ohms_of(181.3), 1.0)
    played.play(COIL, 1.0)

    assert [1, 2] == [event.count for event in played.said(Changed)]
    assert [10.0, -10.0] == pytest.approx([event.jump_ohm for event in played.said(Changed)])
    assert Stability.NOISY == played.result().evidence.stability


def test_a_creep_is_said_once() -> None:
    """While it is going on, and before the end."""
    played = Played()
    played.play(lambda t: ohms_of(round(100 + 3 * t, 1)), 20.0)

    assert 1 == len(played.said(Creeps))
    assert Stability.CREEPING == played.result().evidence.stability


def test_bounce_at_the_contact_is_not_the_joint() -> None:
    """Clips that bounce as they are put on delay the rest, and count for nothing."""
    played = Played()
    for ohm in (300.0, 180.0, 172.0):
        played.play(OPEN, 0.1)
        played.play(ohms_of(ohm), 0.1)
    played.moving().play(COIL, 10.0)

    assert 1 == len(played.said(HoldStill))
    assert Stability.STEADY == played.result().evidence.stability
    assert 171.3 == played.result().evidence.figures.most_ohm


@pytest.mark.parametrize("bounce_s", [0.2, 0.8, 2.0])
@pytest.mark.parametrize("off", [1.5, 0.7, -0.9])
def test_bounce_close_to_the_level_is_not_the_meter(off: float, bounce_s: float) -> None:
    """A clip that still settles within one per cent does not make changes pass for flicker."""
    played, flicker = Played(), Played()
    played.play(lambda t: ohms_of(round(171.3 + off - 0.1 * (t > 0.1), 1)), bounce_s)
    for each in (played, flicker):
        each.play(lambda t: ohms_of(171.3 + 0.1 * (round(t * 10) % 2)), 6.0)
    (found,), (own,) = played.said(MoveNow), flicker.said(MoveNow)

    assert own.jump_limit_ohm == pytest.approx(found.jump_limit_ohm, abs=0.1)
    assert found.rested


def test_a_meter_that_jumps_by_itself_rests_all_the_same() -> None:
    """What goes on for as long as it is waited is the meter's own, and counts as flicker."""
    played = Played()
    played.play(lambda t: ohms_of(171.3 + 1.5 * (round(t * 10) % 7 == 0)), REST_WITHIN_S + 1.0)
    (move,) = played.said(MoveNow)

    assert move.rested
    assert move.jump_limit_ohm > 1.5


def test_clips_that_come_off_before_it_is_moved() -> None:
    """They are asked for again."""
    played = Played()
    played.play(COIL, 1.0)
    played.play(OPEN, 1.5)
    played.moving()

    assert [ClipOn, HoldStill, ClipOn, HoldStill, MoveNow] == kinds(played.events)


def test_a_joint_that_never_rests_is_moved_all_the_same() -> None:
    """It says so, and is judged by the last digit."""
    played = Played()
    played.play(lambda t: ohms_of(171.3 + 30 * (round(t * 10) % 3)), REST_WITHIN_S + 10.0)
    (move,) = played.said(MoveNow)

    assert not move.rested
    assert Stability.NOISY == played.result().evidence.stability
    assert any("not read at rest before" in note for note in played.result().notes)


def test_a_slow_meter_rests_for_longer() -> None:
    """The meter's own scatter needs some readings, however slowly they come."""
    played = Played(rate_hz=2.5)
    played.play(COIL, 10.0)

    assert played.said(MoveNow)[0].rested
    assert played.walk.time.begun_at == pytest.approx(REST_LEAST / 2.5)


@pytest.mark.parametrize(
    ("shown", "advice"),
    [
        (VOLTS, "turn it to ohms"),
        (ohms_of(171.3, 0.1, Flag.HOLD), "HOLD is on"),
        (ohms_of(171.3, 0.1, Flag.MAXIMUM), "MAX is on"),
    ],
)
def test_what_must_not_be_judged_is_said_once(shown: Reading, advice: str) -> None:
    """It is no evidence, and its time is not counted."""
    played = Played().moving()
    played.play(COIL, 5.0)
    told = played.play(shown, 4.0)
    played.play(ohms_of(174.0), 6.0)
    found = played.result()

    assert [advice in event.advice for event in told if isinstance(event, Refused)] == [True]
    assert Stability.STEADY == found.evidence.stability
    assert 14.0 == pytest.approx(found.evidence.figures.duration_s, abs=0.6)


def test_rest_begins_again_after_it() -> None:
    """On volts in the middle of the rest: the readings before do not count with those after."""
    played = Played()
    played.play(COIL, 1.5)
    played.play(VOLTS, 0.3)
    played.play(COIL, 1.9)

    assert [] == played.said(MoveNow)
    assert played.play(COIL, 0.5)


def test_the_relative_mode_switched_meanwhile_is_no_change() -> None:
    """With the leads taken off from then on it is not one and the same value."""
    played = Played().moving()
    played.play(COIL, 5.0)
    played.play(ohms_of(170.3, 0.1, Flag.RELATIVE), 6.0)

    assert Stability.STEADY == played.result().evidence.stability


def test_a_low_battery_is_noted() -> None:
    """The result may be the battery's."""
    played = Played().moving()
    played.play(ohms_of(171.3, 0.1, Flag.LOW_BATTERY), 10.0)

    assert any("low battery" in note for note in played.result().notes)


def test_what_is_neither_a_number_nor_ol_is_no_evidence() -> None:
    """A frame without a value tells nothing."""
    played = Played().moving()
    played.play(COIL, 5.0)
    played.play(replace(COIL, value=None), 1.0)
    played.play(COIL, 5.0)

    assert Stability.STEADY == played.result().evidence.stability


def test_nothing_was_moved() -> None:
    """Without a contact of some seconds there is no result."""
    played = Played()
    played.play(OPEN, 5.0)
    played.play(COIL, 1.0)
    played.walk.end(End.KEY)

    assert None is played.walk.result()
    assert None is played.walk.flexed()
    assert 0 == played.walk.dropouts


@pytest.mark.parametrize("open_ohm", [20e3, 200.0])
def test_past_the_open_limit_of_the_band(open_ohm: float) -> None:
    """1000 ohm more on an erase coil are as good as open, on another coil they are not."""
    played = Played(open_ohm=open_ohm)
    played.play(ohms_of(5.1), 3.0)
    for _ in range(3):
        played.play(ohms_of(1005.1), 0.4)
        played.play(ohms_of(5.1), 3.0)
    expected = Stability.INTERMITTENT if open_ohm < 1000 else Stability.NOISY

    assert expected == played.result().evidence.stability


@pytest.mark.parametrize(
    ("meter", "step"), [("unstated", UNTOLD_STEP * 171.3), ("handheld-4000", 0.1)]
)
def test_the_last_digit_where_the_frame_does_not_tell(meter: str, step: float) -> None:
    """That of the meter that was named, else that of a coarse display."""
    point = point_of(1.0, ohms_of(171.3, None), meter_table(meter))

    assert step == pytest.approx(point.step_ohm)


def test_the_range_of_an_overload() -> None:
    """What the frame says of it is kept; where it says nothing, nothing is made up."""
    told = point_of(1.0, overload(400.0), meter_table("unstated"))
    untold = point_of(1.0, overload(None), meter_table("unstated"))

    assert (400.0, None) == (told.end_ohm, untold.end_ohm)
    assert (0.0, 0.0) == (told.step_ohm, untold.step_ohm)


def test_dropouts_are_counted_as_they_come_and_as_they_are_judged() -> None:
    """The count on the screen is that of the result, for any number of them."""
    played = Played().moving()

    def bursts() -> Iterator[int]:
        for number in range(1, 8):
            played.play(OPEN, 0.2)
            played.play(COIL, 0.6)
            yield number

    for number in bursts():
        assert number == played.walk.dropouts
        assert number == played.result().evidence.figures.dropouts


@pytest.mark.parametrize("odd", [OPEN, ohms_of(152.0)], ids=["drop-out", "jump"])
def test_what_breaks_while_it_is_held_still_is_never_steady(odd: Reading) -> None:
    """A coil that drops out or jumps before it was moved: the clips, or the joint itself."""
    played = Played(for_s=10.0)
    played.play(OPEN, 1.0)
    played.play(COIL, 1.7)
    played.play(odd, 0.5)
    played.play(COIL, 16.0)
    result = played.result()

    assert Stability.UNDECIDED == result.evidence.stability
    assert "before it was moved" in result.reason
    assert "clip it anew" in result.next


def test_a_clip_that_bounces_as_it_is_put_on_breaks_nothing() -> None:
    """Contact bounce, and the search for a range, are over in a second and a half."""
    played = Played(for_s=10.0)
    played.play(OPEN, 1.0)
    for _ in range(3):
        played.play(COIL, 0.2)
        played.play(OPEN, 0.1)
    played.play(COIL, 16.0)

    assert Stability.STEADY == played.result().evidence.stability
