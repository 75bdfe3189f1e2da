"""Figures and capitals five rows high, to be read from two metres."""

from __future__ import annotations

import re
from typing import Final

ROWS: Final = 5
_SPACE: Final = "  "
_DRAWN: Final = {
    "0": "#### #..# #..# #..# ####",
    "1": ".#. ##. .#. .#. ###",
    "2": "#### ...# #### #... ####",
    "3": "#### ...# #### ...# ####",
    "4": "#..# #..# #### ...# ...#",
    "5": "#### #... #### ...# ####",
    "6": "#### #... #### #..# ####",
    "7": "#### ...# ..#. .#.. .#..",
    "8": "#### #..# #### #..# ####",
    "9": "#### #..# #### ...# ####",
    "-": ".... .... #### .... ....",
    ".": ". . . . #",
    ",": ". . . . #",
    "A": ".##. #..# #### #..# #..#",
    "B": "###. #..# ###. #..# ###.",
    "C": ".### #... #... #... .###",
    "D": "###. #..# #..# #..# ###.",
    "E": "#### #... ###. #... ####",
    "F": "#### #... ###. #... #...",
    "G": ".### #... #.## #..# .###",
    "H": "#..# #..# #### #..# #..#",
    "I": "### .#. .#. .#. ###",
    "J": "..## ...# ...# #..# .##.",
    "K": "#..# #.#. ##.. #.#. #..#",
    "L": "#... #... #... #... ####",
    "M": "#...# ##.## #.#.# #...# #...#",
    "N": "#...# ##..# #.#.# #..## #...#",
    "O": ".##. #..# #..# #..# .##.",
    "P": "###. #..# ###. #... #...",
    "Q": ".##. #..# #..# #.## .###",
    "R": "###. #..# ###. #.#. #..#",
    "S": ".### #... .##. ...# ###.",
    "T": "##### ..#.. ..#.. ..#.. ..#..",
    "U": "#..# #..# #..# #..# .##.",
    "V": "#...# #...# #...# .#.#. ..#..",
    "W": "#...# #...# #.#.# ##.## #...#",
    "X": "#...# .#.#. ..#.. .#.#. #...#",
    "Y": "#...# .#.#. ..#.. ..#.. ..#..",
    "Z": "#### ..#. .#.. #... ####",
    "k": "#... #..# #.#. ##.. #.##",
    "m": "..... ..... ####. #.#.# #.#.#",
    "\u03a9": ".###. #...# #...# .#.#. ##.##",
}
_FIGURES: Final = {
    char: tuple(row.replace(".", " ").replace("#", "\u2588") for row in drawn.split(" "))
    for char, drawn in _DRAWN.items()
}
_OHMS: Final = re.compile("([kMm]?)(?:ohm|\u03a9)")


def big(text: str) -> str:
    """Draw the number or OL of a display, and an ohm unit, in five rows; the rest behind it."""
    number, _, rest = text.partition(" ")
    unit = _OHMS.fullmatch(rest)
    if unit is not None and number != "OL":
        number, rest = f"{number} {unit[1]}\u03a9", ""
    rows = draw(number)
    if rows is None or not number:
        return "\n" * (ROWS - 1) + text
    rows[-1] = f"{rows[-1]} {rest}".rstrip()
    return "\n".join(rows)


def big_words(text: str, width: int) -> str:
    """Draw words in capitals where they fit in `width`, else leave them as they are."""
    rows = draw(text.upper())
    if rows is None or max(map(len, rows)) > width:
        return "\n" * (ROWS - 1) + text
    return "\n".join(rows)


def draw(text: str) -> list[str] | None:
    """Rows of a text, None where it has a character that is not drawn."""
    shapes = [(_SPACE,) * ROWS if char == " " else _FIGURES.get(char) for char in text]
    known = [shape for shape in shapes if shape is not None]
    if len(known) < len(shapes):
        return None
    return [" ".join(shape[row] for shape in known) for row in range(ROWS)]
