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
    Contact,
    Event,
    Finished,
    Lift,
    NearZeroHeld,
    NotKept,
    Refused,
    Skipped,
    StillMoving,
    Taken,
)

STEPS = steps_of(numbered_kind(2), lead_null=True, isolation=True)
COIL = STEPS[1]
ROW = replace(template(), reading=parse_reading("171.3 ohm"))
SAID: list[tuple[Event, str]] = [
    (Begun(STEPS[0], 1, 6), "[1/6] leads: the two clips together (move both clips)"),
    (Begun(COIL, 2, 6), "[2/6] coil 1: pin 1 and pin 2 (move both clips)"),
    (Begun(STEPS[3], 4, 6), "[4/6] 1 to 2: pin 1 and pin 3 (move one clip)"),
    (Begun(replace(COIL, moves=0), 2, 6), "[2/6] coil 1: pin 1 and pin 2 (move no clip)"),
    (Contact(COIL), "contact"),
    (StillMoving(COIL, creeping=True), CREEPING),
    (StillMoving(COIL, creeping=False), JUMPING),
    (
        AskBridge(STEPS[4]),
        (
            "OL. If the clips are on, bridge pin 1 and case with a metal tip until it reads "
            "near zero (or press o)"
        ),
    ),
    (AskRange(COIL), "OL on which range? (such as 40 Mohm, or auto)"),
    (
        NearZeroHeld(COIL),
        "near zero: lift the tip; if there is none, press k to keep the reading",
    ),
    (Taken(COIL, ROW), "taken  coil 1  171.3 ohm"),
    (NotKept(COIL, "saw nonsense"), "put aside, take it again: saw nonsense"),
    (Lift(COIL), "lift the clips"),
    (Skipped(COIL), "skipped coil 1"),
    (Refused("turn it to ohms", VOLTS), "turn it to ohms"),
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


def test_what_a_meter_shows_is_harmless() -> None:
    """A display text must not move the cursor."""
    shown = replace(ohms_of(1.0), display="1\x1b[2J\u202e ohm")

    assert "1?[2J? ohm" == reading_text(shown)
