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
    shown = harmless(text[:LONGEST])
    return shown if len(text) <= LONGEST else f"{shown}..."


def harmless(text: str) -> str:
    """Text of any length with a question mark for every control or direction character."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(
        "?" if unicodedata.category(char) in {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"} else char
        for char in text
    )


def for_spreadsheet(text: str) -> str:
    """Text for a CSV cell: one that a spreadsheet would run gets a leading apostrophe."""
    return f"'{text}" if text.startswith(_RUNS_AS_FORMULA) else text


def for_markdown(text: str) -> str:
    """Text for a Markdown table cell."""
    return escaped(printable(text))


def escaped(text: str) -> str:
    """Text of any length with nothing left that Markdown would take for its own."""
    return "".join(f"\\{char}" if char in "\\|`*_<>[]" else char for char in harmless(text))
