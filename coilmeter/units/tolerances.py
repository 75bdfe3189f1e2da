"""A resistor's value with its tolerance, as people and colour-free codes write them."""

from __future__ import annotations

import re
from typing import Final

from coilmeter.errors import ReadingTextError
from coilmeter.units.text import LONGEST_TEXT, PLAIN, Form, ReadingText, parse_reading, tidy

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
SPREAD: Final = re.compile(r"(.*?)\s*(?:\+/-|\+-|\u00b1)\s*(.*)")
"""What is written before and behind the sign of a half-width."""

_PERCENT: Final = re.compile(r"([0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)\s*(?:%|percent)")
_BARE: Final = re.compile(r"[\d.,]+")
_BARE_PERCENT: Final = re.compile(r"(.+?)\s+(\S+\s*(?:%|percent))")
_LETTER: Final = re.compile(
    r"(.*[^\d\s])\s+([A-Z])|(.*?\d*[RKMLG]\d+|\d+R)\s*([A-Z])", re.IGNORECASE
)


def parse_with_tolerance(text: str) -> tuple[float, float]:
    """Read a resistance that must have a tolerance.

    Parameters
    ----------
    text
        As for `parse_resistor`.

    Returns
    -------
    tuple
        The nominal value in ohm, and the tolerance as a fraction.

    Raises
    ------
    ReadingTextError
        When it is not of that shape, has no tolerance, or one above one half.

    """
    ohm, half, _ = parse_resistor(text)
    if half is None or half / ohm > WIDEST:
        raise ReadingTextError(text, _EXPECTED)
    return ohm, half / ohm


def parse_resistor(text: str) -> tuple[float, float | None, float]:
    """Read a resistor: its value, and what is known of its tolerance.

    Parameters
    ----------
    text
        ``220 ohm 1%``, ``4k7 +/- 0.5 %``, ``9.98 +/- 0.02 kohm``, ``220R F``, ``4k7J`` or
        ``10 kohm``.  A single letter behind a bare number is a prefix and never a tolerance:
        ``10K`` is 10 kohm.

    Returns
    -------
    tuple
        The value, the half-width (None where none is written) and what the last digit of the
        value is worth, all in ohm.

    Raises
    ------
    ReadingTextError
        When it is no resistance above zero, with or without a tolerance above nothing and
        below the value.

    """
    clean = tidy(text)
    spread = SPREAD.fullmatch(clean)
    percent, letter = _BARE_PERCENT.fullmatch(clean), _LETTER.fullmatch(clean)
    if len(text) > LONGEST_TEXT:
        raise ReadingTextError(text, _EXPECTED)
    if spread is not None:
        value, half = _with_spread(text, spread[1], spread[2])
    elif percent is not None:
        value = _value(text, percent[1])
        half = _share(text, percent[2]) * (value.ohm or 0.0)
    elif letter is not None:
        value = _value(text, letter[1] or letter[3])
        half = _of_letter(text, letter[2] or letter[4]) * (value.ohm or 0.0)
    else:
        value = _value(text, clean)
        return value.ohm or 0.0, None, value.step_ohm or 0.0
    ohm = value.ohm or 0.0
    if half <= 0:
        raise ReadingTextError(text, f"{_EXPECTED}: nothing is known exactly")
    if half >= ohm:
        raise ReadingTextError(text, f"{_EXPECTED}: this one is as large as the value")
    return ohm, half, value.step_ohm or 0.0


def _with_spread(text: str, base: str, width: str) -> tuple[ReadingText, float]:
    """Read a value, and its half-width in ohm or per cent."""
    plain = PLAIN.fullmatch(width)
    if plain is None or _PERCENT.fullmatch(width):
        value = _value(text, base)
        return value, _share(text, width) * (value.ohm or 0.0)
    if not plain[2]:
        hint = f"write '+/- {width} %', or the unit behind {width}: it may be either."
        raise ReadingTextError(text, _EXPECTED, hint)
    if _BARE.fullmatch(base):
        base += f" {plain[2]}"  # the unit stands behind both
    return _value(text, base), _value(text, width).ohm or 0.0


def _of_letter(text: str, letter: str) -> float:
    if letter.upper() not in LETTERS:
        letters = ", ".join(LETTERS)
        raise ReadingTextError(text, _EXPECTED, f"the letters of tolerances are {letters}.")
    return LETTERS[letter.upper()] / 100


def _value(text: str, part: str) -> ReadingText:
    try:
        reading = parse_reading(part)
    except ReadingTextError as error:
        # Of what else a reading may be, only milli against mega concerns a resistor.
        hint = error.hint if "milli" in error.hint else ""
        raise ReadingTextError(text, _EXPECTED, hint) from error
    if reading.form is not Form.NUMBER or reading.ohm is None or reading.ohm <= 0:
        raise ReadingTextError(text, _EXPECTED)
    return reading


def _share(text: str, part: str) -> float:
    percent = _PERCENT.fullmatch(part)
    if percent is None:
        raise ReadingTextError(text, _EXPECTED)
    return float(percent[1].replace(",", ".")) / 100
