"""Texts of AC measurements: a voltage as a meter shows it, a tolerance, a phase."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from coilmeter.errors import ReadingTextError
from coilmeter.units.registry import ureg
from coilmeter.units.text import (
    LONGEST_TEXT,
    PLAIN,
    split_number,
    tidy,
    unit_name,
)
from coilmeter.units.tolerances import SPREAD

_OVERLOAD: Final = re.compile(r"[O0]\.?L\.?(?=$|\s)", re.IGNORECASE)
_KIND: Final = re.compile(r"(.*?v(?:olts?)?)\s*(ac|dc|rms)", re.IGNORECASE)
_EXPECTED_VOLTS: Final = "an AC voltage with its unit, such as '98.4 mV'"
_HIGHEST_VOLT: Final = 1000.0
_ANGLES: Final = {"deg": math.pi / 180, "\u00b0": math.pi / 180, "rad": 1.0}


@dataclass(frozen=True, slots=True)
class VoltageText:
    """A voltage as it was written.

    Parameters
    ----------
    volt, step_volt
        The value, and what one of its last digit is worth, in volt.
    text
        The text itself, trimmed.

    """

    volt: float
    step_volt: float
    text: str


def parse_voltage(text: str) -> VoltageText:
    """Read one AC voltage as a meter shows it: ``98.4 mV``, ``0.1624 V ac``.

    Raises
    ------
    ReadingTextError
        When it is no such voltage; DC volts, an overload, a bare number and a voltage that
        is not above zero are refused each with its own advice.

    """
    clean = tidy(text)
    if len(text) > LONGEST_TEXT:
        raise ReadingTextError(text, _EXPECTED_VOLTS)
    if _OVERLOAD.match(clean):
        raise ReadingTextError(
            text,
            "a voltage within the range",
            "choose the next higher range, or turn the tone source down.",
        )
    kind = _KIND.fullmatch(clean)
    if kind is not None and kind[2].lower() == "dc":
        raise ReadingTextError(
            text, "an AC voltage", "turn the meter to AC volts: DC says nothing of a tone."
        )
    number = PLAIN.fullmatch(clean if kind is None else kind[1])
    if number is None:
        raise ReadingTextError(text, _EXPECTED_VOLTS)
    value, step, unit = split_number(number, clean)
    name = unit_name(unit) if unit else None
    if name is None or not ureg.Quantity(1.0, name).is_compatible_with("volt"):
        hint = "" if unit else "write mV or V behind it: a thousand lies between them."
        raise ReadingTextError(text, _EXPECTED_VOLTS, hint)
    if value <= 0:
        raise ReadingTextError(text, "a voltage above zero: an AC voltage has no sign")
    factor = float(ureg.Quantity(1.0, name).m_as("volt"))
    if value * factor > _HIGHEST_VOLT:
        raise ReadingTextError(text, "a voltage of a bench, below 1000 V")
    return VoltageText(value * factor, step * factor, clean)


def parse_current(text: str) -> tuple[float, float | None]:
    """Read a current in ampere and its half-width: ``19.66 mA +/- 0.1 mA``.

    The half-width is None where none is written.

    Raises
    ------
    ReadingTextError
        When it is no current above zero.

    """
    expected = "a current with its unit, such as '19.66 mA +/- 0.1 mA'"
    found = _with_half(text, expected, _ampere)
    if found[0] <= 0:
        raise ReadingTextError(text, expected)
    return found


def parse_phase(text: str) -> tuple[float, float | None]:
    """Read a phase angle in radian and its half-width: ``59.8 deg +/- 0.5 deg``, ``1.044 rad``.

    The half-width is None where none is written.

    Raises
    ------
    ReadingTextError
        When it is none, or not between -90 and 90 degrees.

    """
    expected = "a phase with its unit between -90 and 90 degrees, such as '59.8 deg'"
    found = _with_half(text, expected, _ANGLES.get)
    if abs(found[0]) > math.pi / 2:
        raise ReadingTextError(text, expected)
    return found


def _ampere(unit: str) -> float | None:
    name = unit_name(unit) if unit else None
    if name is None or not ureg.Quantity(1.0, name).is_compatible_with("ampere"):
        return None
    return float(ureg.Quantity(1.0, name).m_as("ampere"))


def _with_half(
    text: str, expected: str, factor_of: Callable[[str], float | None]
) -> tuple[float, float | None]:
    """Value and half-width, each with a unit that `factor_of` knows."""
    clean = tidy(text)
    parts = SPREAD.fullmatch(clean)
    pieces = [parts[1], parts[2]] if parts else [clean]
    values = []
    for piece in pieces:
        number = PLAIN.fullmatch(piece) if len(text) <= LONGEST_TEXT else None
        factor = None if number is None else factor_of(number[2])
        if number is None or factor is None:
            raise ReadingTextError(text, expected)
        values.append(split_number(number, clean)[0] * factor)
    half = values[1] if parts else None
    if half is not None and half <= 0:
        raise ReadingTextError(text, f"{expected}: nothing is known exactly")
    return values[0], half
