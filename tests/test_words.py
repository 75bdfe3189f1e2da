"""The words for what happens in a walk."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
from dataclasses import replace
from typing import get_args

import pytest
from walk_helpers import VOLTS, ohms_of, steps_of, template

from coilmeter.cli.words import CREEPING, JUMPING, reading_text, row_text, sentence
from coilmeter.units import parse_reading
from coilmeter.values import numbered_kind
from coilmeter.walks.events import (
    AskBridge,
    AskRange,
    Begun,
    Blinks,
    BridgedTooSoon,
    Contact,
    Event,
    Finished,
    Lift,
    LiftLonger,
    LowBattery,
    MeterAway,
    MeterBack,
    MeterSlow,
    NearZeroHeld,
    NotKept,
    OnceMore,
    Planned,
    ReadsLikeACoil,
    Refused,
    SeenTogether,
    Skipped,
    Spoilt,
    StillMoving,
    Taken,
)

STEPS = steps_of(numbered_kind(2), lead_null=True, isolation=True)
LEADS, COIL, PATH, _, TO_CASE, _ = STEPS
ROW = replace(template(), reading=parse_reading("171.3 ohm"))
SAID: list[tuple[Event, str]] = [
    (Planned(12, 12, 14), "12 readings, 14 clip moves"),
    (Planned(9, 12, 10), "9 of 12 readings left, 10 clip moves"),
    (Planned(1, 1, 1), "1 reading, 1 clip move"),
    (Begun(LEADS, 1, 6), "[1/6] leads: the two clips together (move both clips)"),
    (Begun(COIL, 2, 6), "[2/6] coil 1: pin 1 and pin 2 (move both clips)"),
    (Begun(PATH, 3, 6), "[3/6] coil 1 to coil 2: pin 1 and pin 3 (move one clip)"),
    (Begun(replace(COIL, moves=0), 2, 6), "[2/6] coil 1: pin 1 and pin 2 (move no clip)"),
    (Contact(COIL), "contact"),
    (StillMoving(COIL, creeping=True), CREEPING),
    (StillMoving(COIL, creeping=False), JUMPING),
    (
        AskBridge(TO_CASE),
        (
            "OL. If the clips are on, bridge pin 3 and case with a metal tip for a moment, "
            "under a second once it reads near zero (or press o)"
        ),
    ),
    (AskRange(COIL), "OL on which range? (such as 40 Mohm, or auto)"),
    (
        NearZeroHeld(COIL),
        "near zero: lift the tip; if there is none, press k to keep the reading",
    ),
    (
        AskBridge(PATH, "OL past 400 ohm says little of a path: turn to the highest range"),
        (
            "OL past 400 ohm says little of a path: turn to the highest range. If the clips "
            "are on, bridge pin 1 and pin 3 with a metal tip for a moment, under a second once "
            "it reads near zero (or press o)"
        ),
    ),
    (
        BridgedTooSoon(COIL),
        "near zero, and nobody had asked: it proves nothing; bridge when it is asked",
    ),
    (Blinks(COIL), "coil 1 drops out with the clips on: a loose joint? flex it after this"),
    (
        MeterSlow(3.04),
        (
            "the meter sends a reading every 3 s only, and nobody knows what the clips did "
            "meanwhile: set its output to two a second at least"
        ),
    ),
    (Taken(COIL, ROW), "taken  coil 1  171.3 ohm"),
    (
        ReadsLikeACoil(PATH, ROW),
        (
            "171.3 ohm is what a coil reads: are the clips on pin 1 and pin 3? Lift and clip "
            "again, or press k (type keep) if it is so"
        ),
    ),
    (
        OnceMore(COIL),
        (
            "coil 1 read OL behind another OL, and nothing showed that the clips had moved: "
            "once more, to be sure"
        ),
    ),
    (
        Begun(COIL, 4, 6, together=True),
        (
            "[4/6] coil 1: first hold the clips together for two seconds, then clip pin 1 and "
            "pin 2"
        ),
    ),
    (SeenTogether(COIL), "the clips have moved: now clip pin 1 and pin 2"),
    (NotKept(COIL, "saw nonsense"), "put aside, take it again: saw nonsense"),
    (Lift(COIL), "lift the clips"),
    (
        Lift(COIL, unseen=True),
        "lift the clips: if coil 1 conducts again now, it passes for the next one",
    ),
    (
        Lift(PATH, unseen=True),
        "lift the clips and move them: OL before and OL after look the same",
    ),
    (
        LiftLonger(COIL),
        "lift the clips for a full second: a new contact cannot be told from a loose joint",
    ),
    (Skipped(COIL), "skipped coil 1"),
    (Refused("turn it to ohms", VOLTS), "turn it to ohms"),
    (
        LowBattery(VOLTS),
        "the meter says its battery is low: change it, readings may be off",
    ),
    (MeterAway("the meter is unplugged", "plug it in"), "the meter is unplugged: plug it in"),
    (MeterBack("the meter is back"), "the meter is back"),
    (
        Spoilt(12, 80),
        (
            "12 of 80 frames cannot be read: see the meter's plug and cable, and what runs "
            "beside it"
        ),
    ),
    (Finished(3, 0), "done: 3 taken"),
    (Finished(3, 2), "done: 3 taken, 2 skipped"),
]


@pytest.mark.parametrize(("event", "expected"), SAID)
def test_every_event_has_a_line(event: Event, expected: str) -> None:
    """One line, in plain words."""
    assert expected == sentence(event)


def test_no_event_is_left_out() -> None:
    """Each kind of event is in the list above."""
    assert set(get_args(Event)) == {type(event) for event, _ in SAID}


def test_the_verdict_follows_what_was_taken() -> None:
    """So far it means this."""
    assert "taken  coil 1  171.3 ohm: intact" == sentence(Taken(COIL, ROW), "intact")


@pytest.mark.parametrize(
    ("text", "range_ohm", "expected"),
    [
        ("OL", 40e6, "OL (40 Mohm range)"),
        ("OL", math.inf, "OL (automatic range)"),
        ("OL", None, "OL"),
        ("OL 40 Mohm", None, "OL 40 Mohm"),
        ("171.3", 400.0, "171.3"),
    ],
)
def test_an_overload_is_shown_with_its_range(
    text: str, range_ohm: float | None, expected: str
) -> None:
    """The range is what an overload means."""
    assert expected == row_text(replace(ROW, reading=parse_reading(text), range_ohm=range_ohm))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("220767 ohm", "220.8 kohm"),
        ("2340000 ohm", "2.34 Mohm"),
        ("-23450 ohm", "-23.45 kohm"),
        ("1000 ohm", "1 kohm"),
        ("999.9 ohm", "999.9 ohm"),
        ("171.3 ohm", "171.3 ohm"),
        ("0.000000015 ohm", "0.000000015 ohm"),
        ("OL", "OL"),
    ],
)
def test_what_came_from_a_meter_is_shown_as_a_person_reads_it(text: str, expected: str) -> None:
    """In ohm, kohm or Mohm; what was typed is shown as it was typed."""
    typed = replace(ROW, reading=parse_reading(text))
    live = replace(typed, raw="2b31")

    assert expected == row_text(live)
    assert text == row_text(typed)


def test_what_a_meter_shows_is_harmless() -> None:
    """A display text must not move the cursor."""
    shown = replace(ohms_of(1.0), display="1\x1b[2J\u202e ohm")

    assert "1?[2J? ohm" == reading_text(shown)
