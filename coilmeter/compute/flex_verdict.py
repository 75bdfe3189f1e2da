"""What flexing showed, in a word, with its reason and what to do next.

What was seen stands, however short it was watched.  That nothing was seen counts only where
it would have been seen.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from coilmeter.compute.flex_drift import Drift
from coilmeter.compute.flex_rule import FlexRule
from coilmeter.compute.flex_scan import Meaning, Run
from coilmeter.compute.flexings import FIND_IT
from coilmeter.units import format_ohm
from coilmeter.values import FlexEvidence, FlexFigures, FlexResult, Stability

WARM_ABOVE: Final = 0.001
"""A drift of less than a quarter of a kelvin is not worth a word."""

_FAR_DOWN: Final = 0.5
_TWICE: Final = 2
_AS_SHOWN: Final = 10.0
"""Two digits of ten last digits: written to the last one."""

UNPLUG: Final = (
    "unplug the head, or lift one end of the coil, let a warm head cool, and flex it again"
)


@dataclass(frozen=True, slots=True)
class Findings:
    """What was found in a stream, before anybody says what it means."""

    figures: FlexFigures
    runs: tuple[Run, ...]
    drift: Drift
    level_ohm: float
    step_ohm: float
    rest_scatter_ohm: float | None
    range_told: bool = True
    breaks: int = 0


def verdict(found: Findings, rule: FlexRule) -> FlexResult:
    """Say what it means."""
    stability, reason, then = _decide(found, rule)
    evidence = FlexEvidence(stability, found.figures)
    return FlexResult(evidence, reason, then, tuple(_notes(found, stability, rule)))


def _decide(found: Findings, rule: FlexRule) -> tuple[Stability, str, str]:
    figures, step = found.figures, found.step_ohm
    dropouts = [run for run in found.runs if run.meaning(rule) is Meaning.DROPOUT]
    sure = any(run.opens > 1 or run.answer is not None for run in dropouts)
    if sure or len(dropouts) >= _TWICE:
        return Stability.INTERMITTENT, _dropped(figures), FIND_IT
    drift = found.drift
    if drift.creeping:
        reason = (
            f"it creeps one way, from {_ohm(drift.first_ohm, step)} to "
            f"{_ohm(drift.last_ohm, step)}: is it still connected to the board?"
        )
        return Stability.CREEPING, reason, UNPLUG
    limit = _ohm(figures.jump_limit_ohm or 0.0, step)
    off = (figures.jumps or 0) + (figures.blips or 0)
    if figures.jumps or off >= rule.few_blips:
        reason = (
            f"{_times(off, 'change')} of more than {limit} as it was moved, the largest "
            f"{_signed(figures.largest_jump_ohm or 0.0, step)}"
        )
        return Stability.NOISY, reason, FIND_IT
    if drift.wanders:
        reason = (
            f"it wanders by {_ohm(drift.wander_ohm, step)}: more than the warmth of a hand, "
            "and not one way"
        )
        return Stability.NOISY, reason, FIND_IT
    for reason, then in _doubts(found, len(dropouts), rule):
        return Stability.UNDECIDED, reason, then
    return Stability.STEADY, f"no change above {limit} as it was moved", ""


def _doubts(found: Findings, dropouts: int, rule: FlexRule) -> Iterator[tuple[str, str]]:
    """Yield why it is not steady for certain, and what would decide, what weighs most first."""
    figures, step = found.figures, found.step_ohm
    rate, lasted = figures.rate_hz or 0.0, figures.duration_s or 0.0
    readings, limit = figures.readings or 0, figures.jump_limit_ohm or 0.0
    if dropouts:
        reason = "one single reading of OL, which may be a damaged frame"
        yield reason, "move it again, for longer: a second one would decide"
    if found.breaks:
        count = _times(found.breaks, "time")
        reason = (
            f"it dropped out or jumped {count} before it was moved, while it was to be held "
            "still: the clips, or a loose joint"
        )
        yield reason, "clip it anew, firmly, hold it still, and flex it again"
    if figures.blips:
        odd = _signed(figures.largest_jump_ohm or 0.0, step)
        count = _times(figures.blips, "single reading")
        reason = f"{count} off by up to {odd}, which may be a damaged frame"
        yield reason, "move it again, for longer: more of them would decide"
    if figures.doubtful:
        count = _times(figures.doubtful, "time")
        end = "the end of the meter's range" if found.range_told else "where a range may end"
        reason = f"OL {count} near {end}: it may be the meter's own"
        then = "turn the meter to the next higher range, fixed, and flex it again"
        if not found.range_told:
            then = (
                "name the meter (--meter): nothing told its ranges; near the end of one, "
                f"{then}"
            )
        yield reason, then
    if figures.unexplained_s:
        reason = (
            f"OL for {figures.unexplained_s:.1f} s, and nobody said whether the clips were "
            "lifted or the joint was open"
        )
        yield reason, "flex it again, and end with q while the clips still sit"
    slow = rate < rule.least_rate_hz
    if lasted < rule.least_s or (readings < rule.least_readings and not slow):
        count = _times(readings, "reading")
        reason = f"nothing seen, but watched for {lasted:.1f} s and {count} only"
        then = (
            f"flex it until {rule.least_s:g} s and {rule.least_readings} readings were watched "
            "with the clips on"
        )
        yield reason, then
    if slow:
        reason = (
            f"nothing seen, but the meter sends {rate:.1f} readings a second: a short "
            "drop-out lies between two of them"
        )
        yield reason, "use a meter of 5 readings a second or more"
    floor = rule.floor_ohm_at(found.level_ohm, step)
    if limit > max(rule.most_fraction * abs(found.level_ohm), _TWICE * floor):
        reason = (
            f"the meter scatters too much at rest to show a change below {_ohm(limit, step)}"
        )
        yield reason, "turn it to a fixed range, keep away from mains leads, and flex it again"


def _notes(found: Findings, stability: Stability, rule: FlexRule) -> Iterator[str]:
    figures = found.figures
    if found.rest_scatter_ohm is None:
        yield (
            "It was not read at rest before: the meter's own scatter is taken from its last "
            "digit."
        )
    if stability is not Stability.CREEPING and found.drift.creeping:
        yield "It also creeps one way: is it still connected to the board?"
    drift = abs(figures.drift_ohm or 0.0)
    if stability is Stability.STEADY and drift > max(
        WARM_ABOVE * abs(found.level_ohm), _TWICE * found.step_ohm
    ):
        yield (
            f"It drifted by {_signed(figures.drift_ohm or 0.0, found.step_ohm)}, as the warmth "
            "of a hand makes it (0.39 % a kelvin)."
        )
    lowest = min((run.level_ohm + run.jump_ohm for run in found.runs), default=found.level_ohm)
    if stability.faulty and lowest < _FAR_DOWN * found.level_ohm:
        yield f"It also fell to {_ohm(lowest, found.step_ohm)}: bare wires that touch do so."
    if figures.doubtful and stability is not Stability.UNDECIDED:
        yield (
            f"OL {_times(figures.doubtful, 'time')} more near the end of the meter's range, "
            "which may be the meter's own: not counted."
        )
    if figures.unexplained_s and stability is not Stability.UNDECIDED:
        yield (
            f"OL for {figures.unexplained_s:.1f} s is not counted: nobody said whether the "
            "clips were lifted."
        )
    rate = figures.rate_hz or 0.0
    if stability.faulty and rate < rule.least_rate_hz:
        yield f"At {rate:.1f} readings a second shorter drop-outs are missed."


def _dropped(figures: FlexFigures) -> str:
    share, longest = 100 * (figures.open_share or 0.0), figures.longest_s or 0.0
    return (
        f"{_times(figures.dropouts or 0, 'drop-out')}, the longest {longest:.2f} s, open for "
        f"{share:.1f} % of the time"
    )


def _ohm(ohm: float, step_ohm: float) -> str:
    """Write a resistance with no finer digit than the meter shows."""
    return format_ohm(ohm, _AS_SHOWN * step_ohm or None)


def _signed(ohm: float, step_ohm: float) -> str:
    return f"{'-' if ohm < 0 else '+'}{_ohm(abs(ohm), step_ohm)}"


def _times(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
