"""An OL behind an OL: nothing showed that the clips moved, so an open coil is read twice."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from helpers import settings, shipped
from walk_helpers import OL, ListKeeper, Tape, ohms_of, overload, steps_of, walk_over

from coilmeter.cli.checking import Job
from coilmeter.cli.words import sentence
from coilmeter.compute.judge import judge_rows
from coilmeter.sources.keeper import SheetKeeper
from coilmeter.units import parse_reading
from coilmeter.values import Condition, Grade, Purpose, ReadingRow
from coilmeter.values.notes import UNMOVED
from coilmeter.walks.events import Begun, Finished, NearZeroHeld, OnceMore, SeenTogether
from coilmeter.walks.steps import Step

TIP = ohms_of(0.2)
FAR = overload(40e6)


def step(purpose: Purpose, coil: str, other: str = "") -> Step:
    """Take the step of a head of two coils."""
    every = steps_of(shipped().kind("two-channel-rp"), isolation=True)
    (found,) = [
        each
        for each in every
        if (each.purpose, each.coil, each.other) == (purpose, coil, other)
    ]
    return found


PATH_STEP = step(Purpose.COIL_TO_CASE, "1", "case")
COIL_2 = step(Purpose.COIL, "2")


def bench(*steps: Step) -> tuple[Tape, ListKeeper]:
    """Make a walk over steps, the clips in the air."""
    keeper = ListKeeper()
    made = Tape(walk_over(steps, keeper))
    made.play(1.2, OL)
    return made, keeper


def bridged(tape: Tape) -> None:
    """Leave the clips where they are, and lay the tip across them when it is asked."""
    tape.play(5.0, FAR)
    tape.play(0.5, TIP)
    tape.play(1.5, FAR)


def once_more(tape: Tape) -> list[OnceMore]:
    """Give what was asked once more."""
    return [event for event in tape.events if isinstance(event, OnceMore)]


def verdict(*rows: ReadingRow) -> tuple[Condition, Grade]:
    """Judge coil 2 by the row that counts, beside a sound coil 1."""
    sound = replace(
        rows[-1], coil="1", pins=None, reading=parse_reading("171.3"), note="", range_ohm=4e3
    )
    judged = [replace(row, kind="two-channel-rp") for row in (sound, rows[-1])]
    (head,) = judge_rows(judged, settings())
    return head.coils[1].verdict, head.grade


def test_clips_that_never_moved_make_no_coil_open() -> None:
    """Bridged twice across the same two points: asked once more, it reads what it is."""
    tape, keeper = bench(PATH_STEP, COIL_2)
    bridged(tape)
    bridged(tape)
    first = keeper.rows[-1]
    tape.play(1.2, FAR)
    tape.play(1.5, ohms_of(172.4))

    assert UNMOVED in first.note
    assert (Condition.UNDECIDED, Grade.RECHECK) == verdict(first)
    assert 1 <= len(once_more(tape))
    assert "nothing showed that the clips had moved" in sentence(once_more(tape)[0])
    assert "172.4 ohm" == keeper.latest()["coil 2"]
    assert UNMOVED not in keeper.rows[-1].note
    assert isinstance(tape.events[-1], Finished)
    assert tape.walk.finished


def test_no_number_of_bridges_makes_a_coil_open() -> None:
    """The same stream as of clips that never moved: undecided, and asked no third time."""
    tape, keeper = bench(PATH_STEP, COIL_2)
    for _ in range(3):
        bridged(tape)

    assert 3 == len(keeper.rows)
    assert UNMOVED in keeper.rows[-1].note
    assert Condition.UNDECIDED is verdict(*keeper.rows)[0]
    assert tape.walk.finished


@pytest.mark.parametrize("how", ["together", "a value between", "a person's word"])
def test_an_open_coil_is_open_when_its_clips_were_seen_to_move(how: str) -> None:
    """Held together first, or on another coil meanwhile; or a person vouches for it."""
    between = [step(Purpose.COIL, "1")] if how == "a value between" else []
    tape, keeper = bench(PATH_STEP, COIL_2, *between)
    bridged(tape)
    bridged(tape)
    if between:
        tape.play(1.2, FAR)
        tape.play(1.5, ohms_of(171.3))
        tape.play(1.2, FAR)
    asked = [event for event in tape.events if isinstance(event, Begun)][-1]
    if how == "together":
        tape.play(1.2, FAR)
        tape.play(2.2, TIP)
    if how == "a person's word":
        tape.play(5.0, FAR)
        tape.events += tape.walk.confirm_open()
    else:
        bridged(tape)

    assert asked.together is not bool(between)
    assert ("first hold the clips together" in sentence(asked)) is not bool(between)
    assert (how == "together") is any(isinstance(each, SeenTogether) for each in tape.events)
    assert not any(isinstance(each, NearZeroHeld) for each in tape.events)
    assert UNMOVED not in keeper.rows[-1].note
    assert "2" == keeper.rows[-1].coil
    assert Condition.OPEN is verdict(*keeper.rows)[0]
    assert tape.walk.finished


def test_a_key_makes_no_shorted_coil_of_clips_that_are_held_together() -> None:
    """Asked for that, near zero is no coil, whatever key is pressed."""
    tape, keeper = bench(PATH_STEP, COIL_2)
    bridged(tape)
    bridged(tape)
    tape.play(1.2, FAR)
    tape.play(1.0, TIP)
    tape.events += tape.walk.keep_it()
    tape.play(3.0, TIP)

    assert ["OL", "OL"] == [row.reading.text for row in keeper.rows]


def test_the_clips_that_have_to_move_are_counted_anew() -> None:
    """From where they are to the coil, and not from the step before it in the plan."""
    other = step(Purpose.COIL_TO_CASE, "2", "case")
    tape, _ = bench(PATH_STEP, COIL_2, other)
    for _ in range(3):
        bridged(tape)
    begun = [event for event in tape.events if isinstance(event, Begun)][-1]

    assert ("coil 2", 1) == (begun.step.key, begun.step.moves)


def test_what_is_typed_shows_no_move() -> None:
    """A value that a person typed, and the clips still where they were before it."""
    tape, keeper = bench(PATH_STEP, step(Purpose.COIL, "1"), COIL_2)
    bridged(tape)
    tape.events += tape.walk.type("171.3")
    tape.play(1.2, FAR)
    bridged(tape)

    assert UNMOVED in keeper.rows[-1].note
    assert Condition.UNDECIDED is verdict(keeper.rows[-1])[0]


def test_skipped_it_stays_undecided() -> None:
    """Nobody says that it is open, and the walk ends."""
    tape, keeper = bench(PATH_STEP, COIL_2)
    bridged(tape)
    bridged(tape)
    tape.events += tape.walk.skip()

    assert (Condition.UNDECIDED, Grade.RECHECK) == verdict(*keeper.rows)
    assert tape.walk.finished


@pytest.mark.parametrize("how", ["a value before", "a person's word", "nothing before"])
def test_what_needs_no_second_reading(how: str) -> None:
    """A lift from a value is seen, a key tells of the clips, and the first has none before."""
    before = [step(Purpose.COIL, "1")] if how == "a value before" else [PATH_STEP]
    tape, keeper = bench(*([] if how == "nothing before" else before), COIL_2)
    if how == "a value before":
        tape.play(1.5, ohms_of(171.3))
    elif how == "a person's word":
        bridged(tape)
    if how == "a person's word":
        tape.play(5.0, FAR)
        tape.events += tape.walk.confirm_open()
    else:
        tape.play(1.2, FAR)
        bridged(tape)

    assert "OL" == keeper.latest()["coil 2"]
    assert UNMOVED not in keeper.rows[-1].note
    assert [] == once_more(tape)
    assert tape.walk.finished


def test_after_a_stop_it_is_still_asked_for(tmp_path: Path) -> None:
    """Going on, the coil is asked for again, though a row of it is in the file."""
    kind = shipped().kind("two-channel-rp")
    with SheetKeeper(tmp_path / "k.csv") as keeper:
        first = Job("A", kind, settings(meter="handheld-4000"), keeper).walk()
        tape = Tape(first)
        tape.play(1.5, TIP)
        tape.play(1.2, FAR)
        for each in [each for each in first.steps if each.purpose is not Purpose.LEAD_NULL]:
            bridged(tape)
            if each.key == "coil 2":
                break
    with SheetKeeper(tmp_path / "k.csv", resume=True) as keeper:
        walk = Job("A", kind, settings(meter="handheld-4000"), keeper).walk()

    assert "coil 2" in walk.doubted
    assert "coil 2" in walk.taken
