"""A resistor's value with its tolerance, as people and colour-free codes write them."""

from __future__ import annotations

import re
from typing import Final

from coilmeter.errors import ReadingTextError
from coilmeter.units.quantities import parse_resistance_with_spread
from coilmeter.units.text import Form, parse_reading, tidy

LETTERS: Final = {
    "E": 0.005,
    "L": 0.01,
    "P": 0.02,
    "W": 0.05,
    "B": 0.1,
    "C": 0.25,
    "D": 0.5,
    "F": 1.0,
    "G": 2.0,
    "J": 5.0,
    "K": 10.0,
    "M": 20.0,
}
"""Letters of symmetrical tolerances in per cent (IEC 60062:2016, table of tolerance letters;
transcribed from memory, not verified)."""

WIDEST: Final = 0.5
_EXPECTED: Final = (
    "a resistance with its tolerance: '220 ohm 1%', '4k7 +/- 0.5 %', '220.13 +/- 0.05 ohm', or "
    "with its letter, '220R F'"
)
_HALF_WIDTH: Final = re.compile(r"[^%]*(?:\+/-|\+-|\u00b1)[^%]*")
_PERCENT: Final = re.compile(r"(.+?)(?:\s*(?:\+/-|\u00b1)\s*|\s+)(\d+(?:[.,]\d+)?)\s*%")
_LETTER: Final = re.compile(
    r"(.*[^\d\s])\s+([A-Z])|(.*?\d*[RKMLG]\d+|\d+R)([A-Z])", re.IGNORECASE
)


def parse_with_tolerance(text: str) -> tuple[float, float]:
    """Read a resistance and its tolerance.

    Parameters
    ----------
    text
        ``220 ohm 1%``, ``4k7 +/- 0.5 %``, ``220.13 +/- 0.05 ohm``, ``220R F`` or ``4k7J``.
        A single letter behind a bare number is a prefix and never a tolerance: ``10K`` is
        10 kohm.

    Returns
    -------
    tuple
        The nominal value in ohm, and the tolerance as a fraction.

    Raises
    ------
    ReadingTextError
        When it is not of that shape, has no tolerance, or one of nothing or above one half.

    """
    clean = tidy(text)
    percent, letter = _PERCENT.fullmatch(clean), _LETTER.fullmatch(clean)
    if _HALF_WIDTH.fullmatch(clean):
        return _checked(text, *_with_half_width(text, clean))
    if percent is not None:
        value, tolerance = percent[1], float(percent[2].replace(",", ".")) / 100
    elif letter is not None:
        value = letter[1] or letter[3]
        tolerance = LETTERS.get((letter[2] or letter[4]).upper(), 0.0) / 100
    else:
        raise ReadingTextError(text, _EXPECTED)
    try:
        reading = parse_reading(value)
    except ReadingTextError as error:
        hint = error.hint if "milli" in error.hint else ""
        raise ReadingTextError(text, _EXPECTED, hint) from error
    if reading.form is not Form.NUMBER:
        raise ReadingTextError(text, _EXPECTED)
    return _checked(text, reading.ohm or 0.0, tolerance)


def _with_half_width(text: str, clean: str) -> tuple[float, float]:
    """Read a value that was measured: with its half-width in ohm."""
    try:
        value, half_width = parse_resistance_with_spread(clean)
    except ReadingTextError as error:
        raise ReadingTextError(text, _EXPECTED, error.hint) from error
    ohm = float(value.m_as("ohm"))
    half = 0.0 if half_width is None else float(half_width.m_as("ohm"))
    return ohm, half / ohm if ohm else 0.0


def _checked(text: str, ohm: float, tolerance: float) -> tuple[float, float]:
    if ohm <= 0 or not 0 < tolerance <= WIDEST:
        raise ReadingTextError(text, _EXPECTED)
    return ohm, tolerance
