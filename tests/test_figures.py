"""Figures five rows high."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilmeter.cli.figures import ROWS, big, big_words, draw


def test_every_character_has_a_shape_of_its_own() -> None:
    """Ten figures, the capitals and the signs of a display are drawn, all differently."""
    every = string.digits + string.ascii_uppercase + "-.km\u03a9"
    shapes = {char: draw(char) for char in every}
    different = {tuple(rows) for rows in shapes.values() if rows is not None}

    assert all(rows is not None and len(rows) == ROWS for rows in shapes.values())
    assert len(every) == len(different)
    assert draw(",") == draw(".")


def test_rows_of_a_shape_are_of_one_width() -> None:
    """So that what follows stands straight."""
    for char in string.digits + string.ascii_uppercase + "-.,km\u03a9 ":
        rows = draw(char)

        assert rows is not None
        assert 1 == len({len(row) for row in rows})


def test_a_number_and_its_unit() -> None:
    """A reading in ohms is drawn whole."""
    drawn = [row.replace("\u2588", "#").rstrip() for row in big("171 ohm").split("\n")]

    assert [
        " #  ####  #      ###",
        "##     # ##     #   #",
        " #    #   #     #   #",
        " #   #    #      # #",
        "###  #   ###    ## ##",
    ] == drawn


@pytest.mark.parametrize(
    ("text", "tail"),
    [("OL 40 Mohm", " 40 Mohm"), ("5.000 V", " V"), ("OL", ""), ("OL ohm", " ohm")],
)
def test_what_is_no_number_of_ohms_keeps_its_rest_in_small(text: str, tail: str) -> None:
    """The range of an overload, and another unit, stand behind the figures."""
    rows = big(text).splitlines()

    assert ROWS == len(rows)
    assert rows[-1].endswith(f"\u2588{tail}")


@pytest.mark.parametrize("text", ["no", "Err", "", "\u202e12"])
def test_what_cannot_be_drawn_is_written(text: str) -> None:
    """In the last of the five rows, so that nothing below moves."""
    assert "\n" * (ROWS - 1) + text == big(text)


def test_prefixes_differ() -> None:
    """Milli, kilo and mega must not be taken for each other."""
    assert 4 == len({big(f"2 {prefix}ohm") for prefix in ("", "m", "k", "M")})


def test_words_that_are_too_wide_are_written() -> None:
    """A long pin name does not break the screen."""
    assert "\n\n\n\nCLIP left.hot-left.cold" == big_words("CLIP left.hot-left.cold", 76)
    assert ROWS == len(big_words("CLIP 12-case", 76).splitlines())
    assert big_words("lift", 76) == big_words("LIFT", 76)


@given(st.text(max_size=30))
def test_any_text_has_five_rows(text: str) -> None:
    """Whatever a meter shows, the height of the screen stays."""
    shown = big(text.replace("\n", "?").replace("\r", "?"))

    assert shown.count("\n") == ROWS - 1
    assert big_words(text.replace("\n", "?"), 76).count("\n") == ROWS - 1
