"""A pin map as a person sees it: the field in letters, and as a page."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import functools
import io
from itertools import combinations

import pytest
from pin_meters import EIGHT, FOUR, head, with_case
from pin_meters import mapped as mapped_with
from rich.console import Console
from walk_helpers import ohms_of

from coilmeter.cli.pinning_words import pin_sentence
from coilmeter.cli.screen import Bench
from coilmeter.compute.pinplan import Reason
from coilmeter.report.pin_drawing import field_lines, legend, map_lines, path_name
from coilmeter.report.pin_page import drawing
from coilmeter.units import parse_reading
from coilmeter.values import CASE, Purpose, ReadingRow
from coilmeter.values.pinmaps import PinField
from coilmeter.walks.contact import State
from coilmeter.walks.events import AskBridge, Begun, Finished, Lift, Taken
from coilmeter.walks.pinning import PairStep
from coilmeter.walks.steps import CLIPS, Step

mapped = functools.partial(mapped_with, own_ohm=0.5)
SCRAMBLED = head("1-4 184", "2-8 185", "3-5 186", "6-7 183")


def step(a: str, b: str, moves: int = 1) -> PairStep:
    """Make the step of a pair."""
    return PairStep(Purpose.FREE, "", "", (a, b), ((a, b),), moves=moves, reason=Reason.PARTNER)


def test_a_whole_map() -> None:
    """Letters at the pins, values and leaks beside them."""
    found = mapped(SCRAMBLED.with_leak("2", CASE, 220e3), EIGHT)

    assert [
        " 1 A   2 B    A  1-4  184.00 ohm",
        " 3 C   4 A    B  2-8  185.00 ohm",
        " 5 C   6 D    C  3-5  186.00 ohm",
        " 7 D   8 B    D  6-7  183.00 ohm",
        " case            2-8 to case  220 kohm, leaking",
    ] == map_lines(found)
    assert "" == legend(found)


def test_before_anything_is_read() -> None:
    """Every pin is unread, and the two that are asked for stand in brackets."""
    found = mapped(SCRAMBLED, EIGHT, [])

    assert "[1 .] [2 .]" == map_lines(found, ("1", "2"))[0]
    assert ". not read" == legend(found)


def test_half_way() -> None:
    """What is searched, what has no partner, and what is found."""
    pairs = [("1", "2"), ("1", "3"), ("1", "4"), with_case("1")]
    found = mapped(SCRAMBLED, FOUR, pairs)

    assert [" 1 A   2 ?    A  1-4  184.00 ohm", " 3 ?   4 A", " case"] == map_lines(found)
    assert "? no partner yet" == legend(found)


def test_no_partner_joined_and_open() -> None:
    """Each has its sign, and the sign its words."""
    field = PinField((("1", "2", "3"), ("4", "5", "6")), case=False)
    bench = head("1-2 184", "3-4 185", "5-6 185").with_leak("1", "2", 0.0)
    alone = mapped(bench.with_open("2").with_open("3"), field)
    told = [*field_lines(alone), legend(alone)]
    conducts = mapped(head("1-2 184", "2-3 185"), field, [("1", "2"), ("2", "3")])

    assert [" 1 =   2 =   3 -", " 4 -   5 -   6 -"] == told[:2]
    assert "- no partner, = joined by a dead short" == told[2]
    assert "~ conducts, how is open" in legend(conducts)


def test_pins_with_several_coils() -> None:
    """A common return has the letters of all its coils; holes in the field stay holes."""
    field = PinField((("1", "", "2"), ("3", "R", "")))
    found = mapped(head("1-R 184", "2-R 185", "3-R 186"), field)

    assert [
        " 1 A             2 B",
        " 3 C     R ABC",
        " case",
    ] == field_lines(found)


def test_a_coil_that_a_person_calls_open() -> None:
    """It has a letter, and says who says so."""
    found = mapped(SCRAMBLED.with_open("3"), EIGHT)
    lines = map_lines(found, None, (("3", "5"),))

    assert "C  3-5  open" in lines[2]
    assert " 3 C" in lines[1]


def test_hidden_and_bridged_links_are_listed() -> None:
    """Links that are no coils stand below the coils, with what they are."""
    found = mapped(head("1-2 184", "3-4 185").with_leak("1", "3", 50.0), FOUR)

    assert any("1-3  50.00 ohm, bridged coils" in line for line in map_lines(found))
    assert "1-2-3-4 to case" == path_name(found, found.paths[0])


@pytest.mark.parametrize("pins", [2, 3, 16])
def test_every_size_of_field(pins: int) -> None:
    """From two pins to sixteen, with two-figure names in line."""
    names = [str(pin) for pin in range(1, pins + 1)]
    rows = tuple(tuple(names[at : at + 2]) for at in range(0, pins, 2))
    found = mapped(head("1-2 184"), PinField(rows, case=False), [("1", "2")])
    lines = field_lines(found)

    assert len(rows) == len(lines)
    assert all(name in " ".join(lines) for name in names)


def test_drawing_of_a_page() -> None:
    """A circle for each pin and the case, a line for each coil, with its name."""
    leaking = SCRAMBLED.with_leak("1", "3", 50.0).with_leak("6", CASE, 220e3)
    made = drawing(mapped(leaking, EIGHT))

    assert 9 == len(made["pins"])
    assert ["wire"] * 4 + ["bridge"] * 2 == [line["kind"] for line in made["lines"]]
    assert ["A", "B", "C", "D", "", ""] == [line["text"] for line in made["lines"]]
    assert made["spoken"].startswith("Pins of the head: coil A between 1 and 4")
    assert "50.00 ohm between 1 and 3, " in made["spoken"]
    assert made["spoken"].endswith("kohm between 6 and case")
    assert all(0 < pin["x"] < made["width"] for pin in made["pins"])
    assert all(0 < pin["y"] < made["height"] for pin in made["pins"])


def test_the_words_of_a_walk() -> None:
    """Each line says the pair, where to clip, how many clips move, and why."""
    leads = Step(Purpose.LEAD_NULL, "", "", CLIPS, (CLIPS,))
    row = ReadingRow("walk", 0, "H", parse_reading("184.2"), pins=("1", "3"))
    pair = step("1", "3")

    assert [
        "[1] leads: the two clips together (move both clips)",
        "[4] 1-3: pin 1 and pin 3 (move one clip): looking for a partner",
        "taken  1-3  184.2: they belong together",
        "lift the clips",
        "done: nothing more to read, 2 skipped",
    ] == [
        pin_sentence(Begun(leads, 1, 1)),
        pin_sentence(Begun(pair, 4, 4)),
        pin_sentence(Taken(pair, row), "they belong together"),
        pin_sentence(Lift(pair, unseen=True)),
        pin_sentence(Finished(3, 2)),
    ]
    assert "bridge pin 1 and pin 3 with a metal tip" in pin_sentence(AskBridge(pair))


@pytest.mark.parametrize(("height", "rows"), [(24, 5), (32, 5), (16, 3)])
def test_the_field_on_the_screen(height: int, rows: int) -> None:
    """On a terminal of 24 rows all of the field is there; smaller ones keep the value."""
    drawn = io.StringIO()
    console = Console(
        file=drawn, width=80, height=height, force_terminal=True, legacy_windows=False
    )
    found = mapped(SCRAMBLED, EIGHT, combinations("1234", 2))
    screen = Bench(console, pin_sentence, lambda: map_lines(found, ("1", "5")))
    with screen:
        screen.happened(Begun(step("1", "5"), 7, 7), "")
        screen.reading(ohms_of(123.4), State.SETTLING)
        shown = drawn.getvalue()
    last = shown.rpartition("[7] 1-5")[2]

    assert "[7] 1-5: pin 1 and pin 5 (move one clip): looking for a partner" in shown
    assert rows <= sum(line in last for line in map_lines(found, ("1", "5")))
    assert "q quit" in last
