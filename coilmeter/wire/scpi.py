"""Bench meters after SCPI-1999: asked with ``READ?``, answered with plain numbers.

A reply is one number or several with commas between them, in the forms NR1, NR2 and NR3 of
IEEE 488.2 (8.7.2 to 8.7.4, section numbers from memory), and an LF; serial meters put a CR
before it.  It carries no function and no unit: what it measures is what the meter was set
up for, here resistance by ``CONF:RES``.

Three numbers are none (SCPI-1999 volume 1, 7.2.1.4, section number from memory):
9.91E37 is NAN, 9.9E37 is over-range, and so is -9.9E37.  They are compared as numbers, NAN
first, because meters spell them with more or fewer digits.  At least one meter sends the
over-range number when a command went wrong, so that it is believed only after the error
queue was found empty: see `coilmeter.wire.conversation`.

Source of each frame: header of ``reference_data/wire_frames.csv``.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import Final

from coilmeter.values import Flag, Function, Reading
from coilmeter.wire.contract import Display, Example, Facts, SerialSettings
from coilmeter.wire.dialogue import Dialogue, PolledFormat, error_entry
from coilmeter.wire.framing import NoFrameError
from coilmeter.wire.reply_lines import ReplyDecoder
from coilmeter.wire.scaling import UNIT_OF, check_flags, counts, decade, scaled
from coilmeter.wire.shown import value_text

_NUMBER: Final = re.compile(rb"[+-]?[0-9]+(?:\.[0-9]+(?:E[+-][0-9]{1,3})?)?")
"""NR1, NR2 or NR3: whole, with a point, or with a point and an exponent."""

_NAN_FROM, _NAN_TO = 9.905e37, 9.915e37
_OVER_RANGE_FROM: Final = 9.8e37
_LARGEST_OHM: Final = 1e15
"""No meter reads more; a number between this and over-range has a damaged exponent."""

_SPECIAL: Final = "+9.90000000E+37"


def _understand(raw: bytes, function: Function = Function.RESISTANCE) -> Sequence[Reading]:
    """Read one line: one or more numbers of a function, or an entry of the error queue."""
    for place, byte in enumerate(raw):
        if byte > 0x7F:  # noqa: PLR2004 - ASCII ends there
            raise NoFrameError(
                f"byte {place} is {byte:02X}, expected ASCII: set the meter to 8 bits without "
                "parity"
            )
    entry = error_entry(raw)
    if entry is not None:
        return [Reading(Function.OTHER, float(entry.number), "", raw=raw, display=str(entry))]
    readings = []
    at = 0
    for part in raw.rstrip(b"\r\n").split(b","):
        following = at + len(part) + 1
        end = following if following < len(raw) - 1 else len(raw)
        readings.append(_one(part, raw[at:end], at, function))
        at = following
    return readings


def _one(part: bytes, raw: bytes, at: int, function: Function) -> Reading:
    """Read one number; `at` is its place in the line."""
    if _NUMBER.fullmatch(part) is None:
        raise NoFrameError(
            f"{part[:30].decode('ascii')!r} at byte {at} is no number of IEEE 488.2"
        )
    value = float(part)
    size = abs(value)
    flags = frozenset({Flag.NEGATIVE} if value < 0 else ())
    if _NAN_FROM <= size < _NAN_TO:
        return Reading(Function.OTHER, None, "", raw=raw, display="not a number")
    if _OVER_RANGE_FROM <= size < _NAN_FROM:
        shown = f"{'-' if flags else ''}OL {value_text(0.0, function).partition(' ')[2]}"
        return Reading(
            function,
            None,
            UNIT_OF[function],
            overload=True,
            flags=flags,
            raw=raw,
            display=shown,
        )
    if size > _LARGEST_OHM:
        raise NoFrameError(
            f"{value:g} {UNIT_OF[function]} at byte {at} is no reading of a meter"
        )
    return Reading(
        function,
        value,
        UNIT_OF[function],
        flags=flags,
        raw=raw,
        display=value_text(value, function),
    )


def _encode(display: Display, function: Function = Function.RESISTANCE) -> bytes:
    if display.function is not function:
        raise ValueError(
            f"a reply carries no function: it is {function.replace('_', ' ')} by the set-up"
        )
    check_flags(display.flags, shows_minus=display.overload or display.value < 0)
    if display.overload:
        minus = Flag.NEGATIVE in display.flags
        return (_SPECIAL.replace("+9", "-9") if minus else _SPECIAL).encode() + b"\r\n"
    exponent = decade(display.resolution)
    value = scaled(counts(display.value, exponent), exponent) or 0.0
    text = f"{value:+.8E}"
    if abs(value) > _LARGEST_OHM or abs(float(text) - value) > display.resolution * 1e-6:
        raise ValueError(f"nine digits are too few for {display.value} {UNIT_OF[function]}")
    return text.encode() + b"\r\n"


_BASIS: Final = "printed reply format, frame constructed; see reference_data/wire_frames.csv"


def _example(text: bytes, value: float | None, flags: frozenset[Flag] = frozenset()) -> Example:
    return Example(text, _BASIS, Function.RESISTANCE, value, value is None, flags)


def _bad(raw: bytes, why: str) -> Example:
    return Example(raw, f"{_BASIS}; {why}", valid=False)


_TWO_WIRE: Final = Dialogue(
    query="READ?",
    serial_setup=("SYST:REM",),
    setup=("*RST", "*CLS", "CONF:RES"),
    error_query="SYST:ERR?",
    autorange=True,
)
"""Reset first, which leaves the range to the meter, so that no null or statistics of before is
left on; then the error queue is emptied of what a meter without remote state says to the first
line."""


class _Scpi:
    """The format, as `coilmeter.wire.dialogue.PolledFormat` describes one."""

    name = "scpi"
    settings = SerialSettings(baud=9600, dtr=True, rts=True)
    facts = Facts(
        title="bench meters that are asked with READ?, on a serial port or a socket (mostly "
        "5025)",
        starts="the computer: SYST:REM on a serial port, *RST, *CLS and CONF:RES once, then "
        "READ? for each reading, and SYST:ERR? before an over-range is believed",
        tells="value, minus, overload; several readings in one reply",
        cannot_tell="function and unit (it is ohms because the meter was set up for ohms: do "
        "not press its keys meanwhile), resolution, full scale, range, hold, low battery. "
        "Carries no check sum: of the 136 single flipped bits of a reply of 234.5 ohm, 36 pass "
        "as another resistance. Set a serial meter to 8 bits, no parity and no handshake.",
        cut_shows=False,
        flags=frozenset({Flag.NEGATIVE}),
        lookalikes=(
            "prompt: its numbers without a unit read as ohms here, whatever it measures",
        ),
    )
    dialogue = _TWO_WIRE
    four_wire: Dialogue | None = replace(_TWO_WIRE, setup=("*RST", "*CLS", "CONF:FRES"))

    @property
    def ac_volts(self) -> PolledFormat | None:
        """The same meter set up for AC volts, where a number is a voltage."""
        return _AC_VOLTS

    examples: tuple[Example, ...] = (
        _example(b"+0.00000000E+00\r\n", 0.0),
        _example(b"+1.23400000E+03\r\n", 1234.0),
        _example(b"+2.34500000E+07\r\n", 23.45e6),
        _example(b"-1.20000000E-03\r\n", -0.0012, frozenset({Flag.NEGATIVE})),
        _example(b"234.5\n", 234.5),
        _example(b"234\n", 234.0),
        _example(b"+9.90000000E+37\r\n", None),
        _example(b"+9.9E+37\n", None),
        _bad(b"+1.00.4E+03\r\n", "two points"),
        _bad(b"+1.2340000E+0\xb3\r\n", "bit 7 set"),
        _bad(b"=>\r\n", "a prompt"),
        _bad(b"+1.23400000E+03;\r\n", "a semicolon"),
        _bad(b"+1.23400000E+99\r\n", "no reading, no special number"),
    )

    def decoder(self) -> ReplyDecoder:
        """Make a decoder for one stream of replies of a meter set up for resistance."""
        return ReplyDecoder(_understand)

    def encode(self, display: Display) -> bytes:
        """Make the reply to a query for what is shown.

        Raises
        ------
        ValueError
            When it is no resistance, or nine digits are too few for it.

        """
        return _encode(display)


class _ScpiVolts(_Scpi):
    """The same meter set up for AC volts by ``CONF:VOLT:AC``."""

    facts = replace(
        _Scpi.facts,
        cannot_tell="function and unit (it is AC volts because the meter was set up for them: "
        "do not press its keys meanwhile), resolution, full scale, range, hold, low battery.",
    )
    dialogue = replace(_TWO_WIRE, setup=("*RST", "*CLS", "CONF:VOLT:AC"))
    four_wire = None
    examples = ()

    @property
    def ac_volts(self) -> PolledFormat | None:
        """None: it is set up for them already."""
        return None

    def decoder(self) -> ReplyDecoder:
        """Make a decoder for one stream of replies of a meter set up for AC volts."""
        return ReplyDecoder(partial(_understand, function=Function.AC_VOLTAGE))

    def encode(self, display: Display) -> bytes:
        """Make the reply to a query for what is shown.

        Raises
        ------
        ValueError
            When it is no AC voltage, or nine digits are too few for it.

        """
        return _encode(display, Function.AC_VOLTAGE)


_AC_VOLTS: Final[PolledFormat] = _ScpiVolts()
FORMAT: Final[PolledFormat] = _Scpi()
