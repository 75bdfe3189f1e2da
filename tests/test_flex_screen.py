"""What is shown and sounded while a joint is moved, and the picture of it afterwards."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import io
import shutil
import sys
from pathlib import Path

import pytest
from flex_benches import loose, process
from rich.console import Console
from screens_drawn import console_on
from test_terminal import has, real_terminal
from walk_helpers import VOLTS, ohms_of, overload
from walk_processes import LineMeter

from coilmeter.cli.figures import big_words
from coilmeter.cli.flexing_screen import (
    KEYS,
    KEYS_OPEN,
    FlexBench,
    FlexLines,
    Watched,
    make_flex_screen,
)
from coilmeter.cli.flexing_words import MEANINGS, flex_sentence
from coilmeter.values import Reading, Stability
from coilmeter.walks.events import Refused
from coilmeter.walks.flexing_told import (
    Answered,
    AskLifted,
    CameBack,
    Changed,
    ClipOn,
    Creeps,
    DroppedOut,
    End,
    Ended,
    FlexEvent,
    FlexState,
    HoldStill,
    MoveNow,
)

MOVE = MoveNow(171.3, 0.5, rested=True)


COIL = ohms_of(171.3)


WHERE = "pin 3 and pin 4"


EVENTS: dict[str, FlexEvent] = {
    "put the clips on pin 3 and pin 4": ClipOn(),
    "contact: hold still, nothing moves": HoldStill(),
    "171.3 ohm: now move the lead, press the pins, tap; changes above 0.5 ohm count": MOVE,
    "drop-out 3": DroppedOut(3),
    "back after 0.40 s": CameBack(0.4),
    "change 2: by -10 ohm": Changed(-10.0, 2),
    "change 1: by +3.5 ohm": Changed(3.5, 1),
    "it creeps one way: is the head still connected to the board?": Creeps(12.0),
    "OL left out: the clips were lifted": Answered(lifted=True),
    "OL counts as a drop-out": Answered(lifted=False),
    "turn the knob": Refused("turn the knob", VOLTS),
    "done: the time is over": Ended(End.TIME),
}


class Drawn:
    """A big screen on a terminal that is a string."""

    def __init__(self, width: int = 80, height: int = 24, encoding: str = "utf-8") -> None:
        self.file = io.TextIOWrapper(io.BytesIO(), encoding=encoding, errors="replace")
        self.console = console_on(self.file, width, height)
        self.bench = FlexBench("coil 2 of head K-07", WHERE, self.console)

    def lines(self) -> list[str]:
        """Lines of the screen as drawn last."""
        paper = io.StringIO()
        console = Console(file=paper, width=self.console.width, height=self.console.height)
        console.print(self.bench._live.renderable)
        return paper.getvalue().splitlines()

    def bells(self) -> int:
        """How often it has rung."""
        self.file.flush()
        data = self.file.buffer
        assert isinstance(data, io.BytesIO)
        return data.getvalue().count(b"\a")

    def play(self, *readings: Reading, state: FlexState, dropouts: int = 0) -> None:
        """Show readings, ten a second."""
        for number, reading in enumerate(readings):
            watched = Watched(number / 10, 20.0, number, dropouts, 1)
            self.bench.reading(number / 10, reading, state, watched)


@pytest.mark.parametrize("text", EVENTS)
def test_every_event_has_its_words(text: str) -> None:
    """In one line each."""
    assert text == flex_sentence(EVENTS[text], WHERE)


def test_the_question_says_all_three_answers() -> None:
    """By key, by touching the clips, by lifting them."""
    text = flex_sentence(AskLifted(3.1), WHERE)

    assert text.startswith("OL for 3 s: are the clips on? Press o: the joint is open.")
    assert "Touch the clips together, or press q" in text


def test_a_joint_that_does_not_rest_is_told() -> None:
    """Before it is to be moved all the same."""
    text = flex_sentence(MoveNow(171.3, 0.5, rested=False), WHERE)

    assert text.startswith("it does not come to rest; 171.3 ohm: now move")


def test_every_word_and_every_end_has_a_meaning() -> None:
    """None is left without one."""
    assert set(Stability) == set(MEANINGS)
    assert all(flex_sentence(Ended(end), WHERE) for end in End)


@pytest.mark.parametrize(
    ("state", "action"),
    [
        (FlexState.WAITING, "CLIP ON"),
        (FlexState.RESTING, "HOLD STILL"),
        (FlexState.MOVING, "MOVE IT"),
        (FlexState.OPEN, "OPEN"),
        (FlexState.ASKED, "LIFTED OR OPEN"),
        (FlexState.ENDED, "DONE"),
    ],
)
def test_what_to_do_is_large(state: FlexState, action: str) -> None:
    """It can be read from two metres, and fits a terminal of 80 by 24."""
    drawn = Drawn()
    with drawn.bench:
        drawn.bench.happened(AskLifted(3.0))
        drawn.play(COIL, state=state)
        lines = drawn.lines()
    is_open = state in {FlexState.OPEN, FlexState.ASKED}

    assert has(lines, big_words(action, 76))
    assert any((KEYS_OPEN if is_open else KEYS) in line for line in lines)
    assert len(lines) <= 24
    assert max(map(len, lines)) <= 80


def test_value_count_and_strip() -> None:
    """The value large, the number of drop-outs and changes large at its right, and a strip."""
    drawn = Drawn()
    with drawn.bench:
        drawn.bench.happened(MOVE)
        drawn.play(
            *[COIL] * 40,
            *[overload()] * 5,
            *[COIL] * 10,
            state=FlexState.MOVING,
            dropouts=3,
        )
        lines = drawn.lines()
    text = "\n".join(lines)

    assert has(lines, big_words("171.3", 76))
    assert "3 open, 1 changed" in text
    assert any(line.rstrip(" \u2502").endswith("\u2588  \u2588") for line in lines)
    assert "\u2580" in text
    assert "coil 2 of head K-07   5.4 of 20 s, 10.0/s" in text


def test_the_bounce_of_the_clips_does_not_set_the_scale() -> None:
    """The strip begins when it is to be moved."""
    drawn = Drawn()
    with drawn.bench:
        drawn.play(*[ohms_of(490.0)] * 3, *[COIL] * 20, state=FlexState.RESTING)
        drawn.bench.happened(MOVE)
        drawn.play(*[COIL] * 10, state=FlexState.MOVING)

        assert "490" not in "\n".join(drawn.lines())


def test_a_narrow_terminal_shows_the_number_small() -> None:
    """There is no room for both at large."""
    drawn = Drawn(width=60)
    with drawn.bench:
        drawn.play(ohms_of(1234.5), state=FlexState.MOVING, dropouts=3)
        lines = drawn.lines()

    assert max(map(len, lines)) <= 60
    assert any("3 open" in line for line in lines)


def test_a_terminal_without_blocks_is_drawn_in_ascii() -> None:
    """Figures, strip and frame."""
    drawn = Drawn(encoding="ascii")
    with drawn.bench:
        drawn.bench.happened(MOVE)
        drawn.play(*[COIL] * 40, *[overload()] * 5, *[COIL] * 5, state=FlexState.MOVING)
        shown = "\n".join(drawn.lines()).replace("\u2502", "|")
    inner = "".join(line for line in shown.splitlines() if line.startswith("|"))

    assert inner.isascii()
    assert "###" in inner
    assert "^" in inner


def test_a_bell_for_each_drop_out() -> None:
    """One for a drop-out or a change, two to begin and end, three to look up."""
    rung: dict[str, int] = {}
    events: tuple[FlexEvent, ...] = (
        *(DroppedOut(1), Changed(3.0, 1), MOVE),
        *(AskLifted(3.0), CameBack(0.4)),
    )
    for event in events:
        drawn = Drawn()
        with drawn.bench:
            drawn.bench.happened(event)
        rung[type(event).__name__] = drawn.bells()

    assert {
        "DroppedOut": 1,
        "Changed": 1,
        "MoveNow": 2,
        "AskLifted": 3,
        "CameBack": 0,
    } == rung


def test_a_wrong_meter_is_large_until_it_is_right() -> None:
    """The knob to turn stands there meanwhile."""
    drawn = Drawn()
    with drawn.bench:
        drawn.bench.happened(Refused("the meter is on DC volts: turn it to ohms", VOLTS))
        drawn.play(VOLTS, state=FlexState.MOVING)
        wrong = drawn.lines()
        drawn.play(COIL, COIL, state=FlexState.MOVING)
        right = drawn.lines()

    assert has(wrong, big_words("METER", 76))
    assert any("turn it to ohms" in line for line in wrong)
    assert has(right, big_words("MOVE IT", 76))


def test_events_choose_what_to_do_before_a_reading_comes() -> None:
    """Each asks for something else."""
    drawn = Drawn()
    actions: tuple[tuple[FlexEvent, str], ...] = (
        (ClipOn(), "CLIP ON"),
        (HoldStill(), "HOLD STILL"),
        (MOVE, "MOVE IT"),
    )
    with drawn.bench:
        for event, action in actions:
            drawn.bench.happened(event)

            assert has(drawn.lines(), big_words(action, 76))


def test_lines_where_there_is_no_terminal(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """An event a line; single readings would drown them."""
    screen = make_flex_screen("coil 2", WHERE)
    assert isinstance(screen, FlexLines)
    with screen:
        screen.happened(ClipOn())
        screen.reading(0.0, COIL, FlexState.WAITING, Watched())
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)

    assert f"put the clips on {WHERE}\n" == capsys.readouterr().err
    assert isinstance(make_flex_screen("coil 2", WHERE), FlexBench)


@pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed here")
def test_in_a_real_terminal(tmp_path: Path) -> None:
    """The big screen, a drop-out, the question and its key, and the end by a key."""
    words = ["flex", "--coil", "2", "--kind", "two-channel-rp", "--format", "plain"]
    words += ["--out", "result.txt", "--for", "0"]
    with (
        LineMeter("OL 40 Mohm auto", rate_hz=10.0).serving() as meter,
        real_terminal(tmp_path, *words, "--port", meter.url) as terminal,
    ):
        begun = terminal.wait_for(big_words("CLIP ON", 76))
        meter.line = "171.3 ohm auto"
        terminal.wait_for(big_words("HOLD STILL", 76))
        terminal.wait_for(big_words("MOVE IT", 76))
        meter.line = "OL 40 Mohm auto"
        terminal.wait_for(big_words("OPEN", 76))
        asked = terminal.wait_for(big_words("LIFTED OR OPEN", 76))
        terminal.press("o")
        terminal.wait_for("OL counts as a drop-out")
        meter.line = "171.3 ohm auto"
        back = terminal.wait_for(big_words("MOVE IT", 76))
        terminal.press("Enter")
        terminal.wait_for("ended 1")
    result = (tmp_path / "result.txt").read_text()

    assert any("put the clips on pin 3 and pin 4" in line for line in begun)
    assert any("are the clips on? Press o" in line for line in asked)
    assert any("1 open, 0 changed" in line for line in back)
    assert max(map(len, [*begun, *asked, *back])) <= 80
    assert result.startswith("INTERMITTENT: coil 2 of head head, pin 3 and pin 4")


def test_a_loose_joint_rings_in_a_process(tmp_path: Path) -> None:
    """Without a terminal nothing rings, and each drop-out is a line."""
    with process(tmp_path, loose, "--for", "8s", form="plain") as run:
        ran = run.end()

    assert "\a" not in ran.err
    assert ran.err.count("drop-out ") >= 2
