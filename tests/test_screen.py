"""What the screen shows: in plain lines, and drawn."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import replace

import pytest
from screens_drawn import BELL, COIL, LEADS, OTHER, PATH, READING, ROW, Drawn, has
from walk_helpers import OL, VOLTS

from coilmeter.cli.figures import big, big_words
from coilmeter.cli.screen import KEYS, Bench, Lines, make_screen
from coilmeter.units import parse_reading
from coilmeter.walks.contact import State
from coilmeter.walks.events import (
    AskBridge,
    Begun,
    Contact,
    Event,
    Finished,
    Lift,
    LiftLonger,
    MeterAway,
    MeterBack,
    NearZeroHeld,
    NotKept,
    Planned,
    Refused,
    Skipped,
    Taken,
)
from coilmeter.walks.steps import Step


@pytest.fixture
def drawn() -> Iterator[Drawn]:
    """Make a screen of 80 by 24 on which the first coil has begun."""
    made = Drawn()
    with made.bench:
        made.bench.happened(Begun(COIL, 2, 6), "")
        yield made


@pytest.mark.parametrize(("width", "height"), [(60, 18), (60, 16), (64, 13), (100, 20)])
def test_a_small_terminal_shows_what_counts(width: int, height: int) -> None:
    """Where to clip, the value, the advice and the keys; blank rows go first."""
    made = Drawn(width, height)
    with made.bench:
        made.now(Begun(COIL, 2, 6), Taken(COIL, ROW), Begun(COIL, 2, 6), AskBridge(COIL))
        made.bench.reading(READING, State.WAITING)
        lines = made.now()
    text = " ".join(" ".join(line.strip("│ ") for line in lines).split())

    assert len(lines) <= height
    assert "pin 1 and pin 2" in text
    assert "metal tip" in text
    assert "q quit" in text
    assert "█" in text


def test_what_is_taken_again_stands_once(drawn: Drawn) -> None:
    """The value it has now, and not the one it had."""
    again = replace(ROW, reading=parse_reading("180.1 ohm"))
    lines = drawn.now(Taken(COIL, ROW), Taken(PATH, ROW), Taken(COIL, again))
    text = "\n".join(lines)

    assert 1 == text.count("coil 1  ")
    assert text.index("180.1 ohm") > text.index(PATH.key)


@pytest.mark.parametrize(
    ("step", "state", "action"),
    [
        (COIL, State.WAITING, "CLIP 1-2"),
        (COIL, State.SETTLING, "HOLD 1-2"),
        (LEADS, State.WAITING, "CLIP TOGETHER"),
        (PATH, State.WAITING, "CLIP 1-3"),
        (COIL, State.LIFTING, "LIFT"),
        (COIL, State.NEAR_ZERO, "HOLD"),
        (COIL, State.TIP, "TIP OFF"),
        (COIL, State.AFTER_TIP, "WAIT"),
    ],
)
def test_what_to_do_is_large(drawn: Drawn, step: Step, state: State, action: str) -> None:
    """The one word and the pins can be read from two metres, and so can the value."""
    drawn.bench.happened(Begun(step, 1, 6), "")
    drawn.bench.reading(READING, state)
    lines = drawn.now()

    assert has(lines, big_words(action, 76))
    assert has(lines, big("171.3 ohm"))


def test_it_fits_a_usual_terminal(drawn: Drawn) -> None:
    """With many readings done, a long advice and both lists, 80 by 24 are enough."""
    for _ in range(30):
        drawn.bench.happened(Taken(COIL, ROW), "intact")
    drawn.bench.reading(READING, State.WAITING)
    lines = drawn.now(NotKept(COIL, "saw nonsense where sense was expected " * 2))

    assert len(lines) <= 24
    assert {80} == {len(line) for line in lines}
    assert any(KEYS in line for line in lines)
    assert any("taken  coil 1  171.3 ohm: intact" in line for line in lines)


@pytest.mark.parametrize("width", [40, 60, 80, 200])
def test_long_names_do_not_break_it(width: int) -> None:
    """Whatever pins and coils are called, the frame stays straight."""
    made = Drawn(width)
    long = replace(COIL, coil="left.front.hot", points=("left.hot.end1", "left.cold.end2"))
    with made.bench:
        made.bench.reading(replace(READING, display="-399.9 Mohm"), State.WAITING)
        lines = made.now(Begun(long, 2, 6), AskBridge(long), Taken(long, ROW))

    assert {width} == {len(line) for line in lines}


def test_what_is_to_be_done_after_a_capture(drawn: Drawn) -> None:
    """LIFT is said with where the clips go next, though the next step has begun."""
    drawn.bench.reading(READING, State.LIFTING)
    lines = drawn.now(Taken(COIL, ROW), Lift(COIL), Begun(OTHER, 3, 6))
    drawn.bench.reading(READING, State.LIFTING)

    assert any("[3/6] coil 2: pin 3 and pin 4" in line for line in lines)
    assert any("lift the clips; then clip pin 3 and pin 4" in line for line in drawn.now())


def test_how_much_there_is_to_do_is_shown_in_the_first_step(drawn: Drawn) -> None:
    """The count is on the screen until something else is to be said."""
    first = drawn.now(Planned(6, 6, 8), Begun(LEADS, 1, 6))
    second = drawn.now(Taken(LEADS, ROW), Lift(LEADS), Begun(COIL, 2, 6))

    assert any("6 readings, 8 clip moves" in line for line in first)
    assert not any("clip moves" in line for line in second)


def test_lift_longer_stays_until_it_is_done(drawn: Drawn) -> None:
    """LIFT stays large, with the reason; with the clips in the air both go."""
    drawn.bench.happened(Begun(OTHER, 4, 6), "")
    drawn.bench.reading(READING, State.LIFTING)
    asked = drawn.now(LiftLonger(OTHER))
    drawn.bench.reading(OL, State.LIFTING)
    still = drawn.now()
    drawn.bench.reading(OL, State.WAITING)
    lifted = drawn.now()

    for lines in (asked, still):
        assert has(lines, big_words("LIFT", 76))
        assert any("lift the clips for a full second" in line for line in lines)
    assert has(lifted, big_words("CLIP 3-4", 76))
    assert not any("full second" in line for line in lifted)


def test_the_warning_of_an_open_coil_is_shown_in_the_next_step(drawn: Drawn) -> None:
    """The clips cannot be seen to lift, so that it stays until something else is to be said."""
    drawn.bench.happened(Taken(COIL, ROW), "open")
    drawn.bench.happened(Lift(COIL, unseen=True), "")
    drawn.bench.happened(Begun(PATH, 3, 6), "")
    drawn.bench.reading(OL, State.WAITING)
    waiting = drawn.now()
    touched = drawn.now(Contact(PATH))

    assert any("if coil 1 conducts again now" in line for line in waiting)
    assert not any("conducts again" in line for line in touched)


def test_a_meter_on_volts_is_said_until_it_is_on_ohms(drawn: Drawn) -> None:
    """The advice goes when the knob is turned."""
    drawn.bench.happened(Refused("the meter is on DC volts: turn it to ohms", VOLTS), "")
    drawn.bench.reading(VOLTS, State.WAITING)
    wrong = drawn.now()
    drawn.bench.reading(OL, State.WAITING)
    right = drawn.now()

    assert has(wrong, big_words("METER", 76))
    assert any("turn it to ohms" in line for line in wrong)
    assert has(right, big_words("CLIP 1-2", 76))
    assert not any("turn it to ohms" in line for line in right)


def test_advice_of_one_step_is_not_shown_in_the_next(drawn: Drawn) -> None:
    """The question belongs to the step that asked it."""
    lines = drawn.now(AskBridge(COIL), Taken(COIL, ROW), Begun(OTHER, 3, 6))

    assert not any("bridge" in line for line in lines)


@pytest.mark.parametrize("event", [NotKept(COIL, "saw nonsense"), Skipped(COIL)])
def test_what_became_of_a_step_outlasts_its_end(drawn: Drawn, event: Event) -> None:
    """The step that begins at once must not wipe it away."""
    lines = drawn.now(event, Begun(COIL, 2, 6))
    later = drawn.now(Begun(OTHER, 3, 6))

    assert any("saw nonsense" in line or "skipped coil 1" in line for line in lines)
    assert not any("saw nonsense" in line or "skipped coil 1" in line for line in later)


@pytest.mark.parametrize(
    ("event", "times"),
    [
        (Taken(COIL, ROW), 1),
        (AskBridge(COIL), 2),
        (NearZeroHeld(COIL), 3),
        (NotKept(COIL, ""), 3),
        (LiftLonger(COIL), 3),
        (Lift(COIL, unseen=True), 0),
        (Planned(6, 6, 8), 0),
        (Refused("", VOLTS), 3),
        (MeterAway("", ""), 3),
        (MeterBack(""), 1),
        (Finished(1, 0), 2),
        (Begun(COIL, 1, 6), 0),
        (Contact(COIL), 0),
    ],
)
def test_what_needs_an_ear_rings(drawn: Drawn, event: Event, times: int) -> None:
    """So many bells."""
    before = drawn.file.getvalue().count(BELL)
    drawn.bench.happened(event, "")

    assert times == drawn.file.getvalue().count(BELL) - before


def test_what_was_taken_stays_on_the_terminal() -> None:
    """When the screen goes, the readings are left as plain lines, all of them."""
    made = Drawn()
    with made.bench:
        for number in range(20):
            step = replace(COIL, coil=f"C{number}")
            made.bench.happened(Taken(step, ROW), "intact")
        made.file.truncate(0)

    assert 20 <= made.file.getvalue().count("171.3 ohm: intact")


def test_it_makes_room_while_a_person_types(drawn: Drawn) -> None:
    """The screen is gone while a line is typed, and back after it, after an error too."""
    with drawn.bench.paused():
        during = drawn.bench._live.is_started
    after = drawn.bench._live.is_started
    with pytest.raises(ValueError, match="any"), drawn.bench.paused():
        raise ValueError("any")

    assert not during
    assert after
    assert drawn.bench._live.is_started


def test_lines_for_a_log(capsys: pytest.CaptureFixture[str]) -> None:
    """One line an event, on standard error, and none for a single reading."""
    with Lines() as lines:
        lines.happened(Planned(6, 6, 8), "")
        lines.happened(Begun(COIL, 2, 6), "")
        lines.reading(READING, State.SETTLING)
        with lines.paused():
            lines.happened(Taken(COIL, ROW), "intact")
        lines.happened(Finished(1, 0), "")
    said = capsys.readouterr()

    assert "" == said.out
    assert [
        "6 readings, 8 clip moves",
        "[2/6] coil 1: pin 1 and pin 2 (move both clips)",
        "    taken  coil 1  171.3 ohm: intact",
        "done: 1 taken",
    ] == said.err.splitlines()


def test_the_screen_is_for_terminals(monkeypatch: pytest.MonkeyPatch) -> None:
    """A pipe gets lines."""
    plain = make_screen()
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)

    assert isinstance(plain, Lines)
    assert isinstance(make_screen(), Bench)
