"""Other texts than a reading: ranges, leads, temperatures, and quantities with a unit."""

from __future__ import annotations

import math
import re
from typing import Final

from coilmeter.errors import ReadingTextError
from coilmeter.units.registry import Quantity, ohms, ureg
from coilmeter.units.text import (
    LONGEST_TEXT,
    NUMBER,
    PLAIN,
    Form,
    as_float,
    parse_reading,
    resistance_factor,
    split_number,
    tidy,
    unit_name,
    within_reach,
)

_SPREAD: Final = re.compile(rf"({NUMBER})\s*(?:\+/-|\+-|±)\s*({NUMBER})\s*(.*)")
MEASURED_DEGC: Final = (-40.0, 120.0)
"""Nobody measures a head outside."""

_DEGC: Final = frozenset({"", "C", "°C", "degC", "℃"})


def parse_range_end(text: str) -> float:
    """Read the end of a range in ohm: ``400 ohm``, ``40 Mohm``; infinity for ``auto``.

    Raises
    ------
    ReadingTextError
        When it is neither.

    """
    if text.strip().lower() == "auto":
        return math.inf
    expected = "the end of a range, such as '400 ohm' or '40 Mohm', or 'auto'"
    try:
        end = parse_reading(text)
    except ReadingTextError as error:
        raise ReadingTextError(text, expected, error.hint) from error
    if end.form is not Form.NUMBER or not end.ohm or end.ohm < 0:
        raise ReadingTextError(text, expected)
    if end.text[-1].isdecimal():
        raise ReadingTextError(text, f"{expected}, with its unit")
    return end.ohm


def parse_quantity(text: str, unit: str) -> Quantity:
    """Read one number with an SI prefix and a unit, as a quantity of the dimension of `unit`.

    Raises
    ------
    ReadingTextError
        When the text is not one number with such a unit.  A bare number is refused: which
        unit was meant is not for the program to guess.

    """
    clean = tidy(text)
    expected = f"a number with a unit, such as '1.5 {unit}'"
    number = PLAIN.fullmatch(clean) if len(text) <= LONGEST_TEXT else None
    if number is None or not number[2]:
        raise ReadingTextError(text, expected)
    value, _, unit_text = split_number(number, clean)
    name = unit_name(unit_text) if unit_text else None
    if name is None or not ureg.Quantity(1.0, name).is_compatible_with(unit):
        raise ReadingTextError(text, expected)
    return ureg.Quantity(value, name).to(unit)


def parse_with_spread(text: str) -> tuple[float, float | None, str]:
    """Read ``0.2 +/- 0.05 ohm`` as number, half-width (None where not written), unit text.

    Raises
    ------
    ReadingTextError
        When the text is not of that shape.

    """
    clean = tidy(text)
    spread = _SPREAD.fullmatch(clean) if len(text) <= LONGEST_TEXT else None
    if spread is not None:
        return as_float(spread[1], clean), abs(as_float(spread[2], clean)), spread[3]
    plain = PLAIN.fullmatch(clean) if len(text) <= LONGEST_TEXT else None
    if plain is None:
        raise ReadingTextError(text, "one number, or a number +/- its half-width")
    return as_float(plain[1], clean), None, plain[2]


def parse_resistance_with_spread(text: str) -> tuple[Quantity, Quantity | None]:
    """Read a lead resistance such as ``0.2 ohm``, ``150 mohm`` or ``0.2 +/- 0.05 ohm``.

    Raises
    ------
    ReadingTextError
        When it is not a resistance.

    """
    value, half_width, unit = parse_with_spread(text)
    factor = resistance_factor(unit, text, milli=True)
    if factor is None:
        raise ReadingTextError(text, "a resistance, such as '0.2 ohm' or '0.2 +/- 0.05 ohm'")
    spread = None if half_width is None else ohms(within_reach(half_width, factor, text))
    return ohms(within_reach(value, factor, text)), spread


def parse_temperature(text: str) -> tuple[Quantity, Quantity | None]:
    """Read a temperature in degree Celsius: ``23``, ``23 degC``, ``23 +/- 2 °C``.

    Returns the temperature and its half-width (a difference, in kelvin; None where it was
    not written).

    Raises
    ------
    ReadingTextError
        When it is not a temperature between -40 and 120 degC: no head is measured outside.

    """
    expected = "a temperature in degree Celsius, such as '23' or '23 +/- 2 degC'"
    value, half_width, unit = parse_with_spread(text)
    lowest, highest = MEASURED_DEGC
    if unit.replace(" ", "") not in _DEGC or not lowest <= value <= highest:
        raise ReadingTextError(text, expected)
    spread = None if half_width is None else ureg.Quantity(half_width, "kelvin")
    return ureg.Quantity(value, "degC"), spread
