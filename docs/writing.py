"""Small helpers for pages that are written by code."""  # noqa: INP001 - see generate.py

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

NOTE: Final = (
    "<!-- Written by docs/generate.py: change the code it comes from, not this page. -->"
)


def table(header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Write a table; a bar in a cell is escaped."""
    lines = [header, ["---"] * len(header), *rows]
    return "\n".join(f"| {' | '.join(map(cell, line))} |" for line in lines)


def cell(text: str) -> str:
    """Write the text of a table cell: one line, and no bar that would end it."""
    return " ".join(text.replace("|", "\\|").split())


def paragraphs(*parts: str) -> str:
    """Write parts of a page with a blank line between them."""
    return "\n\n".join(part for part in parts if part) + "\n"
