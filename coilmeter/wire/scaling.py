"""Decades and units, as every format needs them; decimal, so that nothing is rounded twice."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

from coilmeter.values import Flag, Function

UNIT_OF: Final = {
    Function.RESISTANCE: "ohm",
    Function.CONTINUITY: "ohm",
    Function.DIODE: "volt",
    Function.DC_VOLTAGE: "volt",
    Function.AC_VOLTAGE: "volt",
    Function.VOLTAGE: "volt",
    Function.DC_CURRENT: "ampere",
    Function.AC_CURRENT: "ampere",
    Function.CURRENT: "ampere",
    Function.CAPACITANCE: "farad",
    Function.INDUCTANCE: "henry",
    Function.FREQUENCY: "hertz",
    Function.TEMPERATURE: "degree_Celsius",
    Function.OTHER: "",
}
"""Unit of a reading's value, by function; empty where the wire does not tell one."""


def decade(resolution: float) -> int:
    """Exponent of the last digit: -1 for a resolution of 0.1.

    Raises
    ------
    ValueError
        When the resolution is no power of ten: no display of plain digits can show it.

    """
    if not (math.isfinite(resolution) and resolution > 0):
        raise ValueError(f"a resolution of {resolution} cannot be shown")
    exponent = round(math.log10(resolution))
    if not math.isclose(resolution, power_of_ten(exponent), rel_tol=1e-9):
        raise ValueError(f"a resolution of {resolution} is no power of ten")
    return exponent


@lru_cache(maxsize=256)
def power_of_ten(exponent: int) -> float:
    """Nearest float of a power of ten, for negative exponents too."""
    return float(f"1e{exponent}")


def scaled(whole: int, exponent: int) -> float:
    """Multiply a whole number by a power of ten, rounding once: 2345 and -1 give 234.5."""
    if exponent < 0:
        return whole / power_of_ten(-exponent)
    return whole * power_of_ten(exponent)


def counts(value: float, exponent: int) -> int:
    """Count the last digits that a display of that decade shows for a value.

    Raises
    ------
    ValueError
        When the value is not finite.

    """
    if not math.isfinite(value):
        raise ValueError(f"{value} cannot be shown as digits")
    return round(value / power_of_ten(exponent))


def check_flags(flags: frozenset[Flag], *, shows_minus: bool) -> None:
    """Refuse flags that no display shows together.

    Raises
    ------
    ValueError
        For auto with manual range, and for a minus sign before a value that has none.

    """
    if {Flag.AUTO, Flag.MANUAL} <= flags:
        raise ValueError("a display shows automatic or manual range, not both")
    if Flag.NEGATIVE in flags and not shows_minus:
        raise ValueError("a minus sign was asked for before a value that has none")
