"""The walk that proves a meter: what is taken, in which order, and what is in the way."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from dataclasses import replace

import pytest
from proof_played import OPEN, RESISTOR, SHORT, SWAPPED, Played, texts
from walk_helpers import VOLTS, bad_resistances, ohms_of, overload

from coilmeter.values import Flag, Function, Reading
from coilmeter.walks.proving_told import (
    AskDisplay,
    Part,
    ProofBack,
    ProofBegun,
    ProofDone,
    ProofLift,
    ProofTaken,
)


def test_from_shorted_leads_to_the_end() -> None:
    """Four steps, each taken once, ten readings and more, all their bytes with them."""
    played = Played()
    played.to_the_resistor()
    said = played.ohms(220.5)
    short, resistor = played.walk.results[SHORT].taken, played.walk.results[RESISTOR].taken

    assert [SHORT, SWAPPED, OPEN, RESISTOR] == played.taken
    assert [] == texts(played.events)
    assert short is not None
    assert resistor is not None
    assert min(short.count, resistor.count) >= 10
    assert short.count == len(short.raw.split())
    assert 0.24 == pytest.approx(short.mean_ohm, abs=0.01)
    assert 0.0 < short.scatter_ohm < 0.1
    assert 40e6 == played.walk.results[OPEN].range_ohm
    assert isinstance(said[-1], ProofDone)
    assert played.walk.finished
    assert [] == played.ohms(220.5)


def test_the_clips_must_come_off_between_two_readings() -> None:
    """What still touches is not taken for the next step."""
    played = Played()
    played.ohms(0.2)
    before = list(played.taken)
    played.ohms(0.2, 30.0)

    assert [SHORT] == before == played.taken
    assert isinstance(played.events[-2], ProofLift)
    assert isinstance(played.events[-1], ProofBegun)
    assert played.walk.lifting


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        (VOLTS, "the meter is on DC volts: turn it to ohms"),
        (ohms_of(0.2, 0.1, Flag.HOLD), "HOLD is on"),
        (ohms_of(0.2, 0.1, Flag.RELATIVE), "REL is on"),
        (ohms_of(0.2, 0.1, Flag.MAXIMUM), "MAX is on"),
        (replace(ohms_of(0.2), function=Function.CONTINUITY), "the beeper"),
    ],
)
def test_a_meter_that_is_set_wrong(reading: Reading, words: str) -> None:
    """Said once, in words that tell what to turn; nothing is taken."""
    played = Played()
    said = played.show(5.0, reading)

    assert 1 == len(said)
    assert words in texts(said)[0]
    assert [] == played.taken


def test_what_is_neither_ohms_nor_overload_is_not_taken() -> None:
    """A frame without a number leaves everything as it was."""
    played = Played()
    played.show(5.0, *bad_resistances())

    assert [] == played.taken


def test_leads_that_do_not_settle() -> None:
    """A restless short is never taken, and it is said why."""
    played = Played()
    said = played.show(12.0, ohms_of(0.2), ohms_of(1.9))

    assert ["it does not settle: clean the clips, hold still"] == texts(said)
    assert [] == played.taken


@pytest.mark.parametrize(
    ("part", "ohm", "words"),
    [
        (Part.SHORT, 12.0, "are the clips together? Press k"),
        (Part.RESISTOR, 2200.0, "far from 220 ohm 1%: another resistor? Press k"),
        (Part.OPEN, 12e6, "hold the clips apart, hands off. Press k if it is so"),
    ],
)
def test_clips_on_something_else(part: Part, ohm: float, words: str) -> None:
    """It is asked about, after the time that a contact may bounce."""
    played = Played(weighs=False)
    while played.walk.step is not None and played.walk.step.part is not part:
        played.walk.skip()
    early = played.show(0.8, ohms_of(ohm))
    later = played.show(5.0, ohms_of(ohm))

    assert [] == early
    assert 1 == len(later)
    assert words in texts(later)[0]
    assert [] == played.taken


def test_a_key_takes_it_for_what_it_is() -> None:
    """A meter that reads far off is not asked about for ever."""
    played = Played(weighs=False)
    for _ in range(3):
        played.walk.skip()
    played.show(2.0, ohms_of(300.0))
    played.walk.keep_it()
    played.show(3.0, ohms_of(300.0))

    assert [RESISTOR] == played.taken


def test_the_display_is_asked_about_twice() -> None:
    """Shorted and on the resistor, while the clips are still on; nothing goes on before."""
    played = Played(display=True)
    first = played.ohms(0.2)
    meanwhile = played.ohms(0.2, 10.0)
    answered = played.walk.answer(agrees=True)
    played.lift()
    played.ohms(0.2)
    played.lift(5.0)
    second = played.ohms(220.5)
    end = played.walk.answer(agrees=True)

    assert [ProofTaken, AskDisplay] == [type(event) for event in first]
    assert [] == meanwhile
    assert [ProofLift, ProofBegun] == [type(event) for event in answered]
    assert [ProofTaken, AskDisplay] == [type(event) for event in second]
    assert [ProofDone] == [type(event) for event in end]
    assert {SHORT: True, RESISTOR: True} == played.walk.display_agrees


def test_a_display_that_shows_something_else_ends_it() -> None:
    """There is no need to go on."""
    played = Played(display=True)
    played.ohms(0.2)
    end = played.walk.answer(agrees=False)

    assert [ProofDone] == [type(event) for event in end]
    assert played.walk.finished
    assert {SHORT: False} == played.walk.display_agrees


def test_a_question_left_out() -> None:
    """It goes on, and nobody has said anything."""
    played = Played(display=True)
    played.ohms(0.2)
    said = played.walk.skip()

    assert [ProofLift, ProofBegun] == [type(event) for event in said]
    assert {} == played.walk.display_agrees
    assert [] == played.walk.answer(agrees=True)


def test_the_step_before_is_taken_again() -> None:
    """A person saw that it was wrong: it is forgotten, and taken anew after a lift."""
    played = Played()
    played.ohms(0.9)
    played.lift()
    begun = played.walk.redo()
    played.lift()
    played.ohms(0.2)
    taken = played.walk.results[SHORT].taken

    assert [ProofBack, ProofBegun] == [type(event) for event in begun]
    assert ProofBegun(SHORT, 1, 4) == begun[-1]
    assert taken is not None
    assert 0.24 == pytest.approx(taken.mean_ohm, abs=0.01)


def test_everything_left_out() -> None:
    """A walk without a reading ends too."""
    played = Played()
    for _ in range(4):
        played.walk.skip()

    assert played.walk.finished
    assert [] == played.walk.skip()
    assert [] == played.walk.type("0.2 ohm")
    assert {} == played.walk.results


def test_the_meter_was_away() -> None:
    """What was half settled is begun anew."""
    played = Played()
    played.ohms(0.2, 1.5)
    played.walk.interrupted()
    played.ohms(0.2, 1.5)

    assert [] == played.taken


def test_an_overload_of_a_range_chosen_by_itself() -> None:
    """Where the bytes do not tell the range, nothing is made up."""
    played = Played()
    played.walk.skip()
    played.walk.skip()
    played.show(5.0, overload(None))

    assert None is played.walk.results[OPEN].range_ohm
