"""Fourteen bytes: sign, four ASCII digits, decimal code, four status bytes, bar, CR LF.

====  ==========================================================================
byte  content
====  ==========================================================================
0     2B plus, 2D minus
1-4   digits 30..39, most significant first; 3F 30 3A 3F is an overload
5     20
6     decimal code 30..34: xxxx, x.xxx, xx.xx, xxx.x, xxx.x
7-10  signs of the display, see `coilmeter.wire.sign_bytes`
11    length of the bar, bit 7 its sign
12-13 0D 0A
====  ==========================================================================

Source of the byte map and of each frame: header of ``reference_data/wire_frames.csv``.
"""

from __future__ import annotations

from typing import Final

from coilmeter.values import Flag, Function, Reading
from coilmeter.wire.contract import Display, Example, Facts, Format, SerialSettings
from coilmeter.wire.framing import FrameDecoder, NoFrameError
from coilmeter.wire.scaling import check_flags, counts, decade, power_of_ten, scaled
from coilmeter.wire.sign_bytes import prefixes_of, read_signs, write_signs

LENGTH: Final = 14

_PLUS, _MINUS, _BLANK = 0x2B, 0x2D, 0x20
_DIGITS: Final = frozenset(b"0123456789")
_OVERLOAD: Final = b"?0:?"
_DECIMALS: Final = {0x30: 0, 0x31: 3, 0x32: 2, 0x33: 1, 0x34: 1}
_CODE_OF_DECIMALS: Final = {0: 0x30, 3: 0x31, 2: 0x32, 1: 0x34}
_LINE_END: Final = b"\r\n"
_SIGNS: Final = frozenset({_PLUS, _MINUS})
_ANY: Final = frozenset(range(256))
_LEGAL: Final = (
    _SIGNS,
    *(4 * (_DIGITS | frozenset(_OVERLOAD),)),
    frozenset({_BLANK}),
    frozenset(_DECIMALS),
    frozenset(range(0x40)),
    *(4 * (_ANY,)),
    frozenset(b"\r"),
    frozenset(b"\n"),
)
"""What may stand at each place of a frame, for finding where the next one may begin."""


def _next_start(window: bytes) -> int:
    """Where, in a frame-long stretch that is no frame, the next one may begin.

    Looking at these bytes alone makes the answer the same however the stream was cut, and
    a whole frame that begins inside the stretch is never passed over.
    """
    for start in range(1, LENGTH):
        if window[start] in _SIGNS and all(
            byte in legal for byte, legal in zip(window[start:], _LEGAL, strict=False)
        ):
            return start
    return LENGTH


def _understand(frame: bytes) -> Reading:
    """Read a stretch of the right length."""
    sign, digits, blank, code = frame[0], frame[1:5], frame[5], frame[6]
    if sign not in _SIGNS:
        raise NoFrameError(f"byte 0 is {sign:02X}, expected a sign, 2B or 2D")
    overload = digits == _OVERLOAD
    if not (overload or digits.isdigit()):
        place = next(place for place in range(1, 5) if frame[place] not in _DIGITS)
        raise NoFrameError(f"byte {place} is {frame[place]:02X}, expected a digit, 30 to 39")
    if blank != _BLANK:
        raise NoFrameError(f"byte 5 is {blank:02X}, expected 20")
    if code not in _DECIMALS:
        raise NoFrameError(f"byte 6 is {code:02X}, expected a decimal code, 30 to 34")
    if frame[12:] != _LINE_END:
        raise NoFrameError(f"bytes 12 and 13 are {frame[12:].hex(' ')}, expected 0D 0A")
    signs = read_signs(frame[7:11])
    minus = "-" if sign == _MINUS else ""
    decimals = _DECIMALS[code]
    exponent = signs.exponent - decimals
    step = power_of_ten(exponent) / (1.8 if signs.fahrenheit else 1.0)
    if overload:
        return Reading(
            function=signs.function,
            value=None,
            unit=signs.unit,
            overload=True,
            resolution=step,
            flags=signs.flags | {Flag.NEGATIVE} if minus else signs.flags,
            raw=frame,
            display=f"{minus}OL {signs.unit_text}".rstrip(),
        )
    text = digits.decode()
    value = scaled(int(minus + text), exponent)
    shown = f"{text[:-decimals]}.{text[-decimals:]}" if decimals else text
    return Reading(
        signs.function,
        (value - 32) / 1.8 if signs.fahrenheit else value,
        signs.unit,
        resolution=step,
        flags=signs.flags,
        raw=frame,
        display=f"{minus}{shown} {signs.unit_text}".rstrip(),
    )


