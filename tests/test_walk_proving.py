"""The walk that proves a meter: what is taken, what is asked again, what is in the way."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import pytest
from helpers import shipped
from proof_played import KNOWN, OPEN, RESISTOR, SHORT, SWAPPED, Played, texts, whys
from walk_helpers import VOLTS, bad_resistances, ohms_of, overload

from coilmeter.cli.proving_judged import ProofJob
from coilmeter.errors import ReadingTextError
from coilmeter.values import Flag, Function, Reading
from coilmeter.values.proofs import Taken
from coilmeter.walks.proving import ProofWalk
from coilmeter.walks.proving_told import (
    AskDisplay,
    Part,
    ProofAgain,
    ProofBack,
    ProofBegun,
    ProofDone,
    ProofLift,
    ProofStep,
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


def test_a_bad_contact_does_not_condemn_a_meter() -> None:
    """What speaks against it is read again, and the second contact is all right."""
    played = Played()
    played.to_the_resistor()
    again = played.ohms(232.0)
    still_on = played.ohms(220.5)
    played.lift()
    played.ohms(220.5)
    taken = played.walk.results[RESISTOR].taken

    assert [ProofAgain] == [type(event) for event in again]
    assert "more than both explain" in whys(again)[0]
    assert [] == still_on
    assert taken is not None
    assert 220.5 == pytest.approx(taken.mean_ohm, abs=0.1)


def test_what_reads_wrong_twice_counts() -> None:
    """Two contacts that agree are the meter's own."""
    played = Played()
    played.to_the_resistor()
    played.ohms(227.0)
    played.lift()
    played.ohms(227.0)

    assert RESISTOR == played.taken[-1]


def test_two_bad_contacts_that_differ_do_not_count() -> None:
    """Each of them is asked about, until two agree."""
    played = Played()
    played.to_the_resistor()
    for ohm in (232.0, 241.0, 227.0):
        played.ohms(ohm)
        played.lift()
    played.ohms(227.0)

    assert 3 == len(whys(played.events))
    assert RESISTOR == played.taken[-1]


def test_leads_below_zero_are_read_again_too() -> None:
    """REL may be on in a meter whose bytes do not tell; the second time it counts."""
    played = Played()
    first = played.ohms(-2.0)
    played.lift()
    played.ohms(-2.0)

    assert "is REL on" in whys(first)[0]
    assert [SHORT] == played.taken


def test_plugs_that_make_a_difference_are_read_again() -> None:
    """Thermal voltage or contact: the leads are shorted once more before it counts."""
    played = Played()
    played.ohms(0.2)
    played.lift()
    said = played.ohms(1.5)

    assert "with the plugs swapped" in whys(said)[0]
    assert [SHORT] == played.taken


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


def test_typed_readings() -> None:
    """One, or several with a semicolon between them, whose scatter counts then."""
    walk = Played().walk
    walk.type("0.2 ohm; 0.3; 0.1 ohm")
    walk.type("0.2 ohm")
    walk.type("OL 40 Mohm")
    walk.type("220.6")
    short, resistor = walk.results[SHORT].taken, walk.results[RESISTOR].taken

    assert short is not None
    assert resistor is not None
    assert (3, 0.2, 0.1) == pytest.approx((short.count, short.mean_ohm, short.scatter_ohm))
    assert 0.1 == pytest.approx(short.step_ohm)
    assert (1, 0.0) == (resistor.count, resistor.scatter_ohm)
    assert walk.finished


@pytest.mark.parametrize("text", ["", "OL", "0.2; OL", "beep", "12 V", "0.2 ohm;"])
def test_what_cannot_be_typed(text: str) -> None:
    """It is said, and the step waits."""
    walk = Played().walk
    with pytest.raises(ReadingTextError):
        walk.type(text)

    assert SHORT == walk.step


def test_an_overload_typed_without_its_range() -> None:
    """Of a meter that ranges by itself, it is past the highest range; else it is not known."""
    walks = [Played().walk for _ in range(2)]
    for walk, text in zip(walks, ("OL auto", "OL"), strict=True):
        for typed in ("0.2", "0.2", text):
            walk.type(typed)

    assert [math.inf, None] == [walk.results[OPEN].range_ohm for walk in walks]


def test_a_slip_of_the_pen_is_asked_about() -> None:
    """A point in the wrong place must not condemn a meter."""
    walk = Played().walk
    walk.type("0.2")
    walk.type("0.2")
    walk.type("OL")
    said = walk.type("22.06")
    walk.type("220.6")
    taken = walk.results[RESISTOR].taken

    assert "another resistor?" in whys(said)[0]
    assert taken is not None
    assert 220.6 == taken.mean_ohm


def test_two_resistors_of_one_value() -> None:
    """They are two steps."""
    walk = ProofWalk((KNOWN, KNOWN))
    for text in ("0.2", "0.2", "OL", "220.1", "220.4"):
        walk.type(text)

    assert [220.1, 220.4] == [
        event.taken.mean_ohm
        for step, event in walk.results.items()
        if step.resistor and event.taken
    ]


def test_a_reading_weighed_without_its_leads() -> None:
    """Where the leads were left out there is nothing to weigh it by."""
    job = ProofJob(shipped().meter("handheld-4000"), (KNOWN,))
    nothing: Mapping[ProofStep, ProofTaken] = {}

    assert "" == job.against(RESISTOR, Taken(300.0), nothing)
    assert "" == job.against(OPEN, Taken(300.0), nothing)
