"""Durations and sizes, as options have them and as a person reads them; and talk.

Nothing heavy is imported here: a replay of a day takes little longer than to start a judge.
"""

from __future__ import annotations

import re
import sys
from typing import Final

from coilmeter.errors import InputError

ALL_SOUND: Final = 0
SOMETHING: Final = 1
"""Exit codes: all is well; done, and something is not."""

_SECONDS: Final = {"d": 86_400.0, "h": 3600.0, "m": 60.0, "min": 60.0, "s": 1.0}
_SPAN: Final = re.compile(r"([0-9]{1,9}(?:\.[0-9]{1,3})?) ?(d|h|min|m|s)", re.ASCII)
_SIZES: Final = {"kB": 1000, "MB": 1000**2, "GB": 1000**3}
_SIZE: Final = re.compile(r"([0-9]{1,9}(?:\.[0-9]{1,3})?) ?(kB|MB|GB)", re.ASCII)
_LONGEST_S: Final = 366 * 86_400.0


def parse_span(option: str, text: str) -> float:
    """Read a span of time such as ``90s``, ``10m`` or ``1h30m``, in seconds; m is minutes.

    Raises
    ------
    InputError
        When it is anything else, nothing at all, or longer than a year.

    """
    clean = text.strip()
    parts = _SPAN.findall(clean)
    seconds = sum(float(number) * _SECONDS[unit] for number, unit in parts)
    if _SPAN.sub("", clean).strip() or not 0 < seconds <= _LONGEST_S:
        raise InputError(
            f"{option}: saw {text[:40]!r}, expected a span of time such as 90s, 10m, 1h30m or "
            "2d, of a year at most"
        )
    return seconds


def parse_size(option: str, text: str, least: int) -> int:
    """Read a size of a file such as ``10MB`` (of 1 000 000 bytes), in bytes.

    Raises
    ------
    InputError
        When it is anything else, or below `least`.

    """
    found = _SIZE.fullmatch(text.strip())
    size = 0 if found is None else round(float(found[1]) * _SIZES[found[2]])
    if size < least:
        raise InputError(
            f"{option}: saw {text[:40]!r}, expected a size such as 500kB, 10MB or 1GB, of "
            f"{least} bytes at least"
        )
    return size


def span_text(seconds: float) -> str:
    """Write a span of time: 12.3 s, then 1:23, then 1:02:03."""
    if seconds < 60:  # noqa: PLR2004 - a minute
        return f"{seconds:.1f} s"
    minutes, rest = divmod(int(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02d}:{rest:02d}" if hours else f"{minutes}:{rest:02d}"


def number_of(count: int, one: str, more: str = "") -> str:
    """Write a count with its noun: 1 reading, 2 readings."""
    return f"{count} {one if count == 1 else more or one + 's'}"


def say(text: str) -> None:
    """Print a line of talk: to standard error, so that results stay alone on the output."""
    sys.stderr.write(f"{text}\n")
    sys.stderr.flush()
