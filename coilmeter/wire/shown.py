"""Digits of a display as a person reads them: point, prefix and unit."""

from __future__ import annotations

import math
from typing import Final

from coilmeter.values import Function

SYMBOL_OF: Final = {
    Function.RESISTANCE: "ohm",
    Function.CONTINUITY: "ohm",
    Function.DIODE: "V",
    Function.DC_VOLTAGE: "V",
    Function.AC_VOLTAGE: "V",
    Function.VOLTAGE: "V",
    Function.DC_CURRENT: "A",
    Function.AC_CURRENT: "A",
    Function.CURRENT: "A",
    Function.CAPACITANCE: "F",
    Function.INDUCTANCE: "H",
    Function.FREQUENCY: "Hz",
    Function.TEMPERATURE: "degC",
    Function.OTHER: "",
}
LETTERS: Final = {-12: "p", -9: "n", -6: "u", -3: "m", 0: "", 3: "k", 6: "M", 9: "G"}


def prefix_of(full_scale: float) -> int:
    """Power of ten of the prefix that a range of this end is shown with: 3 for 4 kohm."""
    size = math.floor(math.log10(full_scale) + 1e-9)
    return min(max(size - size % 3, -12), 9)


def digits_text(whole: int, decimals: int, width: int) -> str:
    """Write counts with their point: 12 with one decimal and a width of four is 001.2."""
    digits = f"{abs(whole):0{max(width, decimals + 1)}d}"
    sign = "-" if whole < 0 else ""
    point = len(digits) - decimals
    return sign + (f"{digits[:point]}.{digits[point:]}" if decimals else digits)


def value_text(value: float, function: Function) -> str:
    """Write a value that came as a plain number, with the unit of its function."""
    return f"{value:.9g} {SYMBOL_OF[function]}".rstrip()
