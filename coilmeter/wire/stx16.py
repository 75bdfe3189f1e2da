"""Sixteen characters from 02 to CR, in two versions that the second character tells.

=====  =====================================  ======================================
place  version 02                             version 01
=====  =====================================  ======================================
0      02                                     02
1      ``4``                                  minus signs: ``0`` none, ``1`` upper,
                                              ``2`` lower, ``3`` both display
2      display: ``1`` upper, ``2`` lower,     unit of the lower display: ``0`` none,
       ``3`` top right, ``4`` bottom left;    ``1`` degC, ``2`` degF
       ``0`` for date and time
3-4    unit code                              unit code of the upper display
5      ``0`` plus, ``1`` minus                decimals of the lower display
6      decimals, ``0`` to ``3``               decimals of the upper display
7-14   eight digits, the first three 0        four digits of the lower display, then
                                              four of the upper
15     0D                                     0D
=====  =====================================  ======================================

No display of this kind has more than five digits, so that one of the first three can only
be damage.  Over-range is 0000 and four up-arrows, under-range 0000 and four down-arrows.
The bytes of the arrows are not printed: 18 and 19, those of code page 437, are assumed.  An
under-range in ohms is refused: it is no bound that an open coil could be judged by.

Source of the byte map and of each frame: header of ``reference_data/wire_frames.csv``.
"""

from __future__ import annotations

import re
from typing import Final

from coilmeter.values import Flag, Function, Reading
from coilmeter.wire.contract import Display, Example, Facts, Format, SerialSettings
from coilmeter.wire.framing import FrameDecoder, NoFrameError
from coilmeter.wire.scaling import (
    UNIT_OF,
    check_flags,
    counts,
    decade,
    power_of_ten,
    scaled,
)
from coilmeter.wire.shown import digits_text
from coilmeter.wire.stx_units import UNITS, codes_of

LENGTH: Final = 16

_START, _END = 0x02, 0x0D
_UP, _DOWN = b"\x18\x18\x18\x18", b"\x19\x19\x19\x19"
_DIGITS: Final = frozenset(b"0123456789")
_DECIMALS: Final = b"0123"
_MOST: Final = 99_999
_SECOND_VERSION: Final = 0x34
_UPPER: Final = 0x31
_DATE: Final = re.compile(
    rb"\x0240(\d\d)(0[1-9]|1[0-2])(0[1-9]|[12]\d|3[01])([01]\d|2[0-3])([0-5]\d)([0-5]\d)\r"
)
_LEGAL: Final = (
    frozenset({_START}),
    frozenset(b"01234"),
    _DIGITS,
    *(2 * (_DIGITS | frozenset(b"ABCDEF"),)),
    *(10 * (_DIGITS | frozenset(_UP + _DOWN),)),
    frozenset({_END}),
)
"""What may stand at each place of a frame, for finding where the next one may begin."""


def _next_start(window: bytes) -> int:
    """Where, in a frame-long stretch that is no frame, the next one may begin."""
    for start in range(1, LENGTH):
        if window[start] == _START and all(
            byte in legal for byte, legal in zip(window[start:], _LEGAL, strict=False)
        ):
            return start
    return LENGTH


def _understand(frame: bytes) -> Reading:
    """Read a stretch of the right length."""
    if frame[0] != _START:
        raise NoFrameError(f"byte 0 is {frame[0]:02X}, expected 02")
    if frame[15] != _END:
        raise NoFrameError(f"byte 15 is {frame[15]:02X}, expected 0D")
    if frame[1] == _SECOND_VERSION:
        return _second_version(frame)
    _expect(frame, 1, b"0123", "the version or the minus signs")
    return _first_version(frame)


