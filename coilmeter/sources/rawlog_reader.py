"""Reads raw logs of any length in bounded memory, and passes over nothing without a word.

Most logs are well-formed throughout: a block of lines is matched in one go, and only a block
in which anything is odd is taken line by line.
"""

from __future__ import annotations

import operator
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Final, Self

from coilmeter.errors import InputError
from coilmeter.sources.rawlog import (
    COLUMNS,
    LONGEST_HEAD,
    LONGEST_LINE,
    MAGIC,
    VERSION,
    Kind,
    LogHead,
    check_version,
    one_line,
    parse_head,
)

_BLOCK: Final = 1 << 18
_BYTE_ORDER_MARK: Final = b"\xef\xbb\xbf"
_SECONDS: Final = rb"[0-9]{1,10}\.[0-9]{6}"
_WITH_BYTES: Final = frozenset({Kind.READ, Kind.REJECTED, Kind.ASIDE, Kind.PART})
_ORDINARY: Final = re.compile(
    rb"(?m)^(%b)\t(?:%b)\t([0-9A-F]*)\t[^\t\n]*\n"
    % (_SECONDS, "|".join(sorted(_WITH_BYTES)).encode())
)
_RECORD: Final = re.compile(rb"(%b)\t([a-z]+)\t((?:[0-9A-F]{2})*)\t([^\t]*)" % _SECONDS)
_KINDS: Final = {str(kind).encode(): kind for kind in Kind}
_EXPECTED: Final = "seconds, kind, bytes and text with a tab between them"


@dataclass(slots=True)
class Stretch:
    """Records with bytes, one after the other.

    Parameters
    ----------
    at
        Time of each record in seconds since the start of the log.
    sizes
        How many bytes each has; never 0.
    data
        The bytes of all.

    """

    at: list[float] = field(default_factory=list)
    sizes: list[int] = field(default_factory=list)
    data: bytes = b""


@dataclass(frozen=True, slots=True)
class Happened:
    """A record without bytes: a gap, a note, the end."""

    at: float
    kind: Kind
    text: str


@dataclass(frozen=True, slots=True)
class Damage:
    """A line that is no record of this version, or one whose time goes back."""

    line: int
    seen: str
    expected: str

    def __str__(self) -> str:
        return f"line {self.line}: saw {self.seen}, expected {self.expected}"


