"""How a flexing ends: by time, by key, by lifted clips, by nobody's answer."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import pytest
from flex_played import COIL, OPEN, Played, kinds
from walk_helpers import ohms_of

from coilmeter.values import Stability
from coilmeter.walks.flexing_told import (
    Answered,
    AskLifted,
    End,
    Ended,
    FlexState,
)


def test_after_the_end_nothing_is_taken() -> None:
    """What the meter shows then is no evidence."""
    played = Played(for_s=10.0).moving()
    played.play(COIL, 11.0)
    before = played.result()
    played.play(OPEN, 5.0)

    assert before == played.result()
    assert [] == played.walk.end(End.KEY)


def test_ol_for_long_is_asked_about() -> None:
    """Once, and as a question: it is no drop-out meanwhile."""
    played = Played().moving()
    played.play(COIL, 10.0)
    played.play(OPEN, 5.0)

    assert 1 == len(played.said(AskLifted))
    assert FlexState.ASKED == played.walk.state
    assert 0 == played.walk.dropouts
    assert Stability.UNDECIDED == played.result().evidence.stability


def test_nobody_answers() -> None:
    """It ends, and does not call the coil steady: the joint may have opened for good."""
    played = Played().moving()
    played.play(COIL, 10.0)
    played.play(OPEN, 10.0)

    assert [Ended(End.UNANSWERED)] == played.said(Ended)
    assert Stability.UNDECIDED == played.result().evidence.stability
    assert "nobody said whether the clips were lifted" in played.result().reason


def test_the_clips_are_on() -> None:
    """One key says that the OL is the joint, and it counts with all its time."""
    played = Played().moving()
    played.play(COIL, 10.0)
    played.play(OPEN, 4.0)
    answered = played.walk.still_on()
    played.play(OPEN, 20.0)
    played.play(COIL, 1.0)
    found = played.result().evidence

    assert [Answered(lifted=False)] == answered
    assert not played.walk.ended
    assert Stability.INTERMITTENT == found.stability
    assert 1 == found.figures.dropouts
    assert 24.0 == pytest.approx(found.figures.longest_s, abs=0.2)


def test_a_short_ol_needs_no_answer() -> None:
    """A key pressed too late, when it conducts again, changes nothing."""
    played = Played().moving()
    played.play(OPEN, 0.5)
    played.play(COIL, 1.0)

    assert [] == played.walk.still_on()
    assert [] == played.walk.lifted()


def test_lifted_and_on_again() -> None:
    """One key leaves the OL out, and the flexing goes on with the clips back on."""
    played = Played().moving()
    played.play(COIL, 6.0)
    played.play(OPEN, 4.0)
    told = played.walk.lifted()
    played.play(ohms_of(171.9), 6.0)
    found = played.result()

    assert [Answered(lifted=True)] == told
    assert Stability.STEADY == found.evidence.stability
    assert 12.4 == pytest.approx(found.evidence.figures.duration_s, abs=0.3)
    assert any("because you said" in note for note in found.notes)


@pytest.mark.parametrize("open_s", [0.3, 5.0])
def test_a_key_ends_it_with_the_clips_lifted(open_s: float) -> None:
    """Who lifts the clips and presses a key has said so."""
    played = Played().moving()
    played.play(COIL, 10.0)
    played.play(OPEN, open_s)
    told = played.walk.end(End.KEY)

    assert [Answered, Ended] == kinds(told)
    assert Stability.STEADY == played.result().evidence.stability
    assert any("read the coil again" in note for note in played.result().notes)


def test_a_key_ends_it_with_the_clips_on() -> None:
    """Nothing has to be said of any OL then."""
    played = Played().moving()
    played.play(COIL, 10.0)
    told = played.walk.end(End.KEY)

    assert [Ended(End.KEY)] == told
    assert () == played.result().notes


def test_clips_that_touch_each_other_were_lifted() -> None:
    """After the question nothing else reads near zero, and no key is needed."""
    played = Played().moving()
    played.play(COIL, 10.0)
    played.play(OPEN, 4.0)
    played.play(ohms_of(0.2), 1.0)

    assert [Ended(End.LIFTED)] == played.said(Ended)
    assert Stability.STEADY == played.result().evidence.stability
    assert () == played.result().notes
    assert 171.3 == played.result().evidence.figures.least_ohm


def test_near_zero_before_the_question_is_the_coil() -> None:
    """Wires that touch after a short OL are no lifted clips."""
    played = Played().moving()
    played.play(COIL, 5.0)
    played.play(OPEN, 1.0)
    played.play(ohms_of(0.2), 1.0)
    played.play(COIL, 5.0)

    assert not played.walk.ended
    assert Stability.INTERMITTENT == played.result().evidence.stability
    assert 0.2 == played.result().evidence.figures.least_ohm


def test_one_reading_near_zero_is_no_touch() -> None:
    """It is kept as evidence: nothing that was read is passed over."""
    played = Played().moving()
    played.play(COIL, 9.0)
    played.play(OPEN, 4.0)
    played.play(ohms_of(0.2), 0.1)
    played.play(COIL, 1.0)

    assert not played.walk.ended
    assert 0.2 in [point.ohm for point in played.walk.flexed().scanner.points]  # type: ignore[union-attr]


def test_the_least_time_that_can_be_asked_for_is_enough() -> None:
    """Eight seconds asked for are eight seconds watched, and not a reading less."""
    played = Played(for_s=8.0).moving()
    played.play(COIL, 12.0)
    figures = played.result().evidence.figures

    assert [Ended(End.TIME)] == played.said(Ended)
    assert Stability.STEADY == played.result().evidence.stability
    assert figures.duration_s is not None
    assert 8.0 <= figures.duration_s < 8.3


def test_what_was_left_out_is_watched_afterwards() -> None:
    """Clips that were lifted for some seconds are no part of the time."""
    played = Played(for_s=8.0).moving()
    played.play(COIL, 3.0)
    played.play(OPEN, 4.0)
    played.walk.lifted()
    played.play(COIL, 12.0)

    assert [Ended(End.TIME)] == played.said(Ended)
    assert Stability.STEADY == played.result().evidence.stability


def test_it_does_not_go_on_for_ever() -> None:
    """Where the clips stay off, it ends after twice the time."""
    played = Played(for_s=8.0).moving()
    played.play(COIL, 1.0)
    played.play(OPEN, 4.0)
    played.walk.lifted()
    played.play(OPEN, 20.0)

    assert played.walk.ended
    assert Stability.UNDECIDED == played.result().evidence.stability


def test_a_slow_meter_is_not_waited_for() -> None:
    """More of its readings would decide nothing; the advice is another meter, not more time."""
    played = Played(rate_hz=2.5, for_s=8.0)
    played.play(COIL, 6.0)
    played.play(COIL, 12.0)
    result = played.result()

    assert [Ended(End.TIME)] == played.said(Ended)
    assert "2.5 readings a second" in result.reason
    assert "5 readings a second or more" in result.next


def test_the_time_is_not_over_in_the_middle_of_an_ol() -> None:
    """A drop-out at the last moment is waited for; lifted clips are asked about."""
    back, gone = Played(for_s=10.0).moving(), Played(for_s=10.0).moving()
    for played in (back, gone):
        played.play(COIL, 9.0)
        played.play(OPEN, 1.8)
        assert not played.walk.ended
    back.play(COIL, 0.5)
    gone.play(OPEN, 8.0)

    assert [Ended(End.TIME)] == back.said(Ended)
    assert Stability.INTERMITTENT == back.result().evidence.stability
    assert [Ended(End.UNANSWERED)] == gone.said(Ended)
