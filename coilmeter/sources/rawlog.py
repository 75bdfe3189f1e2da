"""The raw log, version 2: every byte a meter sent, when, and what was made of it.

A log is UTF-8 text.  Its head comes first::

    coilmeter raw log, version 2
    start: 2026-11-25T09:10:39.123456Z
    port: /dev/ttyUSB0
    format: digits14
    settings: baud=2400 frame=8N1 dtr=on rts=off
    part: 1
    seconds	kind	bytes	text

Keys of the head that a reader does not know are passed over.  Then comes one record a line,
four fields with a tab between them:

seconds
    Since `start`, six decimals, by a monotonic clock: when the last byte was read.  They
    never go back, and go on through the parts of one log.
kind
    One of `Kind`.
bytes
    As hex digits, two a byte, capitals; empty where a record has none.  The bytes of all
    records, one after the other, are the stream, and none is in two records.
text
    What the bytes were decoded to, why they were rejected, or what happened.  It is for
    people: whoever reads the log decodes the bytes again.

A record is complete with its newline; a last line without one is what a kill or a power cut
left, and is no record.  A log that was closed ends with a record of the kind ``end``.

Version 1 had no record of the kind ``plugged``, since it ended where the port was gone; it is
read as well.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from typing import Final

from coilmeter.errors import InputError

MAGIC: Final = "coilmeter raw log, version "
VERSION: Final = 2
READABLE: Final = frozenset({"1", "2"})
"""The versions that are read."""

COLUMNS: Final = "seconds\tkind\tbytes\ttext"
LONGEST_TEXT: Final = 400
"""Characters of the text of a record."""

LONGEST_LINE: Final = 1 << 16
"""Bytes of a line; a file with a longer one was not written by this program."""

LONGEST_HEAD: Final = 64
"""Lines of a head, at most."""


class Kind(StrEnum):
    """What a record is."""

    READ = "read"
    """Bytes that are a reading; without bytes, one that was held back until it could be
    believed, its bytes being in an earlier record."""
    REJECTED = "rejected"
    """Bytes that are no frame, or none that may be believed."""
    ASIDE = "aside"
    """Bytes of the meter that are no reading of its main display."""
    PART = "part"
    """Bytes that made no whole frame before the stream was cut."""
    SILENT = "silent"
    """No byte came for a while, though the port was there."""
    UNPLUGGED = "unplugged"
    """The port was gone: what came before and what comes after do not belong together."""
    PLUGGED = "plugged"
    """The port was open again, and what was asked of the meter began afresh."""
    NOTE = "note"
    """Something else that happened."""
    END = "end"
    """The log was closed; the text says why."""


GAPS: Final = frozenset({Kind.SILENT, Kind.UNPLUGGED})


@dataclass(frozen=True, slots=True)
class LogHead:
    """What the head of a log says.

    Parameters
    ----------
    start
        When second zero was, with a time zone.
    port, format_name
        Where the meter was, and the wire format its bytes were taken for.
    settings
        How the port was opened.
    part
        Number of the part, where a log was split by size; from 1.

    """

    start: datetime
    port: str
    format_name: str
    settings: str = ""
    part: int = 1

    def text(self) -> str:
        """Write the lines of the head."""
        start = self.start.astimezone(UTC).isoformat(timespec="microseconds")
        lines = (
            f"{MAGIC}{VERSION}",
            f"start: {start.replace('+00:00', 'Z')}",
            f"port: {one_line(self.port)}",
            f"format: {one_line(self.format_name)}",
            f"settings: {one_line(self.settings)}",
            f"part: {self.part}",
            COLUMNS,
        )
        return "".join(f"{line}\n" for line in lines)


def one_line(text: str) -> str:
    """Text without anything that would break a line or a field, of bounded length."""
    if not text.isprintable():
        text = "".join(char if char.isprintable() else "?" for char in text)
    return text if len(text) <= LONGEST_TEXT else f"{text[:LONGEST_TEXT]}..."


def record_line(seconds: float, kind: Kind, raw: bytes, text: str) -> bytes:
    """Write one record, its newline included."""
    return f"{seconds:.6f}\t{kind}\t{raw.hex().upper()}\t{one_line(text)}\n".encode()


def parse_head(lines: list[str], path: str) -> LogHead:
    """Read a head, its last line (the names of the fields) left out.

    Raises
    ------
    InputError
        When it is not the head of such a log.

    """
    check_version(lines[0], path)
    entries = dict(line.partition(": ")[::2] for line in lines[1:])
    start = _start(entries.get("start", ""), path)
    missing = [key for key in ("port", "format") if key not in entries]
    if missing:
        raise InputError(
            f"{path}: its head does not say the {' and the '.join(missing)}",
            hint="it was changed after it was written; take a copy that was not.",
        )
    part = entries.get("part", "1")
    return LogHead(
        start,
        entries["port"],
        entries["format"],
        entries.get("settings", ""),
        int(part) if part.isascii() and part.isdigit() and len(part) <= 6 else 1,  # noqa: PLR2004 - more parts than any disk has room for
    )


def check_version(line: str, path: str) -> None:
    """Refuse a first line that is none of a version that is read.

    Raises
    ------
    InputError
        Saying what was seen instead.

    """
    if not line.startswith(MAGIC):
        raise InputError(
            f"{path}: no raw log of this program (it begins with {one_line(line[:40])!r}, "
            f"expected {MAGIC + str(VERSION)!r})",
            hint="give a file that `coilmeter log` wrote; readings files are for "
            "`coilmeter judge`.",
        )
    if line.removeprefix(MAGIC) not in READABLE:
        raise InputError(
            f"{path}: a raw log of version {one_line(line.removeprefix(MAGIC)[:20])!r}, and "
            f"this program reads version {' and '.join(sorted(READABLE))}",
            hint="use the release of the program that wrote it, or a later one.",
        )


def _start(text: str, path: str) -> datetime:
    try:
        start = datetime.fromisoformat(text)
    except ValueError:
        start = None
    if start is None or start.tzinfo is None:
        raise InputError(
            f"{path}: its head says {one_line(text[:40])!r} as the start, expected a time such "
            "as 2026-11-25T09:10:39.123456Z",
            hint="it was changed after it was written; take a copy that was not.",
        )
    return start
