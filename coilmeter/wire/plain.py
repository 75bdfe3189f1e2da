"""Our own format: one number and its unit a line.

A line is a number, a unit with an SI prefix, and words that say more::

    234.5 ohm
    2.345 kohm hold lowbat
    -0.1 ohm rel
    OL 40 Mohm auto

``OL`` may name the end of its range, or only a unit; alone it is in ohms.  A number without
a unit is refused: what it measures would be a guess.  The words are ``auto``, ``manual``,
``hold``, ``rel``, ``lowbat``, ``max``, ``min`` and ``beep``; and ``dc`` or ``ac`` behind a
voltage or a current, ``diode`` behind a voltage, ``cont`` behind a resistance measured by
the beeper.

``mohm`` is milli-ohm here: a line is written by a machine, which does not mix up m and M.
"""

from __future__ import annotations

import math
import re
from typing import Final

from coilmeter.values import Flag, Function, Reading
from coilmeter.wire.contract import Display, Example, Facts, Format, SerialSettings
from coilmeter.wire.framing import LineDecoder, NoFrameError
from coilmeter.wire.scaling import UNIT_OF, check_flags, counts, decade, power_of_ten

_NUMBER: Final = r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))(?:[eE]([+-]?[0-9]{1,3}))?"
_VALUE: Final = re.compile(rf"\s*{_NUMBER}(?![.,0-9])(.*)", re.DOTALL)
_OVERLOAD: Final = re.compile(r"\s*([+-]?)OL(?=\s|$)(.*)", re.DOTALL)
_WORD: Final = re.compile(r"\S+")

_PREFIXES: Final = {
    **dict.fromkeys(("u", "\u00b5", "\u03bc"), -6),
    **dict.fromkeys(("k", "K"), 3),
} | {"": 0, "p": -12, "n": -9, "m": -3, "M": 6, "G": 9}
_LETTERS: Final = {exponent: letter for letter, exponent in _PREFIXES.items()} | {
    -6: "u",
    3: "k",
}
_SPELLINGS: Final = {
    **dict.fromkeys(("ohm", "ohms", "Ohm", "Ohms", "OHM", "\u03a9", "\u2126"), "ohm"),
    **dict.fromkeys(("V", "volt", "volts"), "V"),
    **dict.fromkeys(("A", "ampere", "amperes"), "A"),
    **dict.fromkeys(("F", "farad"), "F"),
    **dict.fromkeys(("H", "henry"), "H"),
    **dict.fromkeys(("Hz", "HZ", "hertz"), "Hz"),
}
_UNITS: Final = {
    prefix + spelling: (exponent, symbol)
    for spelling, symbol in _SPELLINGS.items()
    for prefix, exponent in _PREFIXES.items()
} | dict.fromkeys(("degC", "\u00b0C", "\u2103"), (0, "degC"))
_FUNCTION_OF: Final = {
    "ohm": Function.RESISTANCE,
    "V": Function.VOLTAGE,
    "A": Function.CURRENT,
    "F": Function.CAPACITANCE,
    "H": Function.INDUCTANCE,
    "Hz": Function.FREQUENCY,
    "degC": Function.TEMPERATURE,
}
_KIND_WORDS: Final = {
    ("V", "dc"): Function.DC_VOLTAGE,
    ("V", "ac"): Function.AC_VOLTAGE,
    ("V", "diode"): Function.DIODE,
    ("A", "dc"): Function.DC_CURRENT,
    ("A", "ac"): Function.AC_CURRENT,
    ("ohm", "cont"): Function.CONTINUITY,
}
_FLAG_WORDS: Final = {
    "auto": Flag.AUTO,
    "manual": Flag.MANUAL,
    "hold": Flag.HOLD,
    "rel": Flag.RELATIVE,
    "lowbat": Flag.LOW_BATTERY,
    "max": Flag.MAXIMUM,
    "min": Flag.MINIMUM,
    "beep": Flag.BEEP,
}
_WRITTEN_AS: Final = {
    **{function: (symbol, "") for symbol, function in _FUNCTION_OF.items()},
    **{function: (symbol, word) for (symbol, word), function in _KIND_WORDS.items()},
}


