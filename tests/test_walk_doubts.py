"""Readings that a walk does not take without asking, and steps that are taken again."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import pytest
from walk_helpers import ListKeeper, ohms_of, overload, template

from coilmeter.catalog import load_catalog
from coilmeter.values import Flag, Purpose
from coilmeter.walks.events import (
    AskBridge,
    Begun,
    Event,
    LowBattery,
    ReadsLikeACoil,
    Refused,
    Taken,
)
from coilmeter.walks.steps import Step, plan
from coilmeter.walks.walk import Walk

KNOWN = load_catalog()
KIND = KNOWN.kind("two-channel-rp")


def steps(*, coils_first: bool = False) -> list[Step]:
    """Plan a head of two coils of which the band is known."""
    bands = {coil.name: KNOWN.bands[coil.band] for coil in KIND.coils}
    return plan(KIND, bands, coils_first=coils_first)


def begun(keeper: ListKeeper, *, range_end: float | None = None) -> Walk:
    """Begin a walk over it."""
    walk = Walk(steps(), template(), keeper, range_of=lambda _: range_end, path_good_ohm=10e6)
    walk.start()
    return walk


def kinds(events: list[Event]) -> list[type]:
    """Name the kinds of some events."""
    return [type(event) for event in events]


def test_a_path_that_reads_like_a_coil_is_asked_about() -> None:
    """171 ohm between two coils: the clips may still sit on one of them."""
    keeper = ListKeeper()
    walk = begun(keeper)
    walk.type("0.2")
    walk.type("171.3")
    asked = walk.type("171.3")
    before = keeper.latest()
    kept = walk.keep_it()

    assert [ReadsLikeACoil, Begun] == kinds(asked)
    assert {"leads": "0.2", "coil 1": "171.3"} == before
    assert Taken in kinds(kept)
    assert "171.3" == keeper.latest()["1 to 2"]


@pytest.mark.parametrize("text", ["3.1", "47 kohm", "OL 40 Mohm", "beep"])
def test_a_path_that_reads_like_none_is_taken(text: str) -> None:
    """A bridge, a leak, or none: no coil reads so."""
    keeper = ListKeeper()
    walk = begun(keeper)
    walk.type("0.2")
    walk.type("171.3")

    assert Taken in kinds(walk.type(text))


def test_another_reading_forgets_the_doubt() -> None:
    """What was doubtful is not kept by a key that is pressed later."""
    keeper = ListKeeper()
    walk = begun(keeper)
    walk.type("0.2")
    walk.type("171.3")
    walk.type("171.3")
    walk.type("OL 40 Mohm")
    walk.keep_it()

    assert "OL 40 Mohm" == keeper.latest()["1 to 2"]


def test_an_overload_of_a_low_range_on_a_path_is_told_at_once() -> None:
    """Past 4 kohm says nothing of a path that should have megohms: which knob to turn."""
    keeper = ListKeeper()
    walk = begun(keeper, range_end=4e3)
    walk.type("0.2")
    over = overload(4e3)
    on_coil = walk.feed(1.0, over)
    walk.type("171.3")
    on_path = [event for at in (2.0, 2.1, 2.2) for event in walk.feed(at, over)]

    assert Refused not in kinds(on_coil)
    assert [Refused] == kinds(on_path)


def test_an_overload_of_a_low_range_on_a_coil_is_told_with_the_question() -> None:
    """Clips in the air read OL as well: only a lasting OL asks for another range."""
    walk = begun(ListKeeper(), range_end=4e3)
    walk.type("0.2")
    events = [event for at in range(60) for event in walk.feed(at / 5, overload(4e3))]
    told = [event for event in events if isinstance(event, Refused)]

    assert ["OL past 4 kohm says little of a coil: turn past 10 kohm"] == [
        event.advice for event in told
    ]
    assert kinds(events).index(AskBridge) < kinds(events).index(Refused)


def test_a_low_battery_is_told_once_until_it_is_changed() -> None:
    """At once, whatever else the meter shows; what is taken meanwhile carries a note."""
    keeper = ListKeeper()
    walk = begun(keeper)
    walk.type("0.2")
    low = ohms_of(171.3, 0.1, Flag.LOW_BATTERY)
    first = [kind for at in range(9) for kind in kinds(walk.feed(at / 5, low))]
    changed = kinds(walk.feed(9.0, overload()))
    again = kinds(walk.feed(9.2, overload(40e6, Flag.LOW_BATTERY)))

    assert LowBattery is first[0]
    assert 1 == first.count(LowBattery)
    assert LowBattery not in changed
    assert LowBattery in again
    assert "low battery" in keeper.rows[-1].note


def test_clip_moves_after_a_skip_count_from_where_the_clips_are() -> None:
    """Nobody clipped what was skipped."""
    walk = begun(ListKeeper())
    walk.type("0.2")
    planned = {step.key: step.moves for step in walk.steps}
    walk.skip()
    walk.skip()
    (begun_,) = [event for event in walk.skip() if isinstance(event, Begun)]

    assert 1 == planned[begun_.step.key]
    assert 2 == begun_.step.moves


def test_the_relative_mode_is_no_lead_null() -> None:
    """The meter takes the leads off already: a null read so would say that there are none."""
    keeper = ListKeeper()
    walk = begun(keeper)
    reading = ohms_of(0.0, 0.1, Flag.RELATIVE)
    events = [event for at in range(20) for event in walk.feed(at / 5, reading)]

    assert [Refused] == kinds(events)
    assert {} == keeper.latest()


def test_back_goes_through_the_plan() -> None:
    """From any step to the one before it, whatever was taken in between."""
    walk = begun(ListKeeper())
    for text in ("0.2", "171.3", "OL 40 Mohm", "172.0"):
        walk.type(text)
    keys = []
    for _ in range(3):
        walk.back()
        keys.append(walk.step.key if walk.step else "")

    assert ["coil 2", "1 to 2", "coil 1"] == keys


def test_a_step_is_taken_again_by_its_name() -> None:
    """Also after the end; a name that is none does nothing."""
    keeper = ListKeeper()
    walk = begun(keeper)
    walk.type("0.2")
    walk.type("171.3")
    again = walk.again("leads")
    walk.type("0.3")

    assert [Begun] == kinds(again)
    assert [] == walk.again("coil 9")
    assert "0.3" == keeper.latest()["leads"]


def test_coils_first_turns_the_range_once() -> None:
    """All coils before all paths: more clip moves, one turn of the range switch."""
    mixed, first = steps(), steps(coils_first=True)
    purposes = [step.purpose for step in first[1:]]

    assert {step.key for step in mixed} == {step.key for step in first}
    assert [Purpose.COIL] * 2 == purposes[:2]
    assert Purpose.COIL not in purposes[2:]
    assert sum(step.moves for step in mixed) <= sum(step.moves for step in first)


def test_a_value_keeps_the_last_digit_of_the_display() -> None:
    """0.12 kohm is not 120 ohm: the last digit tells how well it is known."""
    keeper = ListKeeper()
    walk = begun(keeper)
    walk.type("0.2")
    reading = ohms_of(120.0, 10.0)
    for number in range(30):
        walk.feed(number / 10, reading)

    assert "0.12 kohm" == keeper.latest()["coil 1"]