def _second_version(frame: bytes) -> Reading:
    _expect(frame, 2, b"01234", "the number of a display")
    if frame[2:3] == b"0":
        return _clock(frame)
    _expect(frame, 5, b"01", "a polarity")
    decimals = _expect(frame, 6, _DECIMALS, "decimals")
    for place in range(7, 10):
        _expect(frame, place, b"0", "0 before the digits of a display")
    digits = frame[7:15]
    if digits.startswith(b"0000") and digits[4:] in {_UP, _DOWN}:
        digits = digits[4:]
    reading = _reading(frame, digits, decimals, minus=frame[5:6] == b"1", first=7)
    if frame[2] == _UPPER or not reading.is_ohms:
        return reading
    # Never ohms for the judge: it may be what was taken off, or an extreme of before.
    return Reading(
        Function.OTHER,
        reading.value,
        reading.unit,
        reading.overload,
        reading.resolution,
        flags=reading.flags,
        raw=frame,
        display=f"display {frame[2:3].decode()}: {reading.display}",
    )


def _first_version(frame: bytes) -> Reading:
    _expect(frame, 2, b"012", "the unit of the lower display")
    _expect(frame, 5, _DECIMALS, "decimals")
    decimals = _expect(frame, 6, _DECIMALS, "decimals")
    for place in range(7, 11):
        _expect(frame, place, b"0123456789", "a digit")
    return _reading(frame, frame[11:15], decimals, minus=frame[1] in b"13", first=11)


def _reading(frame: bytes, digits: bytes, decimals: int, *, minus: bool, first: int) -> Reading:
    code = frame[3:5].decode("latin-1")
    unit = UNITS.get(code)
    if unit is None:
        raise NoFrameError(f"bytes 3 and 4 are {frame[3:5].hex(' ').upper()}, no known unit")
    overload = digits in {_UP, _DOWN}
    if digits == _DOWN and unit.function is Function.RESISTANCE:
        raise NoFrameError("under-range: no value, and none that an open coil shows")
    if not (overload or digits.isdigit()):
        place = next(place for place in range(first, 15) if frame[place] not in _DIGITS)
        raise NoFrameError(f"byte {place} is {frame[place]:02X}, expected a digit")
    exponent = unit.exponent - decimals
    per_kelvin = 1.8 if unit.name == "degF" else 1.0
    sign = "-" if minus else ""
    value = None if overload else scaled(int(sign + digits.decode()), exponent)
    if value is not None and unit.name == "degF":
        value = (value - 32) / 1.8
    shown = "OL" if overload else digits_text(int(digits), decimals, 1)
    return Reading(
        unit.function,
        value,
        UNIT_OF[unit.function],
        overload,
        power_of_ten(exponent) / per_kelvin,
        flags=frozenset({Flag.NEGATIVE} if minus else ()),
        raw=frame,
        display=f"{sign}{shown} {unit.name}".rstrip(),
    )


def _clock(frame: bytes) -> Reading:
    """Read the record of date and time that a meter with a clock sends between readings."""
    date = _DATE.fullmatch(frame)
    if date is None:
        raise NoFrameError("a record of date and time that is none")
    year, month, day, hour, minute, second = (part.decode() for part in date.groups())
    shown = f"20{year}-{month}-{day} {hour}:{minute}:{second}"
    return Reading(Function.OTHER, None, "", raw=frame, display=shown)


def _expect(frame: bytes, place: int, legal: bytes, what: str) -> int:
    """Check one character; its digit."""
    if frame[place] not in legal:
        raise NoFrameError(f"byte {place} is {frame[place]:02X}, expected {what}")
    return frame[place] - 0x30


def _encode(display: Display) -> bytes:
    exponent = decade(display.resolution)
    codes = codes_of(display.function)
    prefix = next((power for power in codes if 0 <= power - exponent <= 3), None)  # noqa: PLR2004 - three decimals
    if prefix is None:
        raise ValueError(f"no decimals show {display.resolution} in {display.function}")
    shown = 0 if display.overload else counts(display.value, exponent)
    if abs(shown) > _MOST:
        raise ValueError(f"five digits are too few for {display.value}")
    check_flags(display.flags, shows_minus=display.overload or display.value < 0)
    minus = Flag.NEGATIVE in display.flags if display.overload else shown < 0
    digits = b"0000" + _UP if display.overload else b"%08d" % abs(shown)
    return b"\x0241%b%d%d%b\r" % (codes[prefix].encode(), minus, prefix - exponent, digits)


