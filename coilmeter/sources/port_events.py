"""What a live source tells: readings, what was rejected, and what becomes of the connection."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from coilmeter.errors import (
    CoilmeterError,
    MeterSilentError,
    MeterUnreadableError,
    PortLostError,
)
from coilmeter.values import Reading
from coilmeter.wire.contract import Rejected


@dataclass(frozen=True, slots=True)
class TimedReading:
    """A reading, and when its last byte was read, in seconds of the stream's clock."""

    at: float
    reading: Reading


@dataclass(frozen=True, slots=True)
class TimedReject:
    """A stretch that is no frame, and when its last byte was read."""

    at: float
    rejected: Rejected


@dataclass(frozen=True, slots=True)
class LinkLost:
    """The port is gone, and is looked for from now on.

    `torn` are the bytes of a frame that was not complete: they are rejected, and nothing
    that comes later is joined to them.
    """

    at: float
    error: PortLostError
    torn: bytes = b""


@dataclass(frozen=True, slots=True)
class LinkRefused:
    """The port is there again and has not let itself be opened for a while; it is tried on."""

    at: float
    error: CoilmeterError


@dataclass(frozen=True, slots=True)
class LinkBack:
    """The port is open again since `at`, as `url`; it was gone for `away_s` seconds."""

    at: float
    url: str
    away_s: float


@dataclass(frozen=True, slots=True)
class FellSilent:
    """The port is open, and no byte has come for a while."""

    at: float
    error: MeterSilentError


@dataclass(frozen=True, slots=True)
class Unreadable:
    """Bytes come, and have not made one reading for a while."""

    at: float
    error: MeterUnreadableError


@dataclass(frozen=True, slots=True)
class TalksAgain:
    """Readings come again after silence, or after bytes that could not be read."""

    at: float


Answer: TypeAlias = TimedReading | TimedReject
Trouble: TypeAlias = LinkLost | LinkRefused | FellSilent | Unreadable
StreamEvent: TypeAlias = Answer | Trouble | LinkBack | TalksAgain
