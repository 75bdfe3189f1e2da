"""Readings that must not be judged, each with the knob to turn."""

from __future__ import annotations

from typing import Final

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
