"""What a walk must not take for evidence, and what it must not keep quiet about."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math

import pytest
from helpers import one_head, shipped
from walk_helpers import OL, ListKeeper, Tape, names, ohms_of, overload, steps_of, walk_over

from coilmeter.cli.checking import key_of_row
from coilmeter.cli.live import Quality, piled_up
from coilmeter.cli.words import sentence
from coilmeter.compute.circumstances import MeterTable
from coilmeter.compute.settle import Settled
from coilmeter.sources.port_events import StreamEvent, TalksAgain, TimedReading, TimedReject
from coilmeter.values import Grade, Purpose, numbered_kind
from coilmeter.values.notes import BLINKED, CREPT
from coilmeter.walks.events import AskBridge, Blinks, Lift, MeterSlow, Spoilt
from coilmeter.walks.evidence import value_text
from coilmeter.wire.contract import Rejected

COIL = ohms_of(171.3)
TIP = ohms_of(0.2)


def tape(*, coils: int = 2, rate_hz: float = 10.0) -> Tape:
    """Make a walk over coils alone, the clips in the air."""
    made = Tape(walk_over(steps_of(numbered_kind(coils)), ListKeeper()), rate_hz)
    made.play(1.2, OL)
    return made


def on_paths(rate_hz: float = 10.0) -> tuple[Tape, ListKeeper]:
    """Make a walk whose coils are done and whose paths are not."""
    keeper = ListKeeper()
    steps = steps_of(shipped().kind("two-channel-rp"), isolation=True)
    coils = [step.key for step in steps if not step.other]
    made = Tape(walk_over(steps, keeper, done=coils), rate_hz)
    made.play(1.5, OL)
    return made, keeper


def test_what_is_typed_moves_no_clip() -> None:
    """The clips sit on the coil whose value was typed: it is not the next coil as well."""
    bench = tape()
    bench.events += bench.walk.type("171.3")
    bench.play(3.0, COIL)
    still_on = bench.taken
    bench.play(1.2, OL)
    bench.play(1.5, ohms_of(172.9))

    assert [("coil 1", "171.3")] == still_on
    assert [("coil 1", "171.3"), ("coil 2", "172.9 ohm")] == bench.taken


def test_what_piled_up_while_a_person_typed_is_passed_over() -> None:
    """Old readings have new times, and would pass for a contact; other news is told."""
    back = TalksAgain(2.0)
    pieces: list[list[StreamEvent]] = [
        [TimedReading(1.0, COIL) for _ in range(40)],
        [*(TimedReading(1.0, COIL) for _ in range(20)), back],
        [TimedReading(1.1, COIL)],
        [TimedReading(1.2, OL)],
    ]

    class Stream:
        def poll(self) -> list[StreamEvent]:
            return pieces.pop(0)

    assert [back] == piled_up(Stream())
    assert 1 == len(pieces)


def test_a_question_is_of_the_contact_it_was_asked_of() -> None:
    """A coil that has read 171 ohm since is not open because the clips met in the air."""
    bench = tape()
    bench.play(5.0, OL)
    bench.play(0.4, COIL)
    bench.play(0.8, OL)
    bench.play(0.4, TIP)
    bench.play(1.5, OL)
    before = bench.taken
    bench.play(4.5, OL)
    bench.play(0.4, TIP)
    bench.play(1.5, OL)

    assert [] == before
    assert [("coil 1", "OL")] == bench.taken


def test_a_meter_on_its_way_to_the_tip_takes_no_question_back() -> None:
    """Averaging meters show a value or two between OL and the tip."""
    bench = tape(rate_hz=3.0)
    bench.play(5.0, OL)
    bench.play(0.33, ohms_of(640.0))
    bench.play(0.33, ohms_of(38.0))
    bench.play(0.7, TIP)
    bench.play(2.0, OL)

    assert [("coil 1", "OL")] == bench.taken


def test_a_bridge_that_nobody_asked_for_is_told() -> None:
    """It counts for nothing, and whoever laid it on must know."""
    bench = tape()
    bench.play(0.5, TIP)
    bench.play(1.0, OL)

    assert "BridgedTooSoon" in names(bench.events)
    assert [] == bench.taken


@pytest.mark.parametrize("then", [OL, TIP], ids=["OL", "near zero"])
def test_a_doubt_ends_with_the_contact(then: object) -> None:
    """`k` over other points does not keep what the ones before read; it is kept aside."""
    assert then in {OL, TIP}
    bench, keeper = on_paths()
    bench.play(1.5, ohms_of(224.0))
    bench.play(1.5, OL)
    bench.play(2.0, OL if then is OL else TIP)
    bench.events += bench.walk.keep_it()

    assert "ReadsLikeACoil" in names(bench.events)
    assert [] == bench.taken
    assert [(Purpose.FREE, "224.0 ohm", "refused")] == [
        (row.purpose, row.reading.text, row.note) for row in keeper.rows
    ]


def test_a_doubt_that_is_confirmed_in_time_is_kept() -> None:
    """Before the clips are lifted a person may say that it is so."""
    bench, keeper = on_paths()
    bench.play(1.5, ohms_of(224.0))
    bench.events += bench.walk.keep_it()

    assert 1 == len(bench.taken)
    assert ["224.0 ohm"] == [row.reading.text for row in keeper.rows]


def test_nothing_doubtful_is_lost_at_the_end() -> None:
    """Left by a key, the walk keeps aside what it was still asking about."""
    bench, keeper = on_paths()
    bench.play(1.5, ohms_of(224.0))
    bench.walk.aside.put()
    bench.walk.aside.put()

    assert ["refused"] == [row.note for row in keeper.rows]


def test_a_meter_too_slow_to_follow_is_told_once() -> None:
    """Every three seconds: nobody knows what the clips did in between."""
    bench = tape(rate_hz=1 / 3)
    bench.play(30.0, COIL)

    assert [3] == [
        round(event.every_s) for event in bench.events if isinstance(event, MeterSlow)
    ]
    assert [] == bench.taken


def test_the_range_is_named_where_the_bridge_is_asked_for() -> None:
    """OL past 400 ohm says little of a path: the question repeats which knob to turn."""
    bench, _ = on_paths()
    bench.walk._doubts._path_good_ohm = 10e6
    bench.play(6.0, overload(400.0))
    (asked,) = [event for event in bench.events if isinstance(event, AskBridge)]

    assert "turn to the highest range. If the clips are on, bridge" in sentence(asked)


@pytest.mark.parametrize("rate_hz", [2.0, 3.0, 10.0])
def test_a_joint_that_blinks_after_it_was_taken_is_told_and_noted(rate_hz: float) -> None:
    """Taken in a quiet second, it drops out for as long as the clips stay on."""
    bench = tape(rate_hz=rate_hz)
    bench.play(3.0, COIL)
    for _ in range(6):
        bench.play(0.6, OL)
        bench.play(1.5, COIL)
    keeper = bench.walk._keeper
    assert isinstance(keeper, ListKeeper)

    assert [("coil 1", "171.3 ohm")] == bench.taken
    assert ["coil 1"] == [each.step.key for each in bench.events if isinstance(each, Blinks)]
    assert ["", BLINKED] == [row.note for row in keeper.rows]


def test_a_drop_out_that_passed_for_a_lift_is_that_of_the_coil_it_reads() -> None:
    """Open for longer than a lift, then blinking: the path reads the coil before it."""
    keeper = ListKeeper()
    steps = steps_of(shipped().kind("two-channel-rp"), isolation=True)
    bench = Tape(walk_over(steps, keeper))
    bench.play(1.2, OL)
    bench.play(2.0, COIL)
    bench.play(1.6, OL)
    for _ in range(5):
        bench.play(0.8, COIL)
        bench.play(0.4, OL)
    latest = {key: row for row in keeper.rows if (key := key_of_row(row))}

    assert "1 to 2" == steps[1].key
    assert ["coil 1"] == [each.step.key for each in bench.events if isinstance(each, Blinks)]
    assert BLINKED in latest["coil 1"].note


def test_clips_that_bounce_are_no_loose_joint() -> None:
    """Put on and lifted with two bounces each."""
    bench = tape(coils=4)
    for ohm in (171.3, 172.9, 170.8):
        for pause in (0.1, 0.2):
            bench.play(0.1, ohms_of(ohm))
            bench.play(pause, OL)
        bench.play(2.0, ohms_of(ohm))
        for pause in (0.1, 0.2):
            bench.play(pause, OL)
            bench.play(0.2, ohms_of(ohm))
        bench.play(1.5, OL)

    assert 3 == len(bench.taken)
    assert "Blinks" not in names(bench.events)


@pytest.mark.parametrize("period_s", [0.1, 0.2, 0.33, 0.5])
def test_a_creep_is_no_value_at_any_rate(period_s: float) -> None:
    """47 kohm through a capacitor, 2000 counts, the range changing on the way.

    The oracle is the curve itself, 1 - exp(-t/tau): what is taken is near its end, and says
    that it crept.
    """
    end_ohm, tau_s = 47e3, 100.0
    bench = tape(rate_hz=1 / period_s)
    start, keeper = bench.at, bench.walk._keeper
    assert isinstance(keeper, ListKeeper)
    while not keeper.rows and bench.at < start + 12 * tau_s:
        ohm = end_ohm * (1 - math.exp(-(bench.at - start) / tau_s))
        digit = next(each for each in (0.1, 1.0, 10.0, 100.0) if 2000 * each >= ohm)
        bench.play(period_s, ohms_of(round(ohm / digit) * digit, digit))
    (row,) = keeper.rows

    assert end_ohm == pytest.approx(row.reading.ohm, rel=0.06)
    assert CREPT in row.note


def test_few_coarse_digits_are_not_taken_while_they_grow() -> None:
    """2.2 Mohm with a capacitor across it, on a range of 20 Mohm: not 0.01 Mohm."""
    bench = tape()
    bench.play(20.0, lambda t: ohms_of(round(220 * (1 - math.exp(-t / 40))) * 1e4, 1e4))

    assert [] == bench.taken


def test_an_open_path_asks_to_move_the_clips() -> None:
    """OL before, and OL after: nothing shows that they were moved."""
    bench, _ = on_paths()
    bench.events += bench.walk.confirm_open()
    (lift,) = [event for event in bench.events if isinstance(event, Lift)]

    assert "move them" in sentence(lift)


@pytest.mark.parametrize(
    ("meter", "ohm", "expected"),
    [
        ("handheld-4000", 171.26, "171.3 ohm"),
        ("bench-6-digit", 171.26, "171.260 ohm"),
        ("unstated", 171.26, "171.3 ohm"),
    ],
)
def test_no_digits_are_made_up(meter: str, ohm: float, expected: str) -> None:
    """Bytes that tell no last digit have that of the meter's own range."""
    digit = MeterTable(shipped().meters[meter]).last_digit(ohm)
    run = Settled(ohm, 0.0, (ohms_of(ohm, None),))

    assert expected == value_text(run, digit)


