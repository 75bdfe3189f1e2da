"""What the clips do, told from streams of readings at exact times."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from contact_tapes import COIL, OTHER, RATES, tape
from walk_helpers import OL, VOLTS, bad_resistances, names, ohms_of, steps_of, walk_over

from coilmeter.values import Flag, Function, Reading, numbered_kind
from coilmeter.walks.events import Refused, StillMoving, Taken


@RATES
def test_touch_settle_lift(rate_hz: float) -> None:
    """Three coils one after the other, hands full."""
    bench = tape(rate_hz=rate_hz)
    for coil in (COIL, OTHER, ohms_of(170.0)):
        bench.play(3.0, coil)
        bench.play(1.5, OL)

    assert [("coil 1", "171.3 ohm"), ("coil 2", "172.9 ohm"), ("coil 3", "170.0 ohm")] == (
        bench.taken
    )
    assert bench.walk.finished


def test_bounce_is_not_taken() -> None:
    """A contact that bounces is taken when it has come to rest."""
    bench = tape()
    for shown in (ohms_of(480.0), OL, ohms_of(260.0), OL, OL, ohms_of(173.0)):
        bench.play(0.1, shown)
    early = bench.taken
    bench.play(1.0, COIL)

    assert [] == early
    assert [("coil 1", "171.3 ohm")] == bench.taken


def test_megohms_take_their_time() -> None:
    """A leak of megohms is taken after two seconds, not before."""
    bench = tape()
    leak = ohms_of(2.34e6, 1e3)
    bench.play(1.9, leak)
    early = bench.taken
    bench.play(0.3, leak)

    assert [] == early
    assert [("coil 1", "2340 kohm")] == bench.taken


def test_a_short_drop_out_before_capture_begins_again() -> None:
    """A drop-out within a contact restarts the run and says nothing new."""
    bench = tape()
    bench.play(0.6, COIL)
    bench.play(0.2, OL)
    bench.play(0.6, COIL)
    early = bench.taken
    bench.play(0.4, COIL)

    assert [] == early
    assert ["Contact", "Taken", "Lift"] == names(bench.events)


def test_a_contact_that_ends_unsettled_is_forgotten() -> None:
    """OL for 0.6 s ends it: the next contact is a new one."""
    bench = tape()
    bench.play(0.4, COIL)
    bench.play(0.8, OL)
    bench.play(1.2, COIL)

    assert ["Contact", "Contact", "Taken", "Lift"] == names(bench.events)


def charging(seconds: float) -> Reading:
    """Show what a capacitor across the clips does."""
    return ohms_of(round(100.0 + 20.0 * seconds, 1))


def jumping(seconds: float) -> Reading:
    """Show a contact that is no good."""
    return ohms_of(171.3 if int(seconds * 10 + 0.5) % 2 else 230.0)


@pytest.mark.parametrize(("shown", "creeping"), [(charging, True), (jumping, False)])
@pytest.mark.parametrize("rate_hz", [2.0, 10.0])
def test_an_unsettled_contact_is_named(
    shown: Callable[[float], Reading], *, creeping: bool, rate_hz: float
) -> None:
    """After six seconds it is said, once, whether it creeps or jumps."""
    bench = tape(rate_hz=rate_hz)
    if rate_hz < 10.0:
        turns = iter([230.0, 171.3] * 60)
        shown = shown if creeping else (lambda _: ohms_of(next(turns)))
    bench.play(15.0, shown)
    told = [event for event in bench.events if isinstance(event, StillMoving)]

    assert [creeping] == [event.creeping for event in told]
    assert [] == bench.taken


@pytest.mark.parametrize(
    ("shown", "expected"),
    [
        (VOLTS, "the meter is on DC volts: turn it to ohms"),
        (replace(COIL, function=Function.CONTINUITY), "the meter is on the beeper"),
        (replace(VOLTS, function=Function.CAPACITANCE), "the meter is on capacitance"),
        (ohms_of(171.3, 0.1, Flag.HOLD), "HOLD is on"),
        (ohms_of(171.3, 0.1, Flag.MAXIMUM), "MAX is on"),
        (ohms_of(171.3, 0.1, Flag.MINIMUM), "MIN is on"),
    ],
)
def test_what_is_no_resistance_is_refused_in_mid_contact(shown: Reading, expected: str) -> None:
    """It is said once which knob to turn, and the run begins again after it."""
    bench = tape()
    bench.play(0.6, COIL)
    bench.play(2.0, shown)
    bench.play(0.6, COIL)
    early = bench.taken
    bench.play(0.5, COIL)
    advice = [event.advice for event in bench.events if isinstance(event, Refused)]

    assert [] == early
    assert [("coil 1", "171.3 ohm")] == bench.taken
    assert 1 == len(advice)
    assert advice[0].startswith(expected)


def test_refused_again_is_told_again() -> None:
    """Between two of them there was a resistance, so that the second is news."""
    bench = tape()
    for shown in (VOLTS, OL, VOLTS, ohms_of(1.0, 0.1, Flag.HOLD)):
        bench.play(0.3, shown)

    assert ["Refused", "Refused", "Refused"] == names(bench.events)


@pytest.mark.parametrize("bad", bad_resistances(), ids=["none", "nan", "inf"])
def test_a_frame_without_a_number_is_nothing(bad: Reading) -> None:
    """It is taken neither for a value nor for an overload."""
    bench = tape()
    bench.play(10.0, bad)

    assert [] == names(bench.events)


def test_relative_is_written_beside_the_reading() -> None:
    """The meter has taken the leads off already."""
    bench = tape()
    bench.play(1.5, ohms_of(171.1, 0.1, Flag.RELATIVE))
    (row,) = [event.row for event in bench.events if isinstance(event, Taken)]

    assert "nulled" == row.lead


def test_relative_switched_in_mid_run_begins_again() -> None:
    """With and without the leads is not one value, even where they differ by little."""
    bench = tape()
    bench.play(0.6, ohms_of(171.3))
    bench.play(0.6, ohms_of(171.1, 0.1, Flag.RELATIVE))
    early = bench.taken
    bench.play(0.5, ohms_of(171.1, 0.1, Flag.RELATIVE))

    assert [] == early
    assert [("coil 1", "171.1 ohm")] == bench.taken


def test_a_low_battery_is_noted() -> None:
    """One frame of the run that shows it is enough."""
    bench = tape()
    bench.play(0.2, ohms_of(171.3, 0.1, Flag.LOW_BATTERY))
    bench.play(1.5, COIL)
    (row,) = [event.row for event in bench.events if isinstance(event, Taken)]

    assert "low battery" == row.note


def test_a_gap_in_the_stream_begins_again() -> None:
    """What was read before three silent seconds is not averaged with what comes after."""
    bench = tape()
    bench.play(0.7, COIL)
    bench.wait(3.0)
    bench.play(0.7, ohms_of(171.5))
    early = bench.taken
    bench.play(0.4, ohms_of(171.5))

    assert [] == early
    assert [("coil 1", "171.5 ohm")] == bench.taken


@pytest.mark.parametrize("burst", [1, 5, 10])
def test_bursts_with_one_time_stamp(burst: int) -> None:
    """A driver that hands over frames in heaps changes nothing but the moment."""
    walk = walk_over(steps_of(numbered_kind(2)))
    events = walk.start()
    shown = [OL] * 20 + [COIL] * 30 + [OL] * 20 + [OTHER] * 30 + [OL] * 20
    for number, reading in enumerate(shown):
        events += walk.feed(number // burst * burst / 10, reading)
    taken = [event.row.reading.text for event in events if isinstance(event, Taken)]

    assert ["171.3 ohm", "172.9 ohm"] == taken


def test_a_fast_meter_keeps_its_latest_frames_only() -> None:
    """A row stays short enough for a readings file to be read back."""
    bench = tape(rate_hz=500.0)
    bench.play(1.5, COIL)
    (row,) = [event.row for event in bench.events if isinstance(event, Taken)]

    assert row.count > 300
    assert 64 == len(row.raw.split())


@pytest.mark.parametrize(
    ("value", "resolution", "expected"),
    [
        (-0.04, 0.1, "0.0 ohm"),
        (-0.2, 0.1, "-0.2 ohm"),
        (171.25, None, "171.250 ohm"),
        (23450.0, 10.0, "23.45 kohm"),
        (1.5e-8, 1e-10, "0.000000015 ohm"),
    ],
)
def test_the_text_of_a_value(value: float, resolution: float | None, expected: str) -> None:
    """It has the last digit of the meter, and no minus before nothing."""
    bench = tape(lead_null=True)
    bench.play(3.0, ohms_of(value, resolution))

    assert [("leads", expected)] == bench.taken


@pytest.mark.parametrize("value", [3e60, -3e60, 2e12, 1e300])
def test_more_than_a_resistance_can_be_is_put_aside(value: float) -> None:
    """A frame that carries nonsense is no error of the program."""
    bench = tape()
    bench.play(3.0, ohms_of(value, 1e9))
    bench.play(1.5, OL)
    bench.play(1.5, COIL)

    assert ["Contact", "NotKept", "Contact", "Taken", "Lift"] == names(bench.events)


def test_the_finest_range_of_a_run_gives_the_last_digit() -> None:
    """A range change at the end does not round the value away."""
    bench = tape()
    bench.play(0.7, ohms_of(399.6))
    bench.play(0.2, ohms_of(400.0, 1.0))

    assert [("coil 1", "399.7 ohm")] == bench.taken
