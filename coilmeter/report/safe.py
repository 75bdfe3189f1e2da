"""Text from a file or a meter, made harmless where it is shown."""

from __future__ import annotations

import unicodedata
from typing import Final

LONGEST: Final = 60
_RUNS_AS_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r")


def printable(text: str) -> str:
    """Text for a terminal or a page: no control or direction characters, of bounded length.

    A name from a file must not move the cursor, ring, recolour, or turn the line around.
    """
    if text.isascii() and text.isprintable() and len(text) <= LONGEST:
        return text
    shown = "".join(
        "?" if unicodedata.category(char) in {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"} else char
        for char in text[: LONGEST + 1]
    )
    return shown if len(text) <= LONGEST else f"{shown[:LONGEST]}..."


def for_spreadsheet(text: str) -> str:
    """Text for a CSV cell: one that a spreadsheet would run gets a leading apostrophe."""
    return f"'{text}" if text.startswith(_RUNS_AS_FORMULA) else text


def for_markdown(text: str) -> str:
    """Text for a Markdown table cell."""
    return "".join(f"\\{char}" if char in "\\|`*_<>[]" else char for char in printable(text))
