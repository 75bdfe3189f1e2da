"""Bench meters that answer a line and then send a prompt.

A reply is a number with sign and exponent, alone (format 1) or with a blank and its unit
(format 2), and CR LF; the prompt ``=>`` and CR LF follow.  Continuity and diode are told as
DC volts.  Over-range is the number 9.99999E+9 with either sign, which a printed line shows
with ``,>OHM`` behind it; 1E+9 on others (from memory, not verified).  Errors are numbers
from 1E+21 on: 1.0071E+21 is error 71.

The prompt stands before the next reply and belongs to its bytes, as long as that comes; any
other prompt is refused.  Source of each frame: header of ``reference_data/wire_frames.csv``.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from coilmeter.values import Flag, Function, Reading
from coilmeter.wire.contract import Display, Example, Facts, SerialSettings
from coilmeter.wire.dialogue import Dialogue, PolledFormat
from coilmeter.wire.framing import NoFrameError
from coilmeter.wire.reply_lines import ReplyDecoder
from coilmeter.wire.scaling import UNIT_OF, check_flags, counts, decade
from coilmeter.wire.shown import value_text

_PROMPT: Final = b"=>\r\n"
_REPLY: Final = re.compile(
    rb"(?:=>\r\n)*([+-][0-9]+(?:\.[0-9]+)?E[+-][0-9]{1,2})(?: ([A-Z]{2,4})|,>([A-Z]{2,4}))?\r\n"
)
_UNITS: Final = {
    b"OHMS": Function.RESISTANCE,
    b"OHM": Function.RESISTANCE,
    b"VDC": Function.DC_VOLTAGE,
    b"VAC": Function.AC_VOLTAGE,
    b"ADC": Function.DC_CURRENT,
    b"AAC": Function.AC_CURRENT,
    b"HZ": Function.FREQUENCY,
}
_WRITTEN_AS: Final = {function: unit for unit, function in _UNITS.items() if unit != b"OHM"}
_OVER_RANGE: Final = frozenset({9.99999e9, 1e9})
_TOO_LARGE: Final = 1e9
_ERRORS_FROM: Final = 1e21


def _understand(raw: bytes) -> Sequence[Reading]:
    """Read one line, with the prompts before it."""
    line = raw.removesuffix(b"\r\n").rpartition(b"\n")[2]
    reply = _REPLY.fullmatch(raw)
    if reply is None:
        raise NoFrameError(_why_not(line, raw))
    unit = reply[2] or reply[3]
    if unit is not None and unit not in _UNITS:
        raise NoFrameError(f"{unit.decode()!r} is no unit of this format")
    function = Function.OTHER if unit is None else _UNITS[unit]
    value = float(reply[1])
    size = abs(value)
    if size >= _ERRORS_FROM:
        number = round((size / _ERRORS_FROM - 1) * 1e4)
        raise NoFrameError(f"the meter reports its error {number} in place of a reading")
    flags = frozenset({Flag.NEGATIVE} if value < 0 else ())
    overload = size in _OVER_RANGE
    mantissa = reply[1][1:].partition(b"E")[0]
    # what is left of an over-range number with a damaged exponent is no reading
    spoilt = size >= _TOO_LARGE or mantissa == b"9.99999" or b"." not in mantissa
    if not overload and (spoilt or reply[3] is not None):
        raise NoFrameError(f"{line[:40].decode()!r} is neither a reading nor over-range")
    sign = "-" if flags else ""
    name = value_text(0.0, function).partition(" ")[2]
    return [
        Reading(
            function,
            None if overload else value,
            UNIT_OF[function],
            overload,
            flags=flags,
            raw=raw,
            display=f"{sign}OL {name}".rstrip() if overload else value_text(value, function),
        )
    ]


def _why_not(line: bytes, raw: bytes) -> str:
    if line in {b"?>", b"!>"}:
        return f"the prompt {line.decode()}: the meter did not obey"
    if not raw.endswith(b"\r\n"):
        return f"no CR before the LF at byte {len(raw) - 1}"
    shown = line[:40].decode("ascii", "backslashreplace")
    return f"{shown!r} is no number with sign and exponent, alone or with a unit"


def _encode(display: Display) -> bytes:
    if display.function not in _WRITTEN_AS:
        raise ValueError(f"prompt has no unit for {display.function}")
    check_flags(display.flags, shows_minus=display.overload or display.value < 0)
    unit = _WRITTEN_AS[display.function]
    if display.overload:
        sign = b"-" if Flag.NEGATIVE in display.flags else b"+"
        return b"%b9.99999E+9 %b\r\n" % (sign, unit)
    exponent = decade(display.resolution)
    shown = counts(display.value, exponent)
    digits = str(abs(shown))
    power = len(digits) - 1 + exponent if shown else 0
    text = f"{digits[0]}.{digits[1:] or '0'}E{power:+d}"
    if abs(float(text)) >= _TOO_LARGE:
        raise ValueError(f"{display.value} is too large for a reading of this format")
    # with a digit more it is not spelt like over-range
    text = text.replace("9.99999E", "9.999990E")
    return b"%b%b %b\r\n" % (b"-" if shown < 0 else b"+", text.encode(), unit)


_BASIS: Final = "printed reply format, frame constructed; see reference_data/wire_frames.csv"
_PRINTED: Final = "printed; see reference_data/wire_frames.csv"


def _example(
    text: bytes,
    value: float | None,
    basis: str = _BASIS,
    function: Function = Function.RESISTANCE,
    flags: frozenset[Flag] = frozenset(),
) -> Example:
    return Example(text, basis, function, value, value is None, flags)


def _bad(raw: bytes, why: str, basis: str = _BASIS) -> Example:
    return Example(raw, f"{basis}; {why}", valid=False)


class _Prompt:
    """The format, as `coilmeter.wire.dialogue.PolledFormat` describes one."""

    name = "prompt"
    settings = SerialSettings(baud=9600)
    facts = Facts(
        title="bench meters that send a prompt after each answer",
        starts="the computer: FORMAT 2 once, then MEAS? for each reading, each after the "
        "prompt of the one before",
        tells="value, minus, overload; function and unit in format 2, which the computer asks "
        "for",
        cannot_tell="resolution, full scale, range, hold, relative; continuity and diode, "
        "which are told as DC volts. Carries no check sum: of the 128 single flipped bits of a "
        "reply of 234.5 ohm, 15 pass as another resistance. Two wires or four, and ohms, are "
        "chosen by the meter's keys. The prompts of a refusal, 1E+9 as over-range, 9600 baud "
        "are from memory, not verified.",
        flags=frozenset({Flag.NEGATIVE}),
        lookalikes=("scpi: its numbers read as readings without a function here",),
    )
    dialogue = Dialogue(
        query="MEAS?",
        setup=("FORMAT 2",),
        prompt="=>",
        refusals=("?>", "!>"),
    )
    four_wire: Dialogue | None = None
    ac_volts: PolledFormat | None = None
    examples = (
        _example(b"+1.2345E+0\r\n", 1.2345, _PRINTED, Function.OTHER),
        _example(b"+1.2345E+3 OHMS\r\n", 1234.5),
        _example(b"=>\r\n+1.2345E+3 OHMS\r\n", 1234.5),
        _example(b"-1.2E-1 OHMS\r\n", -0.12, flags=frozenset({Flag.NEGATIVE})),
        _example(b"+9.99999E+9\r\n", None, _PRINTED, Function.OTHER),
        _example(b"+9.99999E+9,>OHM\r\n", None),
        _example(
            b"-9.99999E+9 VDC\r\n",
            None,
            function=Function.DC_VOLTAGE,
            flags=frozenset({Flag.NEGATIVE}),
        ),
        _bad(b"+1.0071E+21\r\n", "error 71 as a number", _PRINTED),
        _bad(b"?>\r\n", "the prompt of a command that was not understood"),
        _bad(b"1.2345E+3 OHMS\r\n", "no sign: its beginning is missing"),
        _bad(b"+1.2345E+3 OHMS\n", "no CR"),
    )

    def decoder(self) -> ReplyDecoder:
        """Make a decoder for one stream."""
        return ReplyDecoder(_understand, _PROMPT)

    def encode(self, display: Display) -> bytes:
        """Make the reply of format 2 for what is shown, without the prompt behind it.

        Raises
        ------
        ValueError
            When there is no unit for it, or it is too large.

        """
        return _encode(display)


FORMAT: Final[PolledFormat] = _Prompt()
