"""Lines of a talk about a chain: wrapped with their indent kept."""

from __future__ import annotations

import re
import shutil
import sys
import textwrap
from collections.abc import Iterable
from typing import Final

from coilmeter.cli.saying import say

_INDENT: Final = re.compile(r" *(?:[!\d] )?")
_WIDTH: Final = 96
_NARROWEST: Final = 40


def tell(*lines: str) -> None:
    """Say lines; what is too long goes on below, two columns further in."""
    width = _WIDTH
    if sys.stderr is not None and sys.stderr.isatty():
        width = max(_NARROWEST, min(_WIDTH, shutil.get_terminal_size().columns))
    for line in lines:
        match = _INDENT.match(line)
        indent = " " * (len(match[0]) if match else 0)
        say(
            textwrap.fill(
                line,
                width,
                subsequent_indent=f"{indent}  "
                if not line.startswith(("  |", "["))
                else "    ",
                break_long_words=False,
                break_on_hyphens=False,
            )
        )


def tell_in(lines: Iterable[str]) -> None:
    """Say lines two columns further in."""
    tell(*(f"  {line}" for line in lines))
