"""How wide printed texts and tables are: as always in a pipe or file, fitted on a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Final

from tabulate import tabulate

from coilmeter.report.safe import harmless

WIDTH: Final = 96
"""Columns of a sentence where no terminal is narrower."""

NARROWEST: Final = 40
"""A terminal of fewer columns is written to as if it had so many."""

_BETWEEN: Final = 2
"""Blanks between two columns of a table."""

_PADDED: Final = 2
"""tabulate has a column so much wider than its heading."""


def sentence(text: str, columns: int | None = None, *, first: str = "", then: str = "") -> str:
    """Wrap a sentence, between words and never in one where it goes to a terminal.

    Parameters
    ----------
    text
        The sentence.
    columns
        Columns of the terminal; None where it goes to none.
    first, then
        What its first line and the others begin with.

    """
    return textwrap.fill(
        harmless(text),
        line_width(columns),
        initial_indent=first,
        subsequent_indent=then,
        break_long_words=columns is None,
        break_on_hyphens=columns is None,
    )


def line_width(columns: int | None) -> int:
    """Give the columns of a sentence; `columns` as for `sentence`."""
    return WIDTH if columns is None else max(NARROWEST, min(WIDTH, columns))


def table(
    headings: Sequence[str],
    rows: Sequence[Sequence[str]],
    columns: int | None = None,
    *,
    style: str = "simple",
) -> str:
    """Make a table; on a terminal one that fits it, with the cells wrapped between words.

    Where even that is too wide, each row becomes a block of a line for each heading.

    Parameters
    ----------
    headings, rows
        Texts that are fit for the style.
    columns
        Columns of the terminal; None where it goes to none, or may be as wide as it is.
    style
        As tabulate names it.

    """
    if columns is not None:
        room = max(NARROWEST, columns) - _BETWEEN * (len(headings) - 1)
        sizes = [_widest(*column) for column in zip(headings, *rows, strict=True)]
        widths = _fitted(sizes, room)
        if widths is None:
            return _blocks(headings, rows, line_width(columns))
        rows = [list(map(_wrapped, row, widths)) for row in rows]
        headings = list(map(_wrapped, headings, [width - _PADDED for width in widths]))
    return tabulate(rows, headings, tablefmt=style, disable_numparse=True)


def _widest(heading: str, *cells: str) -> tuple[int, int]:
    """Give the width of the longest word and of the longest line of a column."""
    word = max(map(len, heading.split()), default=0) + _PADDED
    line = len(heading) + _PADDED
    words = [len(word) for cell in cells for word in cell.split()]
    lines = [len(line) for cell in cells for line in cell.split("\n")]
    return max(word, *words, 0), max(line, *lines, 0)


def _fitted(sizes: Sequence[tuple[int, int]], room: int) -> list[int] | None:
    """Take from the widest columns until all fit; None where their words do not."""
    least = [word for word, _ in sizes]
    if sum(least) > room:
        return None
    widths = [line for _, line in sizes]
    while sum(widths) > room:
        _, widest = max((widths[n], n) for n in range(len(widths)) if widths[n] > least[n])
        widths[widest] -= 1
    return widths


def _wrapped(cell: str, width: int) -> str:
    if all(len(line) <= width for line in cell.split("\n")):
        return cell
    return textwrap.fill(cell, width, break_long_words=False, break_on_hyphens=False)


def _blocks(headings: Sequence[str], rows: Sequence[Sequence[str]], width: int) -> str:
    """Write a line for each cell, with a blank line between the rows."""
    names = max(map(len, headings))
    blocks = []
    for row in rows:
        lines = [
            textwrap.fill(
                cell.replace("\n", " "),
                width,
                initial_indent=f"{name:<{names}}  ",
                subsequent_indent=" " * (names + _BETWEEN),
                break_long_words=False,
                break_on_hyphens=False,
            )
            for name, cell in zip(headings, row, strict=True)
            if cell
        ]
        blocks.append("\n".join(lines))
    return "\n\n".join(blocks)
