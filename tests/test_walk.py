"""The walk: typed readings, ways back and forth, and a keeper that fails."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import pytest
from walk_helpers import (
    OL,
    ListKeeper,
    Tape,
    bands_of,
    names,
    ohms_of,
    refused,
    steps_of,
    walk_over,
)

from coilmeter.errors import ReadingTextError, StoreError
from coilmeter.values import Purpose, numbered_kind
from coilmeter.walks.events import AskRange, Begun, Finished, Planned
from coilmeter.walks.steps import plan
from coilmeter.walks.walk import Walk


def typed(walk: Walk, *texts: str) -> list[str]:
    """Type one after the other; give the steps that began."""
    events = walk.start()
    for text in texts:
        events += walk.type(text)
    return [event.step.key for event in events if isinstance(event, Begun)]


def test_typed_from_start_to_end() -> None:
    """Each reading goes to the step that was asked for, and then all is done."""
    keeper = ListKeeper()
    steps = steps_of(numbered_kind(2), lead_null=True, isolation=True)
    walk = walk_over(steps, keeper)
    began = typed(walk, "0.2", "171.3", "OL 40 Mohm", "4k7", "2.2 Mohm", "OL 40 Mohm")

    assert ["leads", "coil 1", "1 to 2", "coil 2", "2 to case", "1 to case"] == began
    assert walk.finished
    assert walk.step is None
    assert ["0.2", "171.3", "OL 40 Mohm", "4k7", "2.2 Mohm", "OL 40 Mohm"] == [
        row.reading.text for row in keeper.rows
    ]
    assert [
        (Purpose.LEAD_NULL, None),
        (Purpose.COIL, ("1", "2")),
        (Purpose.COIL_TO_COIL, ("1", "3")),
        (Purpose.COIL, ("3", "4")),
        (Purpose.COIL_TO_CASE, ("3", "case")),
        (Purpose.COIL_TO_CASE, ("1", "case")),
    ] == [(row.purpose, row.pins) for row in keeper.rows]


@pytest.mark.parametrize(
    ("done", "expected"),
    [([], Planned(6, 6, 8)), (["leads"], Planned(5, 6, 6)), (["leads", "coil 1"], None)],
)
def test_the_beginning_says_how_much_there_is(
    done: list[str], expected: Planned | None
) -> None:
    """Readings and clip moves, of what is left after an earlier run; the clips in the air."""
    kind = numbered_kind(2)
    steps = plan(kind, bands_of(kind), done=done)
    first, second = walk_over(steps, done=done).start()
    left = steps[len(done) :]

    assert (expected or Planned(4, 6, sum(step.moves for step in left))) == first
    assert Begun(left[0], len(done) + 1, 6) == second
    assert 2 == left[0].moves


def test_finished_says_how_many() -> None:
    """Taken and skipped are counted apart."""
    walk = walk_over(steps_of(numbered_kind(3)))
    walk.start()
    walk.type("171")
    walk.skip()
    (end,) = [event for event in walk.type("172") if isinstance(event, Finished)]

    assert Finished(2, 1) == end


def test_a_finished_walk_ignores_everything() -> None:
    """Whatever comes after the end changes nothing."""
    keeper = ListKeeper()
    walk = walk_over(steps_of(numbered_kind(1)), keeper)
    typed(walk, "171")
    after = [
        *walk.feed(1.0, OL),
        *walk.feed(2.0, ohms_of(171.3)),
        *walk.type("99"),
        *walk.skip(),
        *walk.confirm_open(),
        *walk.keep_it(),
    ]

    assert [] == after
    assert ["171"] == [row.reading.text for row in keeper.rows]


def test_the_last_one_can_be_taken_again() -> None:
    """Redo after the end begins the last step once more, and the end comes again."""
    keeper = ListKeeper()
    walk = walk_over(steps_of(numbered_kind(1)), keeper)
    typed(walk, "171")
    again = walk.redo()
    end = walk.type("172")

    assert [Begun(walk.steps[0], 1, 1)] == again
    assert Finished(1, 0) == end[-1]
    assert {"coil 1": "172"} == keeper.latest()


def test_nothing_happens_before_the_start() -> None:
    """A walk that has not begun has no step."""
    walk = walk_over(steps_of(numbered_kind(1)))

    assert [] == [*walk.feed(1.0, OL), *walk.type("171"), *walk.skip()]


@pytest.mark.parametrize("text", ["OL", "ol", "0L"])
def test_an_overload_asks_for_its_range(text: str) -> None:
    """Without the range it says next to nothing, so it is asked for; with it, it is taken."""
    keeper = ListKeeper()
    walk = walk_over(steps_of(numbered_kind(2)), keeper)
    walk.start()
    asked = walk.type(text)
    before = list(keeper.rows)
    walk.type(text, 40e6)
    walk.type("OL 40 Mohm")

    assert [AskRange(walk.steps[0])] == asked
    assert [] == before
    assert [40e6, None] == [row.range_ohm for row in keeper.rows]


def test_what_is_no_reading_changes_nothing() -> None:
    """The step stays, and nothing is kept."""
    keeper = ListKeeper()
    walk = walk_over(steps_of(numbered_kind(2)), keeper)
    walk.start()
    with pytest.raises(ReadingTextError):
        walk.type("about 170")

    assert [] == keeper.rows
    assert walk.step == walk.steps[0]


def test_milli_is_for_leads_only() -> None:
    """150 mohm is a lead; on a coil it may have been meant as mega."""
    walk = walk_over(steps_of(numbered_kind(1), lead_null=True))
    walk.start()
    walk.type("150 mohm")
    with pytest.raises(ReadingTextError, match="saw '171 mohm'"):
        walk.type("171 mohm")

    assert {"leads"} == set(walk.taken)


def test_what_cannot_be_right_is_put_aside() -> None:
    """The step is taken again, and the reason is told."""
    keeper = ListKeeper(refuse=lambda row: row.reading.text == "9")
    walk = walk_over(steps_of(numbered_kind(1)), keeper)
    walk.start()
    aside = walk.type("9")
    then = walk.type("171")

    assert ["saw nonsense, expected sense"] == refused(aside)
    assert ["NotKept"] == names(aside)
    assert ["Taken", "Finished"] == names(then)


def test_put_aside_while_a_meter_listens() -> None:
    """The clips must be lifted before the step is taken again."""
    keeper = ListKeeper(refuse=lambda row: row.reading.text == "9.0 ohm")
    bench = Tape(walk_over(steps_of(numbered_kind(1)), keeper))
    bench.play(1.0, OL)
    bench.play(5.0, ohms_of(9.0))
    once = names(bench.events)
    bench.play(1.5, OL)
    bench.play(1.5, ohms_of(171.3))

    assert ["Contact", "NotKept"] == once
    assert [("coil 1", "171.3 ohm")] == bench.taken


def test_a_keeper_that_fails_stops_the_walk() -> None:
    """The error goes up, and the step does not count as taken."""
    keeper = ListKeeper(fail=StoreError("the disk is full"))
    walk = walk_over(steps_of(numbered_kind(1)), keeper)
    walk.start()
    with pytest.raises(StoreError, match="the disk is full"):
        walk.type("171")

    assert {} == walk.taken
    assert walk.step == walk.steps[0]


def test_typed_while_the_clips_are_on() -> None:
    """The value that the meter still shows is not credited to the next coil."""
    bench = Tape(walk_over(steps_of(numbered_kind(2))))
    bench.play(1.0, OL)
    bench.play(0.5, ohms_of(171.3))
    bench.events += bench.walk.type("171.3")
    bench.play(5.0, ohms_of(171.3))
    still = bench.taken
    bench.play(1.5, OL)
    bench.play(1.5, ohms_of(172.0))

    assert [("coil 1", "171.3")] == still
    assert [("coil 1", "171.3"), ("coil 2", "172.0 ohm")] == bench.taken


def test_skipped_while_the_clips_are_on() -> None:
    """A coil that was skipped because it jumps is not credited to the next one."""
    bench = Tape(walk_over(steps_of(numbered_kind(2))))
    bench.play(1.0, OL)
    bench.play(0.5, ohms_of(171.3))
    bench.events += bench.walk.skip()
    bench.play(5.0, ohms_of(171.3))

    assert [] == bench.taken


def test_skipped_in_the_air() -> None:
    """With the clips in the air the next contact counts at once."""
    bench = Tape(walk_over(steps_of(numbered_kind(2))))
    bench.play(1.0, OL)
    bench.events += bench.walk.skip()
    bench.play(1.5, ohms_of(172.0))

    assert [("coil 2", "172.0 ohm")] == bench.taken


def test_back_while_a_meter_listens() -> None:
    """After going back the clips are lifted first, then the new value replaces the old."""
    bench = Tape(walk_over(steps_of(numbered_kind(2))))
    bench.play(1.0, OL)
    bench.play(1.5, ohms_of(171.3))
    bench.events += bench.walk.back()
    bench.play(3.0, ohms_of(171.3))
    still = bench.taken
    bench.play(1.5, OL)
    bench.play(1.5, ohms_of(171.9))

    assert [("coil 1", "171.3 ohm")] == still
    assert [("coil 1", "171.3 ohm"), ("coil 1", "171.9 ohm")] == bench.taken


def test_going_on_with_an_earlier_run() -> None:
    """What was taken is not asked again; the clips that still sit on it are lifted first."""
    bench = Tape(walk_over(steps_of(numbered_kind(2)), done=["coil 1"]))
    bench.play(3.0, ohms_of(171.3))
    still = bench.taken
    bench.play(1.5, OL)
    bench.play(1.5, ohms_of(172.0))

    assert [] == still
    assert [("coil 2", "172.0 ohm")] == bench.taken


def test_nothing_left_to_do() -> None:
    """A run that was complete is finished at once."""
    walk = walk_over(steps_of(numbered_kind(2)), done=["coil 1", "coil 2"])

    assert [Finished(2, 0)] == walk.start()


def test_back_at_the_beginning_begins_again() -> None:
    """There is nothing before the first step."""
    walk = walk_over(steps_of(numbered_kind(2)))
    walk.start()

    assert ["coil 1"] == [event.step.key for event in walk.back() if isinstance(event, Begun)]


def test_skipping_what_was_taken_keeps_it() -> None:
    """Back and skip leaves the reading as it was, and does not count it as skipped."""
    walk = walk_over(steps_of(numbered_kind(2)))
    walk.start()
    walk.type("171")
    walk.back()
    walk.skip()
    end = walk.type("172")

    assert [Finished(2, 0)] == [event for event in end if isinstance(event, Finished)]


def test_redo_passes_over_what_was_skipped() -> None:
    """Redo returns to the reading taken last; back returns to the step before."""
    walk = walk_over(steps_of(numbered_kind(4)))
    walk.start()
    walk.type("171")
    walk.skip()
    walk.skip()
    again = walk.redo()
    walk.type("172")
    back = walk.skip() and walk.back()

    assert ["coil 1"] == [event.step.key for event in again if isinstance(event, Begun)]
    assert ["coil 4"] == [event.step.key for event in back if isinstance(event, Begun)]