def _encode(display: Display) -> bytes:
    prefixes = prefixes_of(display.function)
    exponent = decade(display.resolution)
    prefix = next((entry for entry in prefixes if 0 <= entry - exponent <= 3), None)  # noqa: PLR2004 - x.xxx
    if prefix is None:
        raise ValueError(f"no decimal point shows {display.resolution} in {display.function}")
    shown = 0 if display.overload else counts(display.value, exponent)
    if abs(shown) > 9999:  # noqa: PLR2004 - four digits
        raise ValueError(f"four digits are too few for {display.value}")
    check_flags(display.flags, shows_minus=display.overload or display.value < 0)
    minus = Flag.NEGATIVE in display.flags if display.overload else shown < 0
    digits = _OVERLOAD if display.overload else b"%04d" % abs(shown)
    code = _CODE_OF_DECIMALS[prefix - exponent]
    signs = write_signs(display.function, prefix, display.flags)
    no_bar = b"\0"
    return b"%c%b%c%c%b%b%b" % (
        _MINUS if minus else _PLUS,
        digits,
        _BLANK,
        code,
        signs,
        no_bar,
        _LINE_END,
    )


_BASIS: Final = "printed byte map, frame constructed; see reference_data/wire_frames.csv"
_AUTO_ONLY: Final = frozenset({Flag.AUTO})


def _example(
    hex_text: str,
    value: float | None,
    function: Function = Function.RESISTANCE,
    flags: frozenset[Flag] = _AUTO_ONLY,
    basis: str = _BASIS,
) -> Example:
    return Example(bytes.fromhex(hex_text), basis, function, value, value is None, flags)


def _bad(hex_text: str, why: str) -> Example:
    return Example(bytes.fromhex(hex_text), f"{_BASIS}; {why}", valid=False)


class _Digits14:
    """The format, as `coilmeter.wire.contract.Format` describes one."""

    name = "digits14"
    settings = SerialSettings(baud=2400, dtr=True, rts=False)
    facts = Facts(
        title="fourteen bytes with four ASCII digits, streamed by hand-held meters",
        starts="the meter, two or three times a second while its data output is on",
        tells="function, digits, decimal point and prefix (so the resolution, of an "
        "overload too), automatic or "
        "manual range, hold, relative, max, min, low battery, overload",
        cannot_tell="carries no check sum: of the 112 single flipped bits of a frame reading "
        "234.5 ohm, 15 pass as another resistance; how many counts the meter has (so the full "
        "scale); whether the beeper sounds, only that its sign is lit. "
        "The digits of an overload and DTR on with RTS off are from memory, not verified.",
    )
    examples = (
        _example("2B 30 30 30 30 20 34 20 00 00 20 00 0D 0A", 0.0),
        _example("2B 32 33 34 35 20 34 20 00 00 20 00 0D 0A", 234.5),
        _example("2B 32 33 34 35 20 33 20 00 00 20 00 0D 0A", 234.5),
        _example("2B 32 33 34 35 20 32 20 00 20 20 00 0D 0A", 23450.0),
        _example("2B 32 33 34 35 20 32 20 00 10 20 00 0D 0A", 23.45e6),
        _example(
            "2B 3F 30 3A 3F 20 34 00 00 00 20 00 0D 0A",
            None,
            flags=frozenset({Flag.MANUAL}),
            basis=f"{_BASIS}; overload digits from memory, not verified",
        ),
        _example(
            "2D 30 30 30 31 20 34 04 00 00 20 00 0D 0A",
            -0.1,
            flags=frozenset({Flag.MANUAL, Flag.RELATIVE}),
        ),
        _example(
            "2B 30 31 32 33 20 34 00 00 08 20 00 0D 0A",
            12.3,
            Function.CONTINUITY,
            frozenset({Flag.MANUAL, Flag.BEEP}),
        ),
        _example("2D 31 32 33 34 20 31 31 00 00 80 8C 0D 0A", -1.234, Function.DC_VOLTAGE),
        _bad("2B 32 3B 34 35 20 34 20 00 00 20 00 0D 0A", "3B is no digit"),
        _bad("2B 32 33 34 35 20 34 20 00 00 A0 00 0D 0A", "ohm and volt lit"),
        _bad("2B 32 33 34 35 20 34 20 00 30 20 00 0D 0A", "kilo and mega lit"),
    )

    def decoder(self) -> FrameDecoder:
        """Make a decoder for one stream."""
        return FrameDecoder(LENGTH, _understand, _next_start)

    def encode(self, display: Display) -> bytes:
        """Make the frame a meter sends for what it shows.

        Raises
        ------
        ValueError
            When four digits and the signs of this format cannot show it.

        """
        return _encode(display)


FORMAT: Final[Format] = _Digits14()
