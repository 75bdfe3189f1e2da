"""Text to quantity and back, strictly.

Text is matched by this module's own grammar first; pint is only ever handed the name of a
unit.  That keeps out what a general registry would do with a bench user's text: read
``1,2 kohm`` as twelve kilo-ohm, ``220 R`` as gas constants, or evaluate ``9**9**9 ohm``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import Final

from coilmeter.errors import ReadingTextError
from coilmeter.units.registry import Quantity, ohms, ureg

LONGEST_TEXT: Final = 80
LARGEST_OHM: Final = 1e12
"""No meter on a bench reads more; a larger number is a slip of the pen."""

_MOST_EXPONENT: Final = 15
NUMBER: Final = r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
PLAIN: Final = re.compile(rf"({NUMBER})\s*(.*)")
_THOUSANDS: Final = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}")
_LETTER_CODE: Final = re.compile(r"([0-9]*)([LRKMGrkmg])([0-9]*)")
_OVERLOAD: Final = re.compile(r"(?:[O0]L\.?|[O0]\.L|\.[O0]L)(?=$|[\s(>])(.*)", re.IGNORECASE)
_SOUND: Final = re.compile(r"(beep|silent)(?=$|[\s(<>])(.*)", re.IGNORECASE)
_LETTER_FACTOR: Final = {"L": 1e-3, "R": 1.0, "K": 1e3, "M": 1e6, "G": 1e9}
_UNIT_SPELLINGS: Final = {
    **dict.fromkeys(("", "ohm", "ohms", "Ohm", "Ohms", "OHM", "OHMS", "Ω", "R"), "ohm"),
    **dict.fromkeys(("V", "volt", "volts"), "volt"),
    **dict.fromkeys(("A", "ampere", "amperes"), "ampere"),
    **dict.fromkeys(("Hz", "hertz"), "hertz"),
    **dict.fromkeys(("H", "henry"), "henry"),
    **dict.fromkeys(("F", "farad"), "farad"),
    **dict.fromkeys(("s", "second", "seconds"), "second"),
}
_PREFIXES: Final = {"n": "n", "u": "u", "µ": "u", "μ": "u", "m": "m", "k": "k", "K": "k"} | {
    "M": "M",
    "G": "G",
}
_PREFIXES_OF: Final = {"farad": {"p": "p"}}
"""Prefixes that one unit has besides: no other is so small on a bench, and a `p` before it
would be a slip of the pen."""

_WORDS: Final = {
    **dict.fromkeys(("kilohm", "kiloohm"), "kohm"),
    **dict.fromkeys(("meg", "megohm", "megaohm"), "Mohm"),
}
_ONE_READING: Final = (
    "one reading: a number in ohms (212.4, 1,2 kohm, 4k7), OL with its range "
    "(OL 40 Mohm), beep or silent"
)


class Form(StrEnum):
    """The forms a reading can be written in."""

    NUMBER = "number"
    OVERLOAD = "overload"
    BEEP = "beep"
    SILENT = "silent"


@dataclass(frozen=True, slots=True)
class ReadingText:
    """A reading as it was written.

    Parameters
    ----------
    form
        A number, an overload, or what a continuity beeper said.
    ohm
        The number in ohm; for an overload the end of the range, or None where it was not
        written; for beep and silent the beeper's threshold, or None where it was not written.
    step_ohm
        The value of the last digit written, in ohm; None where there is no number.
    text
        The text itself, trimmed.

    """

    form: Form
    ohm: float | None
    step_ohm: float | None
    text: str

    @property
    def quantity(self) -> Quantity | None:
        """The number as a quantity, None where none was written."""
        return None if self.ohm is None else ohms(self.ohm)


def tidy(text: str) -> str:
    """Trim, and replace the look-alikes that keyboards and meters produce.

    OHM SIGN U+2126 becomes GREEK CAPITAL OMEGA U+03A9, MINUS SIGN U+2212 becomes a hyphen,
    and the several blanks become one.
    """
    return " ".join(text.replace("\u2126", "\u03a9").replace("\u2212", "-").split())


def parse_reading(text: str, *, milli: bool = False) -> ReadingText:
    """Read one resistance reading as a bench user writes it.

    Parameters
    ----------
    text
        One number with a decimal point or comma, an optional SI prefix and an optional ohm
        unit; an IEC 60062 code such as ``4k7``; ``OL``, ``OL 400 ohm``; ``beep`` or
        ``silent``, with or without the threshold.
    milli
        Whether a milli-ohm is plausible here (a lead null).  Elsewhere ``m`` is refused:
        one letter lies between 0.01 ohm and 10 Mohm, and the reader must not choose.

    Raises
    ------
    ReadingTextError
        When the text is anything else, with what to write instead.

    Source: IEC 60062:2016+AMD1:2019 for the letter code.

    """
    if len(text) > LONGEST_TEXT:
        raise ReadingTextError(text, _ONE_READING)
    clean = tidy(text)
    number = PLAIN.fullmatch(clean)
    if number is not None:
        value, step, unit = split_number(number, clean)
        factor = resistance_factor(unit, clean, milli=milli)
        if factor == 1.0 and _THOUSANDS.fullmatch(number[1]):
            raise ReadingTextError(
                text,
                "a number that can be read one way only",
                f"write {number[1].replace(',', '.')} or {number[1].replace(',', '')}.",
            )
        if factor is not None:
            return ReadingText(
                Form.NUMBER, within_reach(value, factor, clean), step * factor, clean
            )
    overload = _OVERLOAD.fullmatch(clean)
    if overload is not None:
        return ReadingText(
            Form.OVERLOAD, _limit(overload[1], ">", clean, unit_needed=True), None, clean
        )
    sound = _SOUND.fullmatch(clean)
    if sound is not None:
        form = Form(sound[1].lower())
        sign = "<" if form is Form.BEEP else ">"
        return ReadingText(form, _limit(sound[2], sign, clean), None, clean)
    coded = _letter_code(clean, milli=milli)
    if coded is not None:
        return ReadingText(Form.NUMBER, *coded, clean)
    raise ReadingTextError(text, _ONE_READING, _advice(clean))


def as_float(text: str, whole: str) -> float:
    """Value of a matched number; `ReadingTextError` about `whole` past any display."""
    mantissa, _, exponent = text.lower().replace(",", ".").partition("e")
    if abs(int(exponent or 0)) > _MOST_EXPONENT:
        raise ReadingTextError(whole, "a finite number that a meter can show")
    return float(mantissa) * 10.0 ** int(exponent or 0)


def within_reach(value: float, factor: float, whole: str) -> float:
    """Value times factor, in ohm; `ReadingTextError` about `whole` past any meter."""
    if abs(value * factor) > LARGEST_OHM:
        raise ReadingTextError(whole, "a resistance that a meter can show, below 1e12 ohm")
    return value * factor


def split_number(match: re.Match[str], whole: str) -> tuple[float, float, str]:
    """Value, value of the last digit written, and what follows the number."""
    value = as_float(match[1], whole)
    mantissa, _, exponent = match[1].lower().partition("e")
    decimals = len(mantissa.replace(",", ".").partition(".")[2])
    return value, 10.0 ** (int(exponent or 0) - decimals), match[2]


@lru_cache(maxsize=256)
def unit_name(text: str) -> str | None:
    """Pint's name of the unit a user wrote, None when it is none."""
    text = _WORDS.get(text.lower().removesuffix("s"), text)
    if text in _UNIT_SPELLINGS:
        return _UNIT_SPELLINGS[text]
    letter, unit = text[0], _UNIT_SPELLINGS.get(text[1:].strip())
    if unit is None:
        return None
    prefix = _PREFIXES.get(letter) or _PREFIXES_OF.get(unit, {}).get(letter)
    return None if prefix is None else prefix + unit