def _understand(raw: bytes) -> Reading:
    """Read one line."""
    try:
        line = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise NoFrameError(
            f"byte {error.start} is {raw[error.start]:02X}, expected ASCII or UTF-8 text"
        ) from error
    number = _VALUE.fullmatch(line)
    if number is not None:
        words = _words(line, number.start(3))
        if not words:
            raise NoFrameError("a number without a unit: what it measures is not known")
        symbol_exponent, symbol = _unit(line, *words[0])
        value, exponent = _value(number, symbol_exponent)
        function, flags = _said(line, words[1:], symbol)
        return Reading(
            function=function,
            value=value,
            unit=UNIT_OF[function],
            resolution=power_of_ten(exponent),
            flags=flags,
            raw=raw,
            display=f"{number[0][: number.start(3)].strip()} "
            f"{_LETTERS[symbol_exponent]}{symbol}",
        )
    overload = _OVERLOAD.fullmatch(line)
    if overload is None:
        raise NoFrameError("begins neither with a number (decimal point, no comma) nor with OL")
    words = _words(line, overload.start(2))
    full_scale, symbol, used, shown = _range(line, words)
    function, flags = _said(line, words[used:], symbol)
    sign = overload[1].strip("+")
    return Reading(
        function=function,
        value=None,
        unit=UNIT_OF[function],
        overload=True,
        full_scale=full_scale,
        flags=flags | {Flag.NEGATIVE} if sign else flags,
        raw=raw,
        display=" ".join(part for part in (f"{sign}OL", shown) if part),
    )


def _words(line: str, start: int) -> list[tuple[str, int]]:
    """Split off the words from a place on, each with the place where it begins."""
    return [(word[0], word.start()) for word in _WORD.finditer(line, start)]


def _at(line: str, place: int) -> str:
    return f"at byte {len(line[:place].encode())}"


def _unit(line: str, word: str, place: int) -> tuple[int, str]:
    """Look up exponent of the prefix, and the unit's symbol."""
    if word not in _UNITS:
        raise NoFrameError(f"{word[:20]!r} {_at(line, place)} is no unit with an SI prefix")
    return _UNITS[word]


def _value(number: re.Match[str], unit_exponent: int) -> tuple[float, int]:
    """Value in the SI unit, and exponent of its last digit."""
    exponent = int(number[2] or 0) + unit_exponent
    value = float(f"{number[1]}e{exponent}")
    last_digit = exponent - len(number[1].partition(".")[2])
    if not (math.isfinite(value) and power_of_ten(last_digit) > 0):
        raise NoFrameError(f"{number[1][:20]!r} is no number a meter shows")
    return value + 0.0, last_digit


def _range(line: str, words: list[tuple[str, int]]) -> tuple[float | None, str, int, str]:
    """End of the range behind OL, unit, how many words they took, and how it is shown."""
    if not words or words[0][0] in _FLAG_WORDS or words[0][0] == "cont":
        return None, "ohm", 0, ""
    number = _VALUE.fullmatch(line, words[0][1])
    if number is None:
        exponent, symbol = _unit(line, *words[0])
        return None, symbol, 1, _LETTERS[exponent] + symbol
    rest = _words(line, number.start(3))
    if not rest:
        raise NoFrameError("the range behind OL has no unit")
    exponent, symbol = _unit(line, *rest[0])
    full_scale, _ = _value(number, exponent)
    if full_scale <= 0:
        raise NoFrameError(f"a range cannot end at zero or below, {_at(line, words[0][1])}")
    shown = line[words[0][1] : number.start(3)].strip()
    return (
        full_scale,
        symbol,
        len(words) - len(rest) + 1,
        f"{shown} {_LETTERS[exponent]}{symbol}",
    )


def _said(
    line: str, words: list[tuple[str, int]], symbol: str
) -> tuple[Function, frozenset[Flag]]:
    """Look up what the words behind a unit tell: function and flags."""
    function = _FUNCTION_OF[symbol]
    plain = function
    flags: set[Flag] = set()
    for word, place in words:
        if word in _FLAG_WORDS:
            flags.add(_FLAG_WORDS[word])
        elif (symbol, word) in _KIND_WORDS and function is plain:
            function = _KIND_WORDS[symbol, word]
        else:
            raise NoFrameError(f"{word[:20]!r} {_at(line, place)} is not understood there")
    if {Flag.AUTO, Flag.MANUAL} <= flags:
        raise NoFrameError("auto and manual stand together")
    return function, frozenset(flags)


