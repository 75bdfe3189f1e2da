"""Lines of a talk about a chain: wrapped with their indent kept."""

from __future__ import annotations

import re
import shutil
import sys
from collections.abc import Iterable
from typing import Final

from coilmeter.cli.saying import say, wrapped

_INDENT: Final = re.compile(r" *(?:[!\d] )?")
_WIDTH: Final = 96
_NARROWEST: Final = 40
_IN: Final = 2


def room() -> int | None:
    """Columns that lines of `tell_in` have on the terminal; None where it is none."""
    return None if not _on_terminal() else _width() - _IN


def _on_terminal() -> bool:
    return sys.stderr is not None and sys.stderr.isatty()


def _width() -> int:
    if not _on_terminal():
        return _WIDTH
    return max(_NARROWEST, min(_WIDTH, shutil.get_terminal_size().columns))


def tell(*lines: str) -> None:
    """Say lines; what is too long goes on below, two columns further in."""
    width = _width()
    for line in lines:
        match = _INDENT.match(line)
        indent = " " * (len(match[0]) if match else 0)
        then = "    " if line.startswith(("  |", "[")) else f"{indent}  "
        say(wrapped(line, width, then))


def tell_in(lines: Iterable[str]) -> None:
    """Say lines two columns further in."""
    tell(*(f"{' ' * _IN}{line}" for line in lines))
