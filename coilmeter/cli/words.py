"""The words for what happens in a walk, for a screen and for plain lines."""

from __future__ import annotations

from coilmeter.report.safe import printable
from coilmeter.units import Form, format_ohm
from coilmeter.values import CASE, Reading, ReadingRow
from coilmeter.walks.events import (
    AskBridge,
    AskRange,
    Begun,
    Blinks,
    BridgedTooSoon,
    Contact,
    Event,
    Finished,
    Lift,
    LiftLonger,
    LowBattery,
    MeterAway,
    MeterBack,
    MeterSlow,
    NearZeroHeld,
    NotKept,
    OnceMore,
    Planned,
    ReadsLikeACoil,
    Refused,
    SeenTogether,
    Skipped,
    Spoilt,
    StillMoving,
    Taken,
)
from coilmeter.walks.steps import Step

CREEPING = "it creeps one way: is the head still connected to the board?"
LONGER = "lift the clips for a full second: a new contact cannot be told from a loose joint"
JUMPING = "it does not settle: hold the clips still, clean the pins"
_THOUSAND = 1000.0


def sentence(event: Event, verdict: str = "") -> str:  # noqa: C901, PLR0911, PLR0912 - a line each
    """Say an event in one line; `verdict` is what a reading that was taken means so far."""
    match event:
        case Planned(left=left, total=total, moves=moves):
            readings = (
                f"{left} of {total} readings left" if left < total else _some(left, "reading")
            )
            return f"{readings}, {_some(moves, 'clip move')}"
        case Begun(step=step, number=number, total=total, together=True):
            return (
                f"[{number}/{total}] {_what(step)}: first hold the clips together for two "
                f"seconds, then clip {step.where}"
            )
        case SeenTogether(step=step):
            return f"the clips have moved: now clip {step.where}"
        case Begun(step=step, number=number, total=total):
            clips = {0: "no clip", 1: "one clip"}.get(step.moves, "both clips")
            return f"[{number}/{total}] {_what(step)}: {step.where} (move {clips})"
        case Contact():
            return "contact"
        case StillMoving(creeping=creeping):
            return CREEPING if creeping else JUMPING
        case AskBridge(step=step, little=little):
            return (
                f"{little or 'OL'}. If the clips are on, bridge {step.where} with a metal tip "
                "for a moment, under a second once it reads near zero (or press o)"
            )
        case AskRange():
            return "OL on which range? (such as 40 Mohm, or auto)"
        case OnceMore(step=step):
            return (
                f"{step.key} read OL behind another OL, and nothing showed that the clips had "
                "moved: once more, to be sure"
            )
        case BridgedTooSoon():
            return "near zero, and nobody had asked: it proves nothing; bridge when it is asked"
        case Blinks(step=step):
            return f"{step.key} drops out with the clips on: a loose joint? flex it after this"
        case MeterSlow(every_s=every_s):
            return (
                f"the meter sends a reading every {every_s:.0f} s only, and nobody knows what "
                "the clips did meanwhile: set its output to two a second at least"
            )
        case NearZeroHeld():
            return "near zero: lift the tip; if there is none, press k to keep the reading"
        case Taken(step=step, row=row):
            meaning = f": {verdict}" if verdict else ""
            return f"taken  {step.key}  {row_text(row)}{meaning}"
        case ReadsLikeACoil(step=step, row=row):
            return (
                f"{row_text(row)} is what a coil reads: are the clips on {step.where}? Lift "
                "and clip again, or press k (type keep) if it is so"
            )
        case NotKept(why=why):
            return f"put aside, take it again: {why}"
        case Lift(step=step, unseen=True) if step.other:
            return "lift the clips and move them: OL before and OL after look the same"
        case Lift(step=step, unseen=True):
            return (
                f"lift the clips: if {step.key} conducts again now, it passes for the next one"
            )
        case Lift():
            return "lift the clips"
        case LiftLonger():
            return LONGER
        case Skipped(step=step):
            return f"skipped {step.key}"
        case Refused(advice=advice):
            return advice
        case LowBattery():
            return "the meter says its battery is low: change it, readings may be off"
        case MeterAway(what=what, advice=advice):
            return f"{what}: {advice}"
        case MeterBack(what=what):
            return what
        case Spoilt(rejected=rejected, total=total):
            return (
                f"{rejected} of {total} frames cannot be read: see the meter's plug and cable, "
                "and what runs beside it"
            )
        case Finished(taken=taken, skipped=skipped):
            left_out = f", {skipped} skipped" if skipped else ""
            return f"done: {taken} taken{left_out}"


def _what(step: Step) -> str:
    """Name of a step in words that no pair of pins could be taken for."""
    other = step.other if step.other in {"", CASE} else f"coil {step.other}"
    return f"coil {step.coil} to {other}" if other else step.key


def row_text(row: ReadingRow) -> str:
    """Show the reading of a row, an overload with the range it stands for.

    What came from a meter is kept in ohm; thousands are shown in kohm or Mohm, rounded for a
    person.  What was typed is shown as it was typed.
    """
    reading = row.reading
    if reading.ohm is None and row.range_ohm is not None:
        return f"{reading.text} ({_range(row.range_ohm)})"
    from_meter = bool(row.raw) and reading.form is Form.NUMBER
    if from_meter and reading.ohm is not None and abs(reading.ohm) >= _THOUSAND:
        return format_ohm(reading.ohm)
    return printable(reading.text)


def _some(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def reading_text(reading: Reading) -> str:
    """Display of a meter, for a person."""
    return printable(reading.display)


def _range(end_ohm: float) -> str:
    return "automatic range" if end_ohm == float("inf") else f"{format_ohm(end_ohm)} range"
