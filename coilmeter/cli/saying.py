"""Lines of talk to a person, and what the person types: light, for whatever asks something."""

from __future__ import annotations

import shutil
import sys
import textwrap
from pathlib import Path

from coilmeter.report.safe import harmless, printable

ENDS = frozenset({"quit", "q"})
"""Words with which a person ends any talk."""


def say(text: str) -> None:
    """Print a line of talk: to standard error, so that results stay alone on the output."""
    # What a file or a meter wrote must not move the cursor or recolour.
    text = "\n".join(map(harmless, text.split("\n")))
    if sys.stderr.isatty():
        width = shutil.get_terminal_size().columns
        text = "\n".join(wrapped(line, width, _indent(line)) for line in text.split("\n"))
    sys.stderr.write(f"{text}\n")
    sys.stderr.flush()


def wrapped(line: str, width: int, then: str) -> str:
    """Wrap a line between words; what goes on below begins with `then`.

    Names and paths stay whole.
    """
    return textwrap.fill(
        line,
        width,
        subsequent_indent=then,
        break_long_words=False,
        break_on_hyphens=False,
    )


def _indent(line: str) -> str:
    return line[: len(line) - len(line.lstrip(" "))]


def ask(question: str) -> str | None:
    """Ask for a line; None at the end of the input, or where nobody can see the question."""
    sys.stderr.write(question)
    sys.stderr.flush()
    # An answer to what nobody has seen could be of another place.
    if sys.stdin is None or getattr(sys.stderr, "nobody_reads", False):
        return None
    # As bytes: what is no text in this terminal's encoding must be refused like any other.
    data = sys.stdin.buffer.readline()
    line = data.decode(sys.stdin.encoding or "utf-8", "replace").strip()
    if not sys.stdin.isatty():
        sys.stderr.write(f"{printable(line)}\n")
    return line if data else None


def cut_line(cut: str, beside: Path | None, again: str) -> str:
    """Say that the last line of a file was cut, where it is now, and what to take again."""
    return (
        f"The last line of the file had no end and was taken out: {printable(cut)!r}. "
        f"It is kept in {beside}. Where the machine stopped while it was written, it had not "
        f"been announced as taken: {again}."
    )
