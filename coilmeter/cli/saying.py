"""Lines of talk to a person, and what the person types: light, for whatever asks something."""

from __future__ import annotations

import shutil
import sys
import textwrap

from coilmeter.report.safe import harmless, printable

ENDS = frozenset({"quit", "q"})
"""Words with which a person ends any talk."""


def say(text: str) -> None:
    """Print a line of talk: to standard error, so that results stay alone on the output."""
    # What a file or a meter wrote must not move the cursor or recolour.
    text = "\n".join(map(harmless, text.split("\n")))
    if sys.stderr.isatty():
        width = shutil.get_terminal_size().columns
        text = "\n".join(
            textwrap.fill(line, width, break_long_words=False) for line in text.split("\n")
        )
    sys.stderr.write(f"{text}\n")
    sys.stderr.flush()


def ask(question: str) -> str | None:
    """Ask for a line; None at the end of the input."""
    sys.stderr.write(question)
    sys.stderr.flush()
    if sys.stdin is None:
        return None
    # As bytes: what is no text in this terminal's encoding must be refused like any other.
    data = sys.stdin.buffer.readline()
    line = data.decode(sys.stdin.encoding or "utf-8", "replace").strip()
    if not sys.stdin.isatty():
        sys.stderr.write(f"{printable(line)}\n")
    return line if data else None