_BASIS: Final = "printed byte map, frame constructed; see reference_data/wire_frames.csv"
_MINUS: Final = frozenset({Flag.NEGATIVE})


def _example(
    hex_text: str,
    value: float | None,
    function: Function = Function.RESISTANCE,
    flags: frozenset[Flag] = frozenset(),
    basis: str = _BASIS,
) -> Example:
    return Example(bytes.fromhex(hex_text), basis, function, value, value is None, flags)


def _bad(hex_text: str, why: str) -> Example:
    return Example(bytes.fromhex(hex_text), f"{_BASIS}; {why}", valid=False)


class _Stx16:
    """The format, as `coilmeter.wire.contract.Format` describes one."""

    name = "stx16"
    settings = SerialSettings(baud=9600)
    facts = Facts(
        title="sixteen characters from 02 to CR, streamed by meters that may log by themselves",
        starts="the meter, some once a second or at the pace of its own log",
        tells="function, digits, decimals and prefix (so the resolution, of an overload too), "
        "minus, overload, which display; both versions, told by their second character",
        cannot_tell="carries no check sum: of the 128 single flipped bits of a frame reading "
        "234.5 ohm, 20 pass as another resistance; hold, relative, low battery, automatic or "
        "manual range, continuity, full scale. The bytes of the over-range arrows are assumed.",
        flags=_MINUS,
    )
    examples = (
        _example("02 34 31 33 38 30 31 30 30 30 30 30 30 30 30 0D", 0.0),
        _example("02 34 31 33 38 30 31 30 30 30 30 32 33 34 35 0D", 234.5),
        _example("02 34 31 33 39 30 32 30 30 30 30 32 33 34 35 0D", 23450.0),
        _example("02 34 31 34 30 30 32 30 30 30 30 32 33 34 35 0D", 23.45e6),
        _example(
            "02 34 31 34 30 30 32 30 30 30 30 18 18 18 18 0D",
            None,
            basis=f"{_BASIS}; arrow byte assumed",
        ),
        _example("02 34 31 33 38 31 31 30 30 30 30 30 30 30 31 0D", -0.1, flags=_MINUS),
        _example("02 31 30 33 39 30 33 30 30 30 30 31 32 33 34 0D", -1234.0, flags=_MINUS),
        _example("02 32 31 33 34 31 33 30 32 35 31 31 32 33 34 0D", 1.234, Function.DC_VOLTAGE),
        _bad("03 34 31 33 38 30 31 30 30 30 30 32 33 34 35 0D", "begins with 03"),
        _bad("02 37 31 33 38 30 31 30 30 30 30 32 33 34 35 0D", "no such version"),
        _bad("02 34 31 33 38 32 31 30 30 30 30 32 33 34 35 0D", "no such polarity"),
        _bad("02 34 31 33 38 30 31 30 30 30 30 32 33 34 35 0A", "ends with LF"),
        _bad("02 34 31 39 39 30 31 30 30 30 30 32 33 34 35 0D", "unit 99 is not known"),
        _bad("02 34 31 33 38 30 31 30 30 30 30 19 19 19 19 0D", "under-range in ohms"),
    )

    def decoder(self) -> FrameDecoder:
        """Make a decoder for one stream."""
        return FrameDecoder(LENGTH, _understand, _next_start)

    def encode(self, display: Display) -> bytes:
        """Make the frame of version 02 that a meter sends for what its upper display shows.

        Raises
        ------
        ValueError
            When five digits and the unit codes cannot show it.

        """
        return _encode(display)

    def is_aside(self, reading: Reading) -> bool:
        """Tell the clock's records and the readings of other displays than the upper one."""
        return reading.raw[1] == _SECOND_VERSION and reading.raw[2] != _UPPER


FORMAT: Final[Format] = _Stx16()
