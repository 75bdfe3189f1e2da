"""Lines that begin with a word for the function, and end in CR LF.

A line is an event digit and a blank, or neither; the function, a blank, sign or blank, the
number, a blank and its unit, and a blank before the line end::

    2 OHM  1.2345 Kohm
    2 DCV -1.2345 mV
    1 DCV 12.345 mV HIGH 10.000 11.000

The digit 1 says that a button is held down, 2 is a reading, and 3 tells of a key.  Limits
of a comparison may follow the unit.  One function is a current source: its line says what
goes out of the meter.

The source describes the minus as 2E, which is the point; its own examples have 2D, which is
read here.  What stands in place of the number at over-range was not found: ``OL`` is assumed.
Source of each frame: header of ``reference_data/wire_frames.csv``.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from coilmeter.values import Flag, Function, Reading
from coilmeter.wire.contract import Display, Example, Facts, Format, SerialSettings
from coilmeter.wire.framing import NoFrameError
from coilmeter.wire.reply_lines import ReplyDecoder
from coilmeter.wire.scaling import UNIT_OF, check_flags, counts, decade, power_of_ten, scaled
from coilmeter.wire.shown import LETTERS, SYMBOL_OF, digits_text, prefix_of

_LINE: Final = re.compile(
    r"(?:[12] )?([A-Z]{3}) {1,2}(-?)(?:([0-9]+)(?:\.([0-9]+))?|OL) ([A-Za-z]+) ?"
    r"(?:[A-Z]+ -?[0-9.]+ -?[0-9.]+ ?)?\r\n"
)
_SOURCE: Final = re.compile(r"(?:[12] )?mA [0-9] [+-] ([0-9]+\.[0-9]+)mA [+-] [0-9.]+ ?\r\n")
_KEY: Final = re.compile(r"3 .*\r\n", re.DOTALL)

_OHMS: Final = {"Ohm": 0, "Kohm": 3, "Mohm": 6}
_VOLTS: Final = {"V": 0, "mV": -3}
_AMPERES: Final = {"A": 0, "mA": -3, "uA": -6}
_WORDS: Final = {
    "OHM": (Function.RESISTANCE, _OHMS),
    "BEP": (Function.CONTINUITY, _OHMS),
    "DIO": (Function.DIODE, _VOLTS),
    "DCV": (Function.DC_VOLTAGE, _VOLTS),
    "ACV": (Function.AC_VOLTAGE, _VOLTS),
    "DCA": (Function.DC_CURRENT, _AMPERES),
    "ACA": (Function.AC_CURRENT, _AMPERES),
    "CAP": (Function.CAPACITANCE, {"mF": -3, "uF": -6}),
    "IND": (Function.INDUCTANCE, {"mH": -3}),
    "FRQ": (Function.FREQUENCY, {"Khz": 3, "Hz": 0}),
    # its unit is not printed; C for degree Celsius is assumed
    "TMP": (Function.TEMPERATURE, {"C": 0}),
}
"""Function of each word, and the units it may have with their powers of ten."""


def _understand(raw: bytes) -> Sequence[Reading]:
    """Read one line."""
    try:
        line = raw.decode("ascii")
    except UnicodeDecodeError as error:
        raise NoFrameError(
            f"byte {error.start} is {raw[error.start]:02X}, expected ASCII"
        ) from error
    found = _LINE.fullmatch(line)
    if found is None:
        return [_current_source(line, raw)]
    word, sign, whole, decimals, unit = found.groups(default="")
    if word not in _WORDS:
        raise NoFrameError(f"{word!r} is no function of this format")
    function, units = _WORDS[word]
    if unit not in units:
        raise NoFrameError(f"{unit[:12]!r} is no unit of {word}, expected {', '.join(units)}")
    flags = frozenset({Flag.NEGATIVE} if sign else ())
    if not whole:
        return [
            Reading(
                function,
                None,
                UNIT_OF[function],
                overload=True,
                flags=flags,
                raw=raw,
                display=f"{sign}OL {unit}",
            )
        ]
    exponent = units[unit] - len(decimals)
    return [
        Reading(
            function,
            scaled(int(sign + whole + decimals), exponent),
            UNIT_OF[function],
            resolution=power_of_ten(exponent),
            flags=flags,
            raw=raw,
            display=f"{sign}{whole}{'.' if decimals else ''}{decimals} {unit}",
        )
    ]


def _current_source(line: str, raw: bytes) -> Reading:
    """Read the line of the current source: what the meter gives, and nothing it measures."""
    found = _SOURCE.fullmatch(line)
    if found is None:
        raise NoFrameError(_why_not(line))
    return Reading(
        Function.OTHER,
        float(found[1]) / 1e3,
        "ampere",
        raw=raw,
        display=f"{found[1]} mA given out",
    )


def _why_not(line: str) -> str:
    if not line.endswith("\r\n"):
        return f"no CR before the LF at byte {len(line) - 1}"
    if _KEY.fullmatch(line):
        return "a key of the meter was pressed: no reading"
    return f"{line.strip()[:30]!r} is no function word, number and unit"


_UNIT_WRITTEN: Final = {
    function: (word, {power: unit for unit, power in units.items()})
    for word, (function, units) in _WORDS.items()
}


def _encode(display: Display) -> bytes:
    if display.function not in _UNIT_WRITTEN:
        raise ValueError(f"words has no function word for {display.function}")
    word, units = _UNIT_WRITTEN[display.function]
    check_flags(display.flags, shows_minus=display.overload or display.value < 0)
    exponent = decade(display.resolution)
    # the prefix of the range, or the next that this format has a unit for
    wanted = prefix_of(max(display.full_scale, display.resolution))
    prefix = min(
        (power for power in units if power >= exponent),
        key=lambda power: (abs(power - wanted), power),
        default=None,
    )
    if prefix is None:
        raise ValueError(f"{LETTERS[wanted]}{SYMBOL_OF[display.function]} is no unit of {word}")
    if display.overload:
        minus, number = Flag.NEGATIVE in display.flags, "OL"
    else:
        shown, decimals = counts(display.value, exponent), prefix - exponent
        whole = len(str(int(display.full_scale / power_of_ten(prefix))))
        minus, number = shown < 0, digits_text(abs(shown), decimals, whole + decimals)
    return f"2 {word} {'-' if minus else ' '}{number} {units[prefix]} \r\n".encode()


_BASIS: Final = "printed line format, frame constructed; see reference_data/wire_frames.csv"
_PRINTED: Final = "printed; see reference_data/wire_frames.csv"
_MINUS: Final = frozenset({Flag.NEGATIVE})


def _example(
    text: bytes,
    value: float | None,
    function: Function = Function.RESISTANCE,
    flags: frozenset[Flag] = frozenset(),
    basis: str = _BASIS,
) -> Example:
    return Example(text, basis, function, value, value is None, flags)


def _bad(raw: bytes, why: str) -> Example:
    return Example(raw, f"{_BASIS}; {why}", valid=False)


class _Words:
    """The format, as `coilmeter.wire.contract.Format` describes one."""

    name = "words"
    settings = SerialSettings(baud=19200)
    facts = Facts(
        title="lines with a word for the function, streamed by hand-held meters",
        starts="the meter; when, is not printed",
        tells="function, value, last digit, minus, and a line for each key pressed",
        cannot_tell="full scale, automatic or manual range, hold, relative, low battery, range "
        "of an overload. Carries no check sum: of the 152 single flipped bits of a line "
        "reading 234.5 ohm, 12 pass as another resistance. The text of an overload is assumed "
        "to be OL, and the unit of a temperature to be C.",
        flags=_MINUS,
    )
    examples = (
        _example(b"2 OHM  000.00 Ohm \r\n", 0.0),
        _example(b"2 OHM  1.2345 Kohm \r\n", 1234.5),
        _example(b"2 OHM  1.2345 Mohm \r\n", 1.2345e6),
        _example(b"OHM  123.45 Ohm \r\n", 123.45),
        _example(b"2 OHM  OL Mohm \r\n", None, basis=f"{_BASIS}; over-range text assumed"),
        _example(b"2 BEP  012.3 Ohm \r\n", 12.3, Function.CONTINUITY),
        _example(b"2 DCV -1.2345 mV \r\n", -0.0012345, Function.DC_VOLTAGE, _MINUS, _PRINTED),
        _example(
            b"1 DCV 12.345 mV HIGH 10.000 11.000 \r\n",
            0.012345,
            Function.DC_VOLTAGE,
            basis=_PRINTED,
        ),
        _bad(b"2 OHM  12?.45 Ohm \r\n", "no digit"),
        _bad(b"2 XXX  123.45 Ohm \r\n", "no such function"),
        _bad(b"2 OHM  123.45 mV \r\n", "no unit of ohms"),
        _bad(b"2 OHM  123.45 Ohm \n", "no CR"),
        _bad(b"3 HOLD \r\n", "a key, no reading"),
    )

    def decoder(self) -> ReplyDecoder:
        """Make a decoder for one stream."""
        return ReplyDecoder(_understand)

    def encode(self, display: Display) -> bytes:
        """Make the line for what is shown.

        Raises
        ------
        ValueError
            When there is no function word, or no unit that shows its last digit.

        """
        return _encode(display)


FORMAT: Final[Format] = _Words()
