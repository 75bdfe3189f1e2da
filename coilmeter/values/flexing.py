"""What flexing a joint showed: a word, its figures, and how both stand in a readings file."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, fields
from enum import StrEnum
from typing import Any, Final

from coilmeter.errors import ReadingTextError


class Stability(StrEnum):
    """What a coil did while its joint was moved."""

    STEADY = "steady"
    NOISY = "noisy"
    INTERMITTENT = "intermittent"
    CREEPING = "creeping"
    UNDECIDED = "undecided"

    @property
    def faulty(self) -> bool:
        """Whether it makes the coil unstable."""
        return self in {Stability.NOISY, Stability.INTERMITTENT}

    @property
    def decides(self) -> bool:
        """Whether it says something of the joint, for good or bad."""
        return self.faulty or self is Stability.STEADY


@dataclass(frozen=True, slots=True)
class FlexFigures:
    """Figures of a stream that was read while a joint was moved; None where unknown.

    Parameters
    ----------
    readings
        How many, drop-outs included, lifted clips left out.
    duration_s, rate_hz
        Time they stand for, gaps and lifted clips left out, and readings a second.
    least_ohm, median_ohm, most_ohm
        Of the readings that are no drop-out.
    scatter_ohm, robust_scatter_ohm
        Standard deviation, and 1.4826 times the median absolute deviation from the median,
        of those on the usual range.
    own_scatter_ohm
        What the meter scatters by itself: on the joint at rest, else as its last digit rounds.
    jump_limit_ohm
        A change above this is told from the meter's own flicker.
    dropouts, doubtful
        Times it was open; and those that may be the meter's change of range.
    longest_s, open_share
        The longest drop-out, and the share of the time that was open.
    jumps, blips
        Changes of level of two readings or more, and single readings off the level.
    largest_jump_ohm
        The largest of both, with its sign.
    drift_ohm
        From the beginning to the end, with its sign; None where the level jumps.
    unexplained_s
        Time of OL of which nobody said whether the clips were lifted.

    """

    readings: int | None = None
    duration_s: float | None = None
    rate_hz: float | None = None
    least_ohm: float | None = None
    median_ohm: float | None = None
    most_ohm: float | None = None
    scatter_ohm: float | None = None
    robust_scatter_ohm: float | None = None
    own_scatter_ohm: float | None = None
    jump_limit_ohm: float | None = None
    dropouts: int | None = None
    doubtful: int | None = None
    longest_s: float | None = None
    open_share: float | None = None
    jumps: int | None = None
    blips: int | None = None
    largest_jump_ohm: float | None = None
    drift_ohm: float | None = None
    unexplained_s: float | None = None

    def known(self) -> dict[str, Any]:
        """Give the figures that are known, by name."""
        every = {name: getattr(self, name) for name in FIGURES}
        return {name: value for name, value in every.items() if value is not None}


FIGURES: Final = tuple(each.name for each in fields(FlexFigures))
_COUNTS: Final = frozenset({"readings", "dropouts", "doubtful", "jumps", "blips"})
_SIGNED: Final = frozenset(
    {"least_ohm", "median_ohm", "most_ohm", "largest_jump_ohm", "drift_ohm"}
)
_NUMBER: Final = re.compile(r"[+-]?[0-9]{1,15}(?:\.[0-9]{1,15})?(?:e[+-]?[0-9]{1,2})?")
_ROUNDING: Final = 1e-12
"""Below this it is the rounding of a difference of equal numbers."""

LONGEST_CELL: Final = 1000


@dataclass(frozen=True, slots=True)
class FlexEvidence:
    """What flexing showed, as a readings file keeps it."""

    stability: Stability
    figures: FlexFigures = FlexFigures()


@dataclass(frozen=True, slots=True)
class FlexResult:
    """What flexing showed, with its reason.

    Parameters
    ----------
    evidence
        The word and its figures.
    reason
        Why that word.
    next
        What to do next; empty where nothing is left to do.
    notes
        What else must be known of it.

    """

    evidence: FlexEvidence
    reason: str
    next: str = ""
    notes: tuple[str, ...] = ()


def flex_text(evidence: FlexEvidence) -> str:
    """Write evidence as a cell of a readings file: ``steady; readings=198; ...``."""
    figures = (f"{name}={_written(value)}" for name, value in evidence.figures.known().items())
    return "; ".join([evidence.stability, *figures])


def parse_flex(text: str) -> FlexEvidence:
    """Read such a cell; the word alone is enough.

    Raises
    ------
    ReadingTextError
        When it is anything else, or its figures contradict each other.

    """
    word, *parts = (part.strip() for part in text[: LONGEST_CELL + 1].split(";"))
    if len(text) > LONGEST_CELL or word not in {*Stability}:
        words = ", ".join(Stability)
        raise ReadingTextError(text, f"one of {words}; then figures such as 'dropouts=3'")
    found: dict[str, Any] = {}
    for part in parts:
        name, _, number = (each.strip() for each in part.partition("="))
        if name not in FIGURES or name in found:
            raise ReadingTextError(part, f"name=number, each once, of: {', '.join(FIGURES)}")
        found[name] = _figure(name, number, part)
    figures = FlexFigures(**found)
    _check(figures, text)
    return FlexEvidence(Stability(word), figures)


def _figure(name: str, number: str, part: str) -> float:
    value = float(number) if _NUMBER.fullmatch(number) else math.nan
    whole = name in _COUNTS
    if math.isfinite(value) and (name in _SIGNED or value >= 0):
        if not whole:
            return value
        if number.isdigit():
            return int(number)
    what = "a whole number" if whole else "a number" if name in _SIGNED else "zero or more"
    raise ReadingTextError(part, f"{what} behind {name}=")


def _check(figures: FlexFigures, text: str) -> None:
    """Refuse figures that no stream can have."""
    sizes = (figures.least_ohm, figures.median_ohm, figures.most_ohm)
    known = [size for size in sizes if size is not None]
    if known != sorted(known):
        raise ReadingTextError(text, "least_ohm, median_ohm and most_ohm in that order")
    if figures.open_share is not None and figures.open_share > 1:
        raise ReadingTextError(text, "an open_share from 0 to 1")


def _written(value: float) -> str:
    if isinstance(value, int):
        return str(value)
    return f"{value:.6g}" if abs(value) >= _ROUNDING else "0"