@lru_cache(maxsize=256)
def _ohm_factor(unit: str) -> float | None:
    """Ohm in one of the unit written, None when it is not a resistance."""
    name = unit_name(unit)
    if name is None:
        return None
    one = ureg.Quantity(1.0, ureg.parse_units(name))
    return float(one.m_as("ohm")) if one.is_compatible_with("ohm") else None


def resistance_factor(unit: str, whole: str, *, milli: bool) -> float | None:
    """Ohm in one of the unit written, None when it is no unit of resistance.

    `ReadingTextError` about `whole` for a milli-ohm where none is plausible.
    """
    factor = _ohm_factor(unit)
    if factor is not None and factor < 1 and not milli:
        if unit_name(unit) != "mohm":
            raise ReadingTextError(whole, "ohm, kohm or Mohm", "write the value in ohm.")
        _ask_milli(whole)
    return factor


def _ask_milli(whole: str) -> None:
    raise ReadingTextError(
        whole,
        "ohm, kohm or Mohm",
        "'m' means milli, a thousandth, and may have been meant as mega: "
        "write Mohm for mega, or the small value in ohm (0.15 ohm).",
    )


def _letter_code(text: str, *, milli: bool) -> tuple[float, float] | None:
    """Value and last digit of an IEC 60062 code, None when the text is none."""
    code = _LETTER_CODE.fullmatch(text)
    if code is None or not (code[1] or code[3]):
        return None
    if code[2] == "m" and not milli:
        _ask_milli(text)
    factor = 1e-3 if code[2] == "m" else _LETTER_FACTOR[code[2].upper()]
    value = float(f"{code[1] or 0}.{code[3] or 0}")
    return within_reach(value, factor, text), factor * 10.0 ** -len(code[3])


def _limit(text: str, sign: str, whole: str, *, unit_needed: bool = False) -> float | None:
    """Resistance written behind OL, beep or silent; None where there is none.

    `sign` is the only one that may stand before it: an OL is never less than its range.
    """
    text = text.strip().removeprefix("(").removesuffix(")").strip().removeprefix(sign).strip()
    if not text:
        return None
    number = PLAIN.fullmatch(text)
    factor = None if number is None else resistance_factor(number[2], whole, milli=False)
    if number is None or factor is None or as_float(number[1], whole) <= 0:
        raise ReadingTextError(whole, "behind the word a resistance, such as 'OL 40 Mohm'")
    if unit_needed and not number[2]:
        raise ReadingTextError(
            whole,
            "a unit: ohm, kohm or Mohm",
            f"write '{number[1]} ohm' or '{number[1]} Mohm': much lies between them.",
        )
    return within_reach(as_float(number[1], whole), factor, whole)


def _advice(text: str) -> str:
    lowered = text.lower()
    if lowered in {"open", "inf", "infinity", "∞", "infinite"}:
        return "that is a verdict: write what the meter showed, OL and its range."
    if lowered in {"nan", "", "-", "?"}:
        return "leave the row out when nothing was read."
    return ""
