"""A script for the simulator: the lines that can be typed, and when."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from coilmeter.cli.simulating_texts import Order, nothing, seconds
from coilmeter.cli.simulating_words import QUIT, understand
from coilmeter.errors import InputError, Mistake, MistakesError
from coilmeter.sources.simulated_station import Station

OPEN: Final = "open"


@dataclass(frozen=True, slots=True)
class Line:
    """One line: an order, or how long to wait, or to begin again.

    Parameters
    ----------
    text
        The line as it was written.
    order
        What it does; None for a wait or a repeat.
    wait_s
        Seconds to wait; None where there is nothing to wait for.
    opening
        Whether to wait until someone opens the port.

    """

    text: str
    order: Order | None = None
    wait_s: float | None = None
    opening: bool = False

    @property
    def quits(self) -> bool:
        """Whether it ends the simulator."""
        return self.text.lower() in QUIT


def read_script(path: Path, station: Station) -> Sequence[Line]:
    """Read a script.

    Blank lines and what follows a ``#`` are skipped.  ``wait 2.5`` waits so many seconds,
    ``wait open`` until the port is opened, ``repeat`` begins again at the first line.

    Raises
    ------
    MistakesError
        With every mistake of the file.
    InputError
        When it cannot be read.

    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise InputError(
            f"{path}: cannot be read ({error.strerror or error})", hint="check the name."
        ) from error
    except UnicodeDecodeError as error:
        raise InputError(
            f"{path}: byte {error.start + 1} is not UTF-8 text", hint="save the file as UTF-8."
        ) from error
    lines: list[Line] = []
    mistakes: list[Mistake] = []
    for number, written in enumerate(text.splitlines(), 1):
        line = written.partition("#")[0].strip()
        if not line:
            continue
        try:
            lines.append(_understand(line, station, lines))
        except InputError as error:
            expected = f"{error.message} ({error.hint})" if error.hint else error.message
            mistakes.append(Mistake(str(path), number, "", repr(line[:40]), expected))
    if mistakes:
        raise MistakesError(mistakes, undone="nothing was simulated")
    return lines


def _understand(line: str, station: Station, before: Sequence[Line]) -> Line:
    word, *rest = line.split()
    if word.lower() == "wait":
        if [each.lower() for each in rest] == [OPEN]:
            return Line(line, opening=True)
        if len(rest) != 1:
            raise InputError("a time in seconds, such as 'wait 2.5', or 'wait open'")
        return Line(line, wait_s=seconds(rest[0]))
    if word.lower() == "repeat":
        nothing(rest)
        if all(each.wait_s is None and not each.opening for each in before):
            raise InputError("a wait before it: it would never stop")
        return Line(line)
    return Line(line, understand(station, line))


class Script:
    """Where a script has come to.

    Parameters
    ----------
    lines
        The script.
    station
        Gives the time, and the openings of the port.

    """

    def __init__(self, lines: Sequence[Line], station: Station) -> None:
        self._lines = lines
        self._station = station
        self._index = 0
        self._at = station.clock.now()
        self._waiting = False
        self._openings = 0

    @property
    def ended(self) -> bool:
        """Whether its last line is done."""
        return self._index >= len(self._lines)

    def due(self) -> Iterator[Line]:
        """Yield the lines whose time has come, each to be done before the next is asked for."""
        while not self.ended:
            line = self._lines[self._index]
            if not self._waited(line):
                return
            self._index += 1
            if line.order is not None:
                yield line
            elif line.wait_s is None and not line.opening:
                self._index = 0

    def _waited(self, line: Line) -> bool:
        """Whether there is nothing left to wait for; times are counted from wait to wait."""
        now = self._station.clock.now()
        if line.opening:
            openings = self._station.wire.openings
            if openings == self._openings:
                return False
            self._openings, self._at = openings, now
        elif line.wait_s is not None:
            if not self._waiting:
                self._at, self._waiting = self._at + line.wait_s, True
            if now < self._at:
                return False
            self._waiting = False
        return True
