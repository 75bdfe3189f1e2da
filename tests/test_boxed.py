"""The box of the live screen against the library's own panel, which lays out all anew."""

from __future__ import annotations

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console, Group, RenderableType
from rich.panel import Panel
from rich.text import Text

from coilmeter.cli.boxed import FRAME, Boxed, Row


def drawn(what: RenderableType, width: int, *, encoding: str = "utf-8") -> str:
    """Draw something on a terminal of a width, styles as escape sequences."""
    file = io.TextIOWrapper(io.BytesIO(), encoding=encoding)
    Console(
        file=file, force_terminal=True, width=width, height=60, color_system="standard"
    ).print(what)
    file.flush()
    file.seek(0)
    return file.read()


def plain(text: str) -> str:
    """Take the styles away, which the two set around other stretches of the same row."""
    return Text.from_ansi(text).plain


def panel(rows: list[Row]) -> Panel:
    """Make the library's panel of the same rows."""
    texts = [
        Text(row.text, style=row.style, no_wrap=not row.wraps, overflow="ellipsis")
        for row in rows
    ]
    return Panel(Group(*texts))


WORDS = st.text("abc 12\u03a9\u2588\u754c", max_size=30)
ROWS = st.lists(
    st.builds(
        Row,
        st.lists(WORDS, min_size=1, max_size=3).map("\n".join),
        st.sampled_from(["", "bold", "dim"]),
    ),
    min_size=1,
    max_size=5,
)


@given(rows=ROWS, width=st.integers(8, 60))
def test_the_same_as_a_panel(rows: list[Row], width: int) -> None:
    """Cut, padded and framed alike, wide characters and several lines in a row included."""
    assert plain(drawn(panel(rows), width)) == plain(drawn(Boxed(rows), width))


@pytest.mark.parametrize("width", [20, 33, 80])
def test_advice_goes_on_in_the_next_row(width: int) -> None:
    """What is too long to be cut is broken between words, as a panel breaks it."""
    rows = [
        Row(
            "OL. If the clips are on, bridge pin 1 and pin 2 with a metal tip\n",
            "bold",
            wraps=True,
        ),
        Row("q quit", "dim"),
    ]

    assert plain(drawn(panel(rows), width)) == plain(drawn(Boxed(rows), width))


def test_a_terminal_without_box_characters() -> None:
    """The frame is of ASCII there, as a panel's."""
    rows = [Row("171.3 ohm", "bold")]

    assert drawn(Boxed(rows), 30, encoding="ascii").isascii()
    assert plain(drawn(panel(rows), 30, encoding="ascii")) == plain(
        drawn(Boxed(rows), 30, encoding="ascii")
    )


def test_styles_reach_the_terminal_and_control_characters_do_not() -> None:
    """Bold is bold; what could move the cursor is taken out."""
    shown = drawn(Boxed([Row("a\rb\x07c\x08", "bold")]), 20)

    assert "\x1b[1mabc" in shown
    assert "\r" not in shown
    assert "\x07" not in shown


def test_narrower_than_its_frame() -> None:
    """Nothing can be read then, and nothing breaks."""
    assert drawn(Boxed([Row("171.3 ohm", "bold")]), FRAME)


def test_rows_that_would_be_drawn_alike_are_equal() -> None:
    """So that a screen which has not changed need not be drawn."""
    assert Boxed((Row("a", "bold"),)) == Boxed((Row("a", "bold"),))
    assert Boxed((Row("a", "bold"),)) != Boxed((Row("a", "dim"),))