def _encode(display: Display) -> bytes:
    if display.function not in _WRITTEN_AS:
        raise ValueError(f"plain has no unit for {display.function}")
    symbol, kind = _WRITTEN_AS[display.function]
    check_flags(display.flags, shows_minus=display.overload or display.value < 0)
    if not (math.isfinite(display.full_scale) and display.full_scale > 0):
        raise ValueError(f"a range cannot end at {display.full_scale}")
    size = math.floor(math.log10(display.full_scale) + 1e-9)
    prefix = 0 if symbol == "degC" else min(max(size - size % 3, -12), 9)
    unit = _LETTERS[prefix] + symbol
    words = [word for word, flag in _FLAG_WORDS.items() if flag in display.flags]
    if display.overload:
        sign = "-" if Flag.NEGATIVE in display.flags else ""
        number = f"{sign}OL {_shortest(display.full_scale, prefix)}"
    else:
        number = _digits(display, prefix)
    return (" ".join([number, unit, *([kind] if kind else []), *words]) + "\r\n").encode()


def _shortest(value: float, prefix: int) -> str:
    """Write the fewest digits that read back as the same number, in units of the prefix."""
    return f"{value / power_of_ten(prefix):.12g}"


def _digits(display: Display, prefix: int) -> str:
    exponent = decade(display.resolution)
    shown = counts(display.value, exponent)
    decimals = prefix - exponent
    if decimals < 0:
        return f"{shown}e{-decimals}"
    digits = f"{abs(shown):0{decimals + 1}d}"
    point = len(digits) - decimals
    sign = "-" if shown < 0 else ""
    return sign + (f"{digits[:point]}.{digits[point:]}" if decimals else digits)


_BASIS: Final = "defined by this project"


def _example(
    text: str,
    value: float | None,
    function: Function = Function.RESISTANCE,
    flags: frozenset[Flag] = frozenset(),
) -> Example:
    return Example(text.encode(), _BASIS, function, value, value is None, flags)


def _bad(raw: bytes, why: str) -> Example:
    return Example(raw, f"{_BASIS}; {why}", valid=False)


class _Plain:
    """The format, as `coilmeter.wire.contract.Format` describes one."""

    name = "plain"
    settings = SerialSettings(baud=9600)
    facts = Facts(
        title="one number and its unit a line, for home-made instruments and for scripts",
        starts="the instrument, whenever it has something to say",
        tells="function, value, last digit, end of the range of an overload, flags by words",
        cannot_tell="full scale of a number; carries no check sum; a line that lost its "
        "beginning may look like a whole one, so that the first after opening is refused",
        cut_shows=False,
    )
    examples = (
        _example("234.5 ohm\r\n", 234.5),
        _example("0.0 ohm\n", 0.0),
        _example("23.45 kohm\r", 23450.0),
        _example("2.345E+1 M\u03a9 auto\r\n", 23.45e6, flags=frozenset({Flag.AUTO})),
        _example("150 mohm\r\n", 0.15),
        _example("-0.1 \u2126 rel\r\n", -0.1, flags=frozenset({Flag.RELATIVE})),
        _example(
            "234.5ohm hold lowbat\r\n", 234.5, flags=frozenset({Flag.HOLD, Flag.LOW_BATTERY})
        ),
        _example("OL\r\n", None),
        _example("OL 40 Mohm\r\n", None),
        _example("12.3 ohm cont beep\r\n", 12.3, Function.CONTINUITY, frozenset({Flag.BEEP})),
        _example("-1.234 V dc\r\n", -1.234, Function.DC_VOLTAGE),
        _example("12.3 mV ac\r\n", 0.0123, Function.AC_VOLTAGE),
        _example("47 mH\r\n", 0.047, Function.INDUCTANCE),
        _bad(b"234.5\r\n", "no unit"),
        _bad(b"234,5 ohm\r\n", "a comma may be a decimal point or part thousands off"),
        _bad(b"nan ohm\r\n", "not a number"),
        _bad(b"234.5 \xffohm\r\n", "no UTF-8"),
        _bad(b"234.5 M\r\n", "a prefix alone"),
    )

    def decoder(self) -> LineDecoder:
        """Make a decoder for one stream."""
        return LineDecoder(_understand)

    def encode(self, display: Display) -> bytes:
        """Make the line for what is shown.

        Raises
        ------
        ValueError
            When there is no unit for it, or its resolution is no power of ten.

        """
        return _encode(display)


FORMAT: Final[Format] = _Plain()
