"""What comes out of replaying a raw log: answers, gaps, and the account of it all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from coilmeter.sources.rawlog import Kind
from coilmeter.sources.rawlog_reader import Damage
from coilmeter.values import Reading
from coilmeter.wire.contract import Rejected

KEPT: Final = 10
"""Of rejected stretches, gaps and damaged lines, so many are kept to be shown."""


@dataclass(frozen=True, slots=True)
class Answers:
    """What some bytes of the log are.

    Parameters
    ----------
    at
        Time of the last byte of each, in seconds since the start of the log.
    items
        The readings and rejected stretches; positions count from the first byte of the log.

    """

    at: Sequence[float]
    items: Sequence[Reading | Rejected]


@dataclass(frozen=True, slots=True)
class Gap:
    """A time without bytes: why, from when to when in seconds, and what the log says of it."""

    kind: Kind
    start: float
    end: float
    text: str

    @property
    def lasted_s(self) -> float:
        """How long."""
        return self.end - self.start


@dataclass(slots=True)
class Tally:
    """What a replay came across; complete once its events are at an end.

    Parameters
    ----------
    records
        Whole records of the log.
    logged_read
        How many of them the program that wrote it took for readings.
    raw_bytes
        Bytes of the meter.
    decoded, rejected, asides
        Readings, stretches that are none, and readings of other displays than the main one.
    unfinished
        Bytes at an end, or before the port was gone, that make no whole frame.
    lasted_s
        Time of the last record.
    first_rejected, first_gaps, first_damages
        The first `KEPT` of each; of the rejected stretches with their times.
    gaps, gaps_s
        How many gaps, and how long all are together.
    damages
        Lines that are no records, or whose time goes back.
    cut
        Bytes of a last line without its newline.
    ended
        What the log says of its end; empty where it was not closed.

    """

    records: int = 0
    logged_read: int = 0
    raw_bytes: int = 0
    decoded: int = 0
    rejected: int = 0
    asides: int = 0
    unfinished: int = 0
    lasted_s: float = 0.0
    first_rejected: list[tuple[float, Rejected]] = field(default_factory=list)
    gaps: int = 0
    gaps_s: float = 0.0
    first_gaps: list[Gap] = field(default_factory=list)
    damages: int = 0
    first_damages: list[tuple[Path, Damage]] = field(default_factory=list)
    cut: bytes = b""
    ended: str = ""

    @property
    def frames(self) -> int:
        """Frames read: those decoded, those rejected, and those of other displays."""
        return self.decoded + self.rejected + self.asides

    @property
    def rate_hz(self) -> float | None:
        """Readings a second while there was no gap; None where no time passed."""
        talked = self.lasted_s - self.gaps_s
        return self.decoded / talked if talked > 0 else None