def test_the_judge_says_what_was_seen() -> None:
    """A loose joint, a creep and dirty clips stand beside whatever the values are."""
    head = one_head(
        "coil,reading,purpose,note\n,2.4,lead-null,\n"
        f"1,171.3,coil,{BLINKED}\n2,172.0,coil,{CREPT}\n",
        kind="two-channel-rp",
    )
    told = " ".join(head.cautions)

    assert "Dropped out with the clips on: coil 1." in told
    assert "Crept for seconds before it stood still: coil 2." in told
    assert "Leads of 2.4" in told


def test_a_joint_that_blinked_is_flexed_before_a_head_is_matched() -> None:
    """Whatever its value; flexed and steady, the head is as good as any."""
    rows = (
        f"coil,reading,purpose,note,flex\n1,171.3,coil,{BLINKED},\n"
        "1-case,OL 40 Mohm,coil-to-case,,\n"
    )
    steady = "1,171.3,free,,steady; dropouts=0\n"
    before = one_head(rows, kind="one-channel-rp")
    after = one_head(rows + steady, kind="one-channel-rp")
    crept = one_head(rows.replace(BLINKED, CREPT), kind="one-channel-rp")

    assert Grade.RECHECK is before.grade is crept.grade
    assert "to be flexed, because it dropped out while clipped: coil 1" in before.grade_reason
    assert "to be read again off the board, because it crept: coil 1" in crept.grade_reason
    assert Grade.MATCHED is after.grade


def test_spoilt_frames_are_told_more_and_more_rarely() -> None:
    """One torn frame at the beginning is usual; a tenth of all is not."""
    quality, torn = Quality(), TimedReject(0.0, Rejected(b"\x00", "no frame", 0))
    told = [quality.of(torn) for _ in range(4)]
    told += [quality.of(TimedReading(0.0, COIL)) for _ in range(36)]
    told += [quality.of(torn) for _ in range(40)]
    few = Quality()
    fine = [few.of(item) for _ in range(50) for item in [TimedReading(0.0, COIL)] * 40 + [torn]]

    assert [(5, 41), (20, 56)] == [
        (e.rejected, e.total) for each in told for e in each if isinstance(e, Spoilt)
    ]
    assert [] == [event for each in fine for event in each]
