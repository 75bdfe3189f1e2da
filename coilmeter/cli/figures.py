"""Figures five rows high, to be read from two metres."""

from __future__ import annotations

from typing import Final

_ROWS: Final = 5
_SHAPES: Final = {
    "0": "#### #  # #  # #  # ####",
    "1": "  #   ##    #    #   ###",
    "2": "####    # #### #    ####",
    "3": "####    # ####    # ####",
    "4": "#  # #  # ####    #    #",
    "5": "#### #    ####    # ####",
    "6": "#### #    #### #  # ####",
    "7": "####    #   #   #    #  ",
    "8": "#### #  # #### #  # ####",
    "9": "#### #  # ####    # ####",
    "-": "          ####          ",
    "O": "#### #  # #  # #  # ####",
    "L": "#    #    #    #    ####",
}
_POINT: Final = ("  ", "  ", "  ", "  ", "# ")


def big(text: str) -> str:
    """Draw the leading number or OL of a display in five rows, and write the rest behind it."""
    number, _, unit = text.partition(" ")
    if not number or any(char not in _SHAPES and char not in ".," for char in number):
        return "\n" * (_ROWS - 1) + text
    rows = [""] * _ROWS
    for char in number:
        shape = _POINT if char in ".," else _rows(_SHAPES[char])
        rows = [row + part + " " for row, part in zip(rows, shape, strict=True)]
    rows[-1] += f" {unit}"
    return "\n".join(row.replace("#", "\u2588") for row in rows)


def _rows(shape: str) -> list[str]:
    """Cut a shape into its rows of four, which a blank separates."""
    return [shape[5 * row : 5 * row + 4].ljust(4) for row in range(_ROWS)]
