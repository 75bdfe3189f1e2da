"""Rows of text in a box as wide as the terminal, drawn with as little work as possible.

A live screen is drawn with every frame of a meter.  The library's own panels lay everything
out anew each time; rows that only need to be cut and padded do not.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from rich.box import ROUNDED
from rich.cells import cell_len, set_cell_size
from rich.console import Console, ConsoleOptions, RenderResult
from rich.control import strip_control_codes
from rich.segment import Segment
from rich.text import Text

FRAME: Final = 4
"""Columns that the box and its blanks take."""

_ELLIPSIS: Final = "\u2026"


@dataclass(frozen=True, slots=True)
class Row:
    """One row or several, a line end between them.

    Parameters
    ----------
    text
        What stands there.
    style
        Of all of it, as the library names styles.
    wraps
        Whether a row that is too long goes on in the next; else it is cut.

    """

    text: str
    style: str = ""
    wraps: bool = False


@dataclass(frozen=True, slots=True)
class Boxed:
    """Rows in a box; two are equal when they would be drawn alike."""

    rows: Sequence[Row]

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        width = max(options.max_width - FRAME, 1)
        box = ROUNDED.substitute(options)
        end = Segment.line()
        left, right = Segment(f"{box.mid_left} "), Segment(f" {box.mid_right}")
        yield Segment(f"{box.top_left}{box.top * (width + 2)}{box.top_right}")
        yield end
        for row in self.rows:
            style = console.get_style(row.style) if row.style else None
            for line in _lines(row, width, console):
                yield left
                yield Segment(line, style)
                yield right
                yield end
        yield Segment(f"{box.bottom_left}{box.bottom * (width + 2)}{box.bottom_right}")
        yield end


def _lines(row: Row, width: int, console: Console) -> list[str]:
    """Lines of a row, each as wide as the box is inside."""
    lines = strip_control_codes(row.text).split("\n")
    if row.wraps and any(cell_len(line) > width for line in lines):
        lines = [line.plain.rstrip() for line in Text("\n".join(lines)).wrap(console, width)]
    return [_cut(line, width) for line in lines]


def _cut(line: str, width: int) -> str:
    if cell_len(line) <= width:
        return set_cell_size(line, width)
    return set_cell_size(line, width - 1) + _ELLIPSIS
