"""The words for what happens while AC volts are read, and how to connect."""

from __future__ import annotations

from typing import Final

from coilmeter.units.si_text import format_si
from coilmeter.walks.events import Finished, LowBattery, MeterAway, MeterBack, Refused
from coilmeter.walks.impedance_steps import ToneStep
from coilmeter.walks.impedance_told import (
    ToneAgain,
    ToneBegun,
    ToneCaution,
    ToneEvent,
    ToneMade,
    ToneMoving,
    ToneQuiet,
    ToneSkipped,
    TonesPlanned,
    ToneStillOn,
    ToneTaken,
    ToneTouched,
)

WIRING: Final = """\
  tone source o--- A ---[ resistor ]--- B ---( coil )--- C ---o tone source
  v_total from A to C   v_resistor from A to B   v_coil from B to C"""

UNPLUGGED: Final = (
    "Head unplugged, or out of the machine: a board across a coil spoils L and Q."
)
DRIVE: Final = (
    "Volume down and headphones off before the tone is connected; 50 to 100 mV across a head "
    "are enough, and more may magnetise its core."
)
ONE_RANGE: Final = (
    "One range for all three voltages, held by hand: then the meter's gain cancels."
)
BEFORE_A_TONE: Final = (UNPLUGGED, DRIVE, ONE_RANGE)
"""Said before AC volts are read (common practice, no source)."""


_NOTHING_ACROSS: Final = {
    "resistor": "the source was there, so no current flows. Is the coil connected, and not "
    "open? s leaves it out",
    "coil": "the source was there, so all of it is across the resistor. Is the coil shorted, "
    "or the head still connected to a board? Unplug it; s leaves the coil out",
}
"""What it may be that takes the voltage away."""


def tone_sentence(event: ToneEvent) -> str:  # noqa: C901, PLR0911, PLR0912 - a line each
    """Say an event in one line."""
    match event:
        case TonesPlanned(left=left, total=total):
            return f"{left} of {total} voltages left" if left < total else f"{total} voltages"
        case ToneBegun(step=step, number=number, total=total):
            return f"[{number}/{total}] {begin_text(step)}"
        case ToneTouched():
            return "contact"
        case ToneMoving():
            return "it does not settle: hold the probes still; is the source steady?"
        case ToneQuiet(step=step, flows=True) if step.across in _NOTHING_ACROSS:
            return f"nothing on {step.where}: {_NOTHING_ACROSS[step.across]}"
        case ToneQuiet(step=step):
            return f"nothing there: is the tone on, and are the probes on {step.where}?"
        case ToneStillOn(step=step):
            return (
                f"taken already: lift the probes for a moment, then {step.where}; "
                "n if they are there"
            )
        case ToneTaken(step=step, row=row):
            return f"taken  {step.key}  {row.volts[step.across].shown.text}"
        case ToneMade(step=step, text=text):
            return f"{step.place}: {text}"
        case ToneAgain(step=step, why=why):
            return (
                f"put aside, read all three of {step.place} again, or go back to the one that "
                f"is wrong: {why}"
            )
        case ToneCaution(text=text):
            return f"! {text}"
        case ToneSkipped(step=step):
            return f"skipped {step.place}"
        case Refused(advice=advice):
            return advice
        case LowBattery():
            return "the meter says its battery is low: change it, readings may be off"
        case MeterAway(what=what, advice=advice):
            return f"{what}: {advice}"
        case MeterBack(what=what):
            return what
        case Finished(taken=taken, skipped=skipped):
            left_out = f", {skipped} skipped" if skipped else ""
            return f"done: {taken} taken{left_out}"


def begin_text(step: ToneStep) -> str:
    """Say what to do for a step, with what has to be connected or set first."""
    return f"{step.key}: {_before(step)}probes on {step.where}"


def fitting_text(event: ToneBegun, width: int) -> str:
    """Say what to do for a step in one line of a screen.

    What is cut off first is what stands elsewhere on it, too; the two points never are.
    """
    step, count = event.step, f"[{event.number}/{event.total}]"
    before, probes = _before(step), f"probes on {' and '.join(step.points)}"
    lines = (
        tone_sentence(event),
        f"{count} {step.key}: {before}{probes}",
        f"{count} v_{step.across}: {before}{probes}",
        f"{count} {probes}; {before}v_{step.across}",
    )
    return next((line for line in lines if len(line) <= width), lines[-1])


def _before(step: ToneStep) -> str:
    """Say what has to be set or connected before the probes."""
    tone = f"tone to {format_si(step.frequency_hz, 'Hz')}; " if step.retune else ""
    return f"{tone}connect coil {step.coil}; " if step.connect else tone