class LogReader:
    """One raw log, open between ``with`` and its end.

    Parameters
    ----------
    path
        The file.

    Raises
    ------
    InputError
        On entering, when it cannot be read or is no raw log of this version.

    Attributes
    ----------
    head
        What its head says; there once it is entered.
    records, logged_read
        Whole records so far, and how many of them were written as readings with their bytes.
    cut
        The bytes of a last line that has no newline, shortened; known at the end of
        `events`.

    """

    head: LogHead

    def __init__(self, path: Path) -> None:
        self.path = path
        self.records = 0
        self.logged_read = 0
        self.cut = b""
        self._line = 0
        self._last = 0.0
        self._overlong = False

    def __enter__(self) -> Self:
        try:
            self._file: IO[bytes] = self.path.open("rb")
        except OSError as error:
            raise self._unreadable(error) from error
        try:
            self.head = self._read_head()
        except BaseException:
            self._file.close()
            raise
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()

    def events(self) -> Iterator[Stretch | Happened | Damage]:
        """Yield what the records hold, in order; a line that is none of them is `Damage`.

        Raises
        ------
        InputError
            When the disk fails.

        """
        rest = b""
        while data := self._read(_BLOCK):
            whole, newline, rest = (rest + data).rpartition(b"\n")
            if newline:
                yield from self._block(whole + newline)
            if len(rest) > LONGEST_LINE:
                if not self._overlong:
                    yield self._damage(rest, "too long", f"at most {LONGEST_LINE} bytes")
                    self._overlong = True
                rest = rest[:1]
        self.cut = b"" if self._overlong else rest[:LONGEST_LINE]

    def _block(self, block: bytes) -> Iterator[Stretch | Happened | Damage]:
        """Take whole lines."""
        if self._overlong:
            self._overlong = False
            self._line += 1
            block = block.partition(b"\n")[2]
        found = _ORDINARY.findall(block)
        lines = block.count(b"\n")
        if len(found) == lines and found:
            stretch = self._ordinary(found)
            if stretch is not None:
                self.records += lines
                self.logged_read += block.count(b"\tread\t")
                self._line += lines
                yield stretch
                return
        yield from self._one_by_one(block)

    def _ordinary(self, found: list[tuple[bytes, bytes]]) -> Stretch | None:
        """Take records with bytes in one go; None where anything is odd about them."""
        times, digits = zip(*found, strict=True)
        at = list(map(float, times))
        widths = list(map(len, digits))
        if at[0] < self._last or not all(map(operator.le, at, at[1:])):
            return None
        if any(width % 2 or not width for width in set(widths)):
            return None
        self._last = at[-1]
        sizes = [width >> 1 for width in widths]
        return Stretch(at, sizes, bytes.fromhex(b"".join(digits).decode("ascii")))

    def _one_by_one(self, block: bytes) -> Iterator[Stretch | Happened | Damage]:
        stretch, pieces = Stretch(), list[bytes]()
        for line in block.split(b"\n")[:-1]:
            told = self._one(line.removesuffix(b"\r"), stretch, pieces)
            if told is None:
                continue
            if pieces:
                stretch.data = b"".join(pieces)
                yield stretch
                stretch, pieces = Stretch(), []
            yield told
        if pieces:
            stretch.data = b"".join(pieces)
            yield stretch

    def _one(
        self, line: bytes, stretch: Stretch, pieces: list[bytes]
    ) -> Happened | Damage | None:
        """Take one line: bytes join the stretch, anything else comes back."""
        self._line += 1
        fields = _RECORD.fullmatch(line) if len(line) <= LONGEST_LINE else None
        kind = None if fields is None else _KINDS.get(fields[2])
        if fields is None or kind is None or (fields[3] and kind not in _WITH_BYTES):
            return self._damage(line, "", _EXPECTED, counted=True)
        self.records += 1
        at, raw = float(fields[1]), bytes.fromhex(fields[3].decode("ascii"))
        before, self._last = self._last, max(self._last, at)
        self.logged_read += kind is Kind.READ
        if raw:
            stretch.at.append(self._last)
            stretch.sizes.append(len(raw))
            pieces.append(raw)
        if at < before:
            seen = f"{at:.6f} s after {before:.6f} s"
            return Damage(self._line, seen, "times that never go back; the bytes are used")
        if kind in _WITH_BYTES:
            return None
        return Happened(at, kind, fields[4].decode("utf-8", "replace"))

    def _damage(
        self, line: bytes, what: str, expected: str, *, counted: bool = False
    ) -> Damage:
        shown = repr(one_line(line[:60].decode("utf-8", "replace")))
        if len(line) > 60:  # noqa: PLR2004 - as shown
            shown += "..."
        seen = f"{shown} ({what})" if what else shown
        return Damage(self._line + (not counted), seen, expected)

    def _read_head(self) -> LogHead:
        lines: list[str] = []
        while len(lines) < LONGEST_HEAD:
            try:
                line = self._file.readline(LONGEST_LINE)
            except OSError as error:
                raise self._unreadable(error) from error
            if not lines:
                line = line.removeprefix(_BYTE_ORDER_MARK)
            text = line.decode("utf-8", "replace").rstrip("\r\n")
            if not line.endswith(b"\n"):
                raise self._no_head(text, lines)
            if not lines:
                check_version(text, str(self.path))
            self._line += 1
            if text == COLUMNS:
                return parse_head(lines, str(self.path))
            lines.append(text)
        raise InputError(
            f"{self.path}: its head does not end within {LONGEST_HEAD} lines (expected the "
            f"line {COLUMNS!r})",
            hint="it was changed after it was written; take a copy that was not.",
        )

    def _no_head(self, text: str, lines: list[str]) -> InputError:
        """Tell a head that was cut from a file of another kind."""
        first = f"{MAGIC}{VERSION}"
        if not lines and not text:
            return InputError(
                f"{self.path}: the file is empty, expected a raw log",
                hint="give a file that `coilmeter log` wrote.",
            )
        if not lines and not first.startswith(text):
            check_version(text, str(self.path))
        return InputError(
            f"{self.path}: a raw log that was cut within its head: nothing was recorded",
            hint="there is nothing to replay; record anew with `coilmeter log`.",
        )

    def _read(self, size: int) -> bytes:
        try:
            return self._file.read(size)
        except OSError as error:
            raise self._unreadable(error) from error

    def _unreadable(self, error: OSError) -> InputError:
        return InputError(
            f"{self.path}: cannot be read ({error.strerror or error})",
            hint="check the name; a raw log is a file that `coilmeter log` wrote.",
        )
