"""The journal of cases: one line of JSON for everything that happened, on disk at once.

A line has ``schema``, ``case``, ``time`` and ``event``, one of

``open``
    ``fault`` and ``track``.
``saw``, ``withdrew``
    ``name``, ``outcome``, ``track``, ``source``.
``cannot``, ``can``
    ``what``: a test, or a need of tests.
``close``
    ``links``: what it was; empty where nothing was broken.

Lines are only ever added.  A line that makes no sense, such as the half of one that a power
cut left, is passed over and told.
"""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from coilmeter.errors import InputError, StoreBusyError, StoreError
from coilmeter.sources.line_file import append_line
from coilmeter.sources.lock import FileLock
from coilmeter.sources.rawlog_file import sync_folder
from coilmeter.values.chain_cases import Case
from coilmeter.values.chains import Outcome, Seen

SCHEMA: Final = "coilmeter/1"
_PATIENCE_S: Final = 3.0
_MOST_SHOWN: Final = 3


class Journal:
    """Cases of one file, read when this is made and added to from then on.

    Parameters
    ----------
    path
        The file; it need not exist, and is made with its folder when something is kept.

    Raises
    ------
    StoreError
        When it cannot be read.

    Attributes
    ----------
    cases
        By name, in the order in which they were opened.
    troubles
        What could not be understood, a sentence each.

    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.cases: dict[str, Case] = {}
        self.troubles: list[str] = []
        self._read()

    def new_name(self, fault: str, track: str) -> str:
        """Give a name that no case has yet."""
        base = f"{fault}-{track}"
        names = [base, *(f"{base}-{number}" for number in range(2, len(self.cases) + 3))]
        return next(name for name in names if name not in self.cases)

    def open(self, name: str, fault: str, track: str) -> Case:
        """Open a case, and keep that.

        Raises
        ------
        InputError
            When there is one of that name.
        StoreError
            When it could not be kept.

        """
        if name in self.cases:
            raise InputError(
                f"case {name!r}: there is one of that name in {self.path}",
                hint="go on with it, or choose another name.",
            )
        return self._happened(name, {"event": "open", "fault": fault, "track": track})

    def saw(self, case: Case, seen: Seen) -> None:
        """Keep what was seen; raises `StoreError`."""
        self._happened(case.name, {"event": "saw", **_of(seen)})

    def withdrew(self, case: Case, seen: Seen) -> None:
        """Keep that something was not so after all; raises `StoreError`."""
        self._happened(case.name, {"event": "withdrew", **_of(seen)})

    def cannot(self, case: Case, what: str, *, after_all: bool = False) -> None:
        """Keep what cannot be had, or can be had after all; raises `StoreError`."""
        self._happened(case.name, {"event": "can" if after_all else "cannot", "what": what})

    def close(self, case: Case, links: tuple[str, ...]) -> None:
        """Keep what it was.

        Raises
        ------
        InputError
            When the case is closed already.
        StoreError
            When it could not be kept.

        """
        if case.closed:
            raise InputError(
                f"case {case.name!r}: closed on {case.closed}",
                hint="open a new case for a new fault.",
            )
        self._happened(case.name, {"event": "close", "links": list(links)})

    def counts(self, fault: str) -> dict[str, float]:
        """Count how many closed cases of a fault each link was.

        A case with several counts in parts.
        """
        found: dict[str, float] = {}
        for case in self.cases.values():
            if case.fault == fault and case.closed:
                for link in case.links:
                    found[link] = found.get(link, 0.0) + 1 / len(case.links)
        return found

    def _happened(self, name: str, what: dict[str, Any]) -> Case:
        event = {
            "schema": SCHEMA,
            "case": name,
            "time": datetime.now(UTC).isoformat(timespec="milliseconds"),
            **what,
        }
        self._append(json.dumps(event) + "\n")
        self._apply(event)
        return self.cases[name]

    def _read(self) -> None:
        try:
            data = self.path.read_bytes()
        except FileNotFoundError:
            return
        except OSError as error:
            raise StoreError(
                f"{self.path}: the cases cannot be read ({error.strerror or error})",
                hint="keep them elsewhere (--keep).",
            ) from error
        bad = []
        for number, line in enumerate(data.split(b"\n"), start=1):
            try:
                if line.strip():
                    self._apply(json.loads(line))
            except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
                bad.append(str(number))
        if bad:
            some = ", ".join(bad[:_MOST_SHOWN]) + (" ..." if len(bad) > _MOST_SHOWN else "")
            self.troubles.append(
                f"{self.path}: line {some} is no line of a case and was passed over; all "
                "others count."
            )

    def _apply(self, event: dict[str, Any]) -> None:
        """Have one event happen; raises what a line that makes no sense brings with it."""
        if event["schema"] != SCHEMA:
            raise ValueError(event["schema"])
        name, what, when = _text(event["case"]), event["event"], _text(event["time"])
        if what == "open":
            if name in self.cases:
                raise ValueError(name)
            case = Case(name, _text(event["fault"]), _text(event["track"]), opened=when)
            self.cases[name] = case
            return
        case = self.cases[name]
        if what == "saw":
            case.seen.append(_seen(event))
        elif what == "withdrew":
            seen = _seen(event)
            last = len(case.seen) - 1 - case.seen[::-1].index(seen)
            del case.seen[last]
        elif what == "cannot":
            case.cannot.append(_text(event["what"]))
        elif what == "can":
            case.cannot.remove(_text(event["what"]))
        elif what == "close":
            case.closed, case.links = when, tuple(map(_text, event["links"]))
        else:
            raise ValueError(what)

    def _append(self, line: str) -> None:
        with self._trouble():
            self.path.parent.mkdir(parents=True, exist_ok=True)
            lock = self._locked()
            try:
                self._write(line.encode())
            finally:
                lock.release()

    def _write(self, line: bytes) -> None:
        made = not self.path.exists()
        if made:
            self.path.touch()
        # What a power cut left of a line stays by itself.
        append_line(self.path, line)
        if made:
            sync_folder(self.path)

    def _locked(self) -> FileLock:
        """Wait for another run that adds a line just now."""
        end = time.monotonic() + _PATIENCE_S
        while True:
            try:
                return FileLock(self.path)
            except BlockingIOError as error:
                if time.monotonic() > end:
                    raise StoreBusyError(
                        f"{self.path}: another run has been writing to it for too long",
                        hint="end that one, or keep the cases elsewhere (--keep).",
                    ) from error
                time.sleep(0.02)

    @contextmanager
    def _trouble(self) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            raise StoreError(
                f"{self.path}: cannot be written ({error.strerror or error}); what was kept "
                "before is in it",
                hint="free some space or check the folder, or keep cases elsewhere (--keep).",
            ) from error


def _of(seen: Seen) -> dict[str, str]:
    return {
        "name": seen.name,
        "outcome": str(seen.outcome),
        "track": seen.track,
        "source": seen.source,
    }


def _seen(event: dict[str, Any]) -> Seen:
    return Seen(
        _text(event["name"]),
        Outcome(event["outcome"]),
        _text(event["track"]),
        _text(event["source"]),
    )


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError(value)
    return value
