"""Pages of the documentation, for the tests of what they say."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Final

ROOT: Final = Path(__file__).parent.parent
DOCS: Final = ROOT / "docs"


def page(name: str) -> str:
    """Read a page."""
    return (DOCS / name).read_text(encoding="utf-8")


def tables(text: str) -> Iterator[list[str]]:
    """Cells of every line of every table of a page, back-quotes taken off."""
    for line in re.findall(r"^\| (.*) \|$", text, re.MULTILINE):
        yield [cell.strip().strip("`") for cell in line.split(" | ")]


def section(text: str, title: str) -> str:
    """Cut the part of a page under a heading of the second level."""
    return text.partition(f"\n## {title}\n")[2].partition("\n## ")[0]
