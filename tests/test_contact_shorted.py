"""Shorted coils, told from streams at exact times: near zero is never taken by itself."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from contact_tapes import RATES, TIP, asked, tape
from walk_helpers import OL, names

from coilmeter.walks.events import NearZeroHeld


def test_near_zero_is_never_taken_by_itself_before_the_question_either() -> None:
    """A tip that is laid on early, and held, is no shorted coil: a person must say so."""
    bench = tape()
    bench.play(6.0, TIP)
    early = bench.taken
    bench.events += bench.walk.keep_it()
    bench.play(1.5, TIP)

    assert [] == early
    assert any(isinstance(event, NearZeroHeld) for event in bench.events)
    assert [("coil 1", "0.2 ohm")] == bench.taken


@RATES
def test_a_shorted_coil_after_the_question_is_never_taken_by_itself(rate_hz: float) -> None:
    """Held, it is told; lifted, it is not open either."""
    bench = asked(rate_hz)
    bench.play(6.0, TIP)
    bench.play(3.0, OL)

    assert ["AskBridge", "NearZeroHeld"] == names(bench.events)
    assert [] == bench.taken


@RATES
def test_a_shorted_coil_lifted_soon_is_not_open(rate_hz: float) -> None:
    """Clipped after the question and lifted after two seconds, it is longer than a tip."""
    bench = asked(rate_hz)
    bench.play(2.0, TIP)
    bench.play(3.0, OL)

    assert [] == bench.taken


def test_a_shorted_coil_on_a_flaky_joint_is_not_open() -> None:
    """Drop-outs within it do not make a tip of it."""
    bench = asked()
    for _ in range(5):
        bench.play(1.0, TIP)
        bench.play(0.3, OL)
    bench.play(3.0, OL)

    assert ["AskBridge", "NearZeroHeld"] == names(bench.events)


def test_a_key_keeps_a_shorted_coil() -> None:
    """Once a person says that there is no tip, near zero is the coil's."""
    bench = asked()
    bench.play(3.0, TIP)
    bench.events += bench.walk.keep_it()
    bench.play(1.5, TIP)

    assert [("coil 1", "0.2 ohm")] == bench.taken


def test_the_key_says_nothing_where_nothing_is_near_zero() -> None:
    """Pressed too early it must not turn the tip that follows into a shorted coil."""
    bench = asked()
    bench.events += bench.walk.keep_it()
    bench.play(1.5, TIP)
    bench.play(1.5, OL)

    assert [("coil 1", "OL")] == bench.taken


def test_a_lead_null_is_near_zero_and_asks_nothing() -> None:
    """With the clips together near zero is what is wanted, at once."""
    bench = tape(lead_null=True)
    bench.play(10.0, OL)
    bench.play(1.2, TIP)

    assert ["Contact", "Taken", "Lift"] == names(bench.events)
    assert [("leads", "0.2 ohm")] == bench.taken


def test_a_short_held_through_a_shorter_gap_is_no_tip() -> None:
    """The time without frames counts as held."""
    bench = asked()
    bench.play(0.5, TIP)
    bench.wait(2.3)
    bench.play(3.0, OL)

    assert [] == bench.taken
