"""Readings that are no AC voltage, each with the knob to turn; and a voltage as text."""

from __future__ import annotations

import math
from typing import Final

from coilmeter.values import Flag, Function, Reading

_WRONG_FLAGS: Final = {
    Flag.HOLD: "HOLD is on: the display is frozen; switch it off",
    Flag.MAXIMUM: "MAX is on: the display shows an old value; switch it off",
    Flag.MINIMUM: "MIN is on: the display shows an old value; switch it off",
    Flag.RELATIVE: "REL is on: it takes a voltage off every reading; switch it off",
}
ABOUT_ZERO_VOLT: Final = 0.005
"""What a meter on AC volts may show below zero where there is no tone: its own zero."""

ABOUT_ZERO_DIGITS: Final = 10
"""The same on a coarse range, in last digits."""

UNTOLD: Final = "this format does not tell AC from DC: see that the display shows AC volts"


def why_no_tone(reading: Reading) -> str:
    """Why a reading is no AC voltage, as advice; empty where it is one."""
    if reading.function not in {Function.AC_VOLTAGE, Function.VOLTAGE}:
        names = {Function.DC_VOLTAGE: "DC volts", Function.RESISTANCE: "ohms"}
        shown = names.get(reading.function, reading.function.replace("_", " "))
        return f"the meter is on {shown}: turn it to AC volts"
    if reading.overload:
        return "over-range: choose the next higher range, or turn the source down"
    if _certainly_below_zero(reading):
        if reading.function is Function.AC_VOLTAGE:
            return "AC volts below zero: a null (REL) or an offset is on; switch it off"
        return "a voltage below zero is no AC voltage: turn the meter to AC volts"
    return next((advice for flag, advice in _WRONG_FLAGS.items() if flag in reading.flags), "")


def _certainly_below_zero(reading: Reading) -> bool:
    """Whether it is below zero by more than what a meter shows without any voltage."""
    zero = max(ABOUT_ZERO_VOLT, ABOUT_ZERO_DIGITS * (reading.resolution or 0.0))
    return reading.value is not None and reading.value < -zero


def volts_text(volt: float, step: float) -> str:
    """Write a voltage with the last digit that the meter shows."""
    factor, unit = (1e-3, "mV") if step < 1e-3 else (1.0, "V")  # noqa: PLR2004 - a millivolt
    decimals = max(round(-math.log10(step / factor)), 0)
    return f"{volt / factor:.{decimals}f} {unit}"
