"""Steps of a proof that come again: taken back, left out, doubted and confirmed."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import pytest
from proof_played import OPEN, RESISTOR, SHORT, SWAPPED, Played, texts, whys

from coilmeter.walks.proving import NOTHING_ASKED, NOTHING_WITHOUT
from coilmeter.walks.proving_told import (
    ProofAgain,
    ProofBack,
    ProofBegun,
    ProofDone,
    ProofTaken,
)


def test_what_was_taken_back_is_told() -> None:
    """Each step that is returned to is named; one that was not read is not."""
    played = Played()
    played.ohms(0.2)
    played.lift()
    played.walk.skip()
    over_nothing = played.walk.redo()
    back = played.walk.redo()

    assert [ProofBegun(SWAPPED, 2, 4)] == over_nothing
    assert [SHORT] == [event.was.step for event in back if isinstance(event, ProofBack)]
    assert {} == played.walk.results


def test_a_redo_while_the_display_is_asked_about() -> None:
    """What was just taken is taken again, and not the step before it."""
    played = Played(display=True)
    played.to_the_display_of_the_resistor()
    back = played.walk.redo()

    assert [RESISTOR] == [event.was.step for event in back if isinstance(event, ProofBack)]
    assert [SHORT, SWAPPED, OPEN] == list(played.walk.results)


def test_leads_left_out_are_warned_about_and_asked_for_at_the_end() -> None:
    """The resistor that was read meanwhile is not lost."""
    played = Played()
    warned = played.walk.skip()
    played.walk.skip()
    played.walk.skip()
    end = played.ohms(220.5)
    played.lift()
    done = played.ohms(0.2)

    assert [NOTHING_WITHOUT] == texts(warned)
    assert ProofBegun(SHORT, 5, 5) == end[-1]
    assert isinstance(done[-1], ProofDone)
    assert {RESISTOR, SHORT} == set(played.walk.results)


def test_leads_left_out_twice_are_not_asked_for_a_third_time() -> None:
    """It ends then: the person has been told."""
    walk = Played().walk
    walk.skip()
    for typed in ("0.2", "OL", "220.6"):
        walk.type(typed)
    end = walk.skip()

    assert [ProofDone] == [type(event) for event in end]
    assert {SWAPPED, OPEN, RESISTOR} == set(walk.results)


def test_a_reading_taken_before_the_leads_is_weighed_by_them() -> None:
    """One contact must not condemn a meter, in whatever order the steps were read."""
    walk = Played().walk
    walk.skip()
    for typed in ("0.2", "OL", "232"):
        walk.type(typed)
    late = walk.type("0.2")
    cleared = walk.type("220.6")
    taken = walk.results[RESISTOR].taken

    assert [ProofTaken, ProofBack, ProofAgain, ProofBegun] == [type(event) for event in late]
    assert "more than both explain" in whys(late)[0]
    assert isinstance(cleared[-1], ProofDone)
    assert taken is not None
    assert 220.6 == taken.mean_ohm


def test_a_reading_weighed_late_counts_when_confirmed() -> None:
    """Two contacts that agree are the meter's own; it is not asked for again."""
    walk = Played().walk
    walk.skip()
    for typed in ("0.2", "OL", "232", "0.2", "232.1"):
        walk.type(typed)
    taken = walk.results[RESISTOR].taken

    assert walk.finished
    assert {} == walk.doubted
    assert taken is not None
    assert 232.1 == taken.mean_ohm


@pytest.mark.parametrize("second", ["500", "keep"])
def test_far_from_the_nominal_value_and_so_it_is(second: str) -> None:
    """Typed the same twice, or confirmed, it counts: a bad meter can be recorded."""
    walk = Played().walk
    for typed in ("0.2", "0.2", "OL"):
        walk.type(typed)
    walk.type("500")
    doubted = walk.doubted[RESISTOR].taken
    said = walk.confirm() if second == "keep" else walk.type(second)

    assert isinstance(said[-1], ProofDone)
    assert doubted == walk.results[RESISTOR].taken
    assert {} == walk.doubted


def test_nothing_to_confirm() -> None:
    """Where nothing was asked about, nothing is taken."""
    walk = Played().walk
    said = walk.confirm()

    assert [NOTHING_ASKED] == texts(said)
    assert SHORT == walk.step
