"""The walk over unmarked pins: no screen, no port, exact times."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from helpers import rows, settings
from pin_meters import FOUR, head
from walk_helpers import OL, ListKeeper, Tape, names, ohms_of, overload

from coilmeter.cli.pinning import PinJob, check_resumed
from coilmeter.compute.pinplan import Ask, Reason, Wishes
from coilmeter.errors import InputError
from coilmeter.sources.keeper import SheetKeeper
from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.units import parse_reading
from coilmeter.values import Flag, Purpose, ReadingRow
from coilmeter.values.pinmaps import MapStatus, PinField, PinPair
from coilmeter.walks.events import AskBridge, Begun, Finished, NearZeroHeld, Refused, Taken
from coilmeter.walks.pinning import (
    INSTEAD,
    PairStep,
    PinWalk,
    changed,
    counted,
    times_read,
)

TWO = PinField((("1", "2"),), case=False)
TEMPLATE = ReadingRow("walk", 0, "H", parse_reading("0"))


@dataclass
class Script:
    """A plan that asks for pairs in a fixed order."""

    pairs: list[PinPair]
    asked: list[tuple[Sequence[str], Collection[PinPair]]] = field(default_factory=list)

    def __call__(self, clipped: Sequence[str], skipped: Collection[PinPair]) -> Ask | None:
        """Give the next pair."""
        self.asked.append((clipped, skipped))
        return Ask(self.pairs.pop(0), Reason.PARTNER, 2) if self.pairs else None


def walk_of(
    plan: Script, keeper: ListKeeper | None = None, *, lead_null: bool | None = False
) -> PinWalk:
    """Make a walk with a plan of its own."""
    return PinWalk(FOUR, plan, TEMPLATE, keeper or ListKeeper(), lead_null=lead_null)


def job_in(folder: Path, pins: PinField = FOUR, *, resume: bool = False) -> PinJob:
    """Make a job that keeps its rows in a folder."""
    keeper = SheetKeeper(folder / "H.csv", resume=resume)
    chosen = settings(meter="handheld-4000", lead="0.2 ohm")
    return PinJob("H", pins, chosen, keeper, Wishes())


def live(walk: PinWalk, bench: SimulatedHead) -> list[str]:
    """Walk as a person does who clips what is asked for, and bridges when asked; no key."""
    tape = Tape(walk)
    while not walk.finished:
        pair = walk.pair
        assert pair is not None
        tape.play(1.5, OL)
        ohm = bench.resistance_between(*pair.points)
        if ohm < 40e6:
            tape.play(1.5, ohms_of(round(ohm + 0.2, 1)))
            continue
        tape.play(4.0, OL)
        tape.play(0.5, ohms_of(0.2))
        tape.play(1.5, OL)
    return [key for key, _ in tape.taken]


def test_values_and_proved_overloads_lead_to_the_map(tmp_path: Path) -> None:
    """Four scrambled pins, hands free: the map is certain, and every OL was proved."""
    job = job_in(tmp_path)
    taken = live(job.walk(), head("1-4 184", "2-3 186"))
    found = job.known()[1]

    assert MapStatus.CERTAIN == found.status
    assert {("1", "4"), ("2", "3")} == {link.pins for link in found.coils}
    assert len(taken) == len(job.keeper.rows)
    assert {"bridged"} == {row.proof for row in job.keeper.rows if row.reading.text == "OL"}
    assert {Purpose.FREE} == {row.purpose for row in job.keeper.rows}


def test_an_overload_without_a_tip_proves_nothing() -> None:
    """OL for a minute is no missing connection: lifted clips read the same."""
    walk = walk_of(Script([("1", "2")]))
    tape = Tape(walk)
    said = tape.play(60, OL)

    assert [] == tape.taken
    assert ["AskBridge"] == names(said)
    assert isinstance(said[0], AskBridge)


def test_the_lead_null_comes_first() -> None:
    """Then the pairs, from where the clips are: in the air."""
    plan = Script([("1", "2"), ("1", "3")])
    tape = Tape(walk_of(plan, lead_null=True))
    tape.play(2, ohms_of(0.2))
    tape.play(1.5, OL)
    tape.play(2, ohms_of(184.2))

    assert [("leads", "0.2 ohm"), ("1-2", "184.2 ohm")] == tape.taken
    assert [("clip", "clip"), ("1", "2")] == [clipped for clipped, _ in plan.asked]


def test_near_zero_waits_for_a_key() -> None:
    """A short between two pins and a tip look the same: a person says which it is."""
    keeper = ListKeeper()
    walk = walk_of(Script([("1", "2")]), keeper)
    tape = Tape(walk)
    tape.play(5, OL)
    said = tape.play(4, ohms_of(0.1))
    before = list(keeper.rows)
    tape.events += walk.keep_it()
    tape.play(2, ohms_of(0.1))

    assert NearZeroHeld in [type(event) for event in said]
    assert [] == before
    assert [("1-2", "0.1 ohm")] == tape.taken


def test_a_held_display_is_refused() -> None:
    """The knob to turn is said, and nothing is taken."""
    tape = Tape(walk_of(Script([("1", "2")])))
    said = tape.play(2, ohms_of(184.0, 0.1, Flag.HOLD))

    assert [Refused] == [type(event) for event in said]
    assert [] == tape.taken


def test_what_is_taken_again_takes_the_place_of_what_was() -> None:
    """The older row stays, and no longer counts."""
    keeper = ListKeeper()
    walk = walk_of(Script([("1", "2"), ("1", "3"), ("1", "3")]), keeper)
    walk.start()
    walk.type("OL 40 Mohm")
    walk.redo()
    walk.type("184")
    notes = [row.note for row in keeper.rows]

    assert ["", INSTEAD] == notes
    assert ["184"] == [row.reading.text for row in counted(keeper.rows)]
    assert {frozenset("12"): 2} == times_read(keeper.rows)
    assert ["1-2 read OL 40 Mohm, and 184 ohm again"] == changed(keeper.rows)


def test_a_pair_that_is_asked_for_again() -> None:
    """The plan may ask for a pair that was read: it is a step once more."""
    keeper = ListKeeper()
    walk = walk_of(Script([("1", "2"), ("1", "3"), ("1", "2")]), keeper)
    walk.start()
    walk.type("OL 40 Mohm")
    walk.type("OL 40 Mohm")
    begun = walk.pair
    events = walk.type("184")

    assert begun is not None
    assert begun.again
    assert "1-2" == begun.key
    assert ["1-2", "1-3", "1-2"] == ["-".join(row.pins or ()) for row in keeper.rows]
    assert isinstance(events[-1], Finished)


def test_back_and_again_by_name() -> None:
    """Any pair can be read again by its name; a skipped one is told to the plan."""
    plan = Script([("1", "2"), ("1", "3"), ("1", "4")])
    walk = walk_of(plan)
    walk.start()
    walk.skip()
    walk.type("184")
    again = walk.again("1-2")

    assert [("1", "2")] == list(plan.asked[1][1])
    assert isinstance(again[-1], Begun)
    assert "1-2" == again[-1].step.key
    assert [] == walk.again("9-8")


def test_a_step_that_is_no_longer_wanted_is_dropped() -> None:
    """After going back, the plan is asked anew, and what it asked for before is forgotten."""
    plan = Script([("1", "2"), ("1", "3"), ("1", "4")])
    walk = walk_of(plan)
    walk.start()
    walk.type("OL 40 Mohm")
    walk.back()
    walk.type("184")

    assert walk.pair is not None
    assert "1-4" == walk.pair.key
    assert ["1-2", "1-4"] == [step.key for step in walk.steps]


def test_a_reading_that_cannot_be_is_put_aside(tmp_path: Path) -> None:
    """Below zero by more than the null explains: kept with a note, and asked for again."""
    job = job_in(tmp_path, TWO)
    walk = job.walk()
    walk.start()
    events = walk.type("-30")

    assert ["NotKept"] == names(events)
    assert ["refused"] == [row.note for row in job.keeper.rows]
    assert [] == counted(job.keeper.rows)
    assert walk.pair is not None


def test_going_on_where_it_was_left(tmp_path: Path) -> None:
    """What is in the file is not asked for again, and the lead null is not either."""
    job = job_in(tmp_path)
    walk = job.walk()
    walk.start()
    walk.type("OL 40 Mohm")
    walk.type("184.2")
    job.keeper.close()
    resumed = job_in(tmp_path, resume=True)
    check_resumed(resumed)
    again = resumed.walk()
    again.start()

    assert {"-".join(row.pins or ()) for row in job.keeper.rows} == again.taken.keys()
    assert 2 == len(again.taken)
    assert again.pair is not None
    assert again.pair.key not in again.taken


def test_a_file_of_another_head(tmp_path: Path) -> None:
    """It is not gone on with."""
    job = job_in(tmp_path)
    walk = job.walk()
    walk.start()
    walk.type("184.2")
    other = PinJob("G", FOUR, job.settings, job.keeper, Wishes())

    with pytest.raises(InputError, match="holds head 'H', and not head 'G'"):
        check_resumed(other)


def test_isolation_asks_for_the_highest_range() -> None:
    """An OL on a low range says little of a path: it is said before the tip is asked for."""
    step = PairStep(Purpose.FREE, "", "case", ("1", "3"), (("1", "3"),), reason=Reason.APART)
    plan = Script([("1", "3")])
    walk = PinWalk(
        FOUR,
        lambda clipped, skipped: replace_reason(plan(clipped, skipped)),
        TEMPLATE,
        ListKeeper(),
        lead_null=False,
        range_of=lambda reading: reading.full_scale,
        path_ohm=1e7,
    )
    said = Tape(walk).play(2, overload(4e3))

    assert "1-3" == step.key
    assert ["Refused"] == names(said)
    assert isinstance(said[0], Refused)
    assert "turn to the highest range" in said[0].advice


def replace_reason(ask: Ask | None) -> Ask | None:
    """Ask for isolation."""
    return None if ask is None else Ask(ask.pins, Reason.APART, ask.moves)


def test_rows_that_do_not_count() -> None:
    """Those that were taken again in a check, refused, or made when a map was saved."""
    text = (
        "head,pins,reading,purpose,note\n"
        "H,1-2,184,free,taken again later\n"
        "H,1-2,185,free,low battery; refused\n"
        "H,1-2,186,coil,as mapped from 1-2\n"
        "H,1-2,187,free,low battery\n"
        f"H,2-1,188,free,low battery; {INSTEAD}\n"
    )
    read = rows(text)

    assert ["188"] == [row.reading.text for row in counted(read)]
    assert ["1-2 read 187 ohm, and 188 ohm again"] != changed(read)
    assert [] == changed(read)


def test_values_that_differ_when_read_again() -> None:
    """More than 5 % apart is said; less is a contact."""
    near = rows(f"pins,reading,note\n1-2,184,\n1-2,186,{INSTEAD}\n")
    far = rows(f"pins,reading,note\n1-2,184,\n1-2,220,{INSTEAD}\n")

    assert [] == changed(near)
    assert ["1-2 read 184 ohm, and 220 ohm again"] == changed(far)


def test_taken_events_name_the_pair() -> None:
    """The key of a step is its two points."""
    walk = walk_of(Script([("1", "2")]))
    walk.start()
    taken = [event for event in walk.type("184") if isinstance(event, Taken)]

    assert ["1-2"] == [event.step.key for event in taken]
    assert "pin 1 and pin 2" == taken[0].step.where
