"""Readings that must not be judged, each with the knob to turn."""

from __future__ import annotations

from typing import Final

from coilmeter.units import format_ohm
from coilmeter.values import Flag, Function, Purpose, Reading
from coilmeter.walks.steps import Step

_FUNCTION_NAMES: Final = {
    Function.CONTINUITY: "the beeper",
    Function.DIODE: "diode test",
    Function.DC_VOLTAGE: "DC volts",
    Function.AC_VOLTAGE: "AC volts",
    Function.OTHER: "something else",
}
_WRONG_FLAGS: Final = {
    Flag.HOLD: "HOLD is on: the display is frozen; switch it off",
    Flag.MAXIMUM: "MAX is on: the display shows an old value; switch it off",
    Flag.MINIMUM: "MIN is on: the display shows an old value; switch it off",
}


def why_not(reading: Reading) -> str:
    """Why a reading must not be judged as a resistance, as advice; empty where it may."""
    if reading.function is not Function.RESISTANCE:
        shown = _FUNCTION_NAMES.get(reading.function, reading.function.replace("_", " "))
        return f"the meter is on {shown}: turn it to ohms"
    return next((advice for flag, advice in _WRONG_FLAGS.items() if flag in reading.flags), "")


def why_no_null(step: Step, reading: Reading) -> str:
    """Say why a reading is no lead null; empty where it is one, or none is asked for."""
    if step.purpose is Purpose.LEAD_NULL and Flag.RELATIVE in reading.flags:
        return "REL is on, and takes the leads off already: switch it off, or skip this step"
    return ""


def why_little(
    step: Step, end_ohm: float | None, path_good_ohm: float, *, asked: bool = False
) -> str:
    """Say why an OL on this range says too little, and what to turn; empty where it does not.

    Parameters
    ----------
    step
        What is measured.
    end_ohm
        End of the range that shows OL; None where there is no OL, or its range is not known.
    path_good_ohm
        An OL on a lower range than this says too little of a path.
    asked
        Whether the question of an OL stands: of a coil it is said only then, because lifted
        clips read OL as well.

    """
    if end_ohm is None:
        return ""
    if step.other and end_ohm < path_good_ohm:
        return f"OL past {format_ohm(end_ohm)} says little of a path: turn to the highest range"
    if asked and not step.other and end_ohm < step.open_above_ohm:
        enough = format_ohm(step.open_above_ohm)
        return f"OL past {format_ohm(end_ohm)} says little of a coil: turn past {enough}"
    return ""
