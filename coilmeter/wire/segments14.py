"""Fourteen bytes that say which segments of the display are lit; map from memory.

The high nibble of byte n, counted from 1, is n.  The low nibbles, bit 3 first:

====  ==========================================================================
byte  content
====  ==========================================================================
1     AC, DC, automatic range, data output
2-3   minus, e, f, a; d, c, g, b of the first digit
4-5   point before the digit, e, f, a; d, c, g, b of the second
6-9   the same of the third and the fourth
10    micro, nano, kilo, diode
11    milli, percent, mega, beeper
12    farad, ohm, relative, hold
13    ampere, volt, hertz, low battery
14    signs of the maker's own
====  ==========================================================================

Segments are a top, b and c right, d bottom, e and f left, g middle.  The one source that
prints byte 1 has its four signs in the opposite order; since the data output is always lit
and AC and DC never together, the two orders can be told apart, and no resistance depends on
it.  The length, the counting high nibbles and the signs of byte 1 are in print, the rest is
from memory, not verified: header of ``reference_data/wire_frames.csv``.
"""

from __future__ import annotations

from typing import Final

from coilmeter.values import Flag, Function, Reading
from coilmeter.wire.contract import Display, Example, Facts, Format, SerialSettings
from coilmeter.wire.framing import FrameDecoder, NoFrameError
from coilmeter.wire.scaling import check_flags, counts, decade, power_of_ten, scaled
from coilmeter.wire.segment_signs import prefixes_of, read_signs, write_signs
from coilmeter.wire.shown import digits_text

LENGTH: Final = 14

_GLYPHS: Final = dict(
    zip(
        (0x7D, 0x05, 0x5B, 0x1F, 0x27, 0x3E, 0x7E, 0x15, 0x7F, 0x3F, 0x68, 0x00),
        "0123456789L ",
        strict=True,
    )
)
"""Segments e f a d c g b of one digit, bit 6 first, to what they show."""

_SEGMENTS: Final = {glyph: code for code, glyph in _GLYPHS.items()}
_TOP: Final = 0x08
"""Bit 3 of the first nibble of a digit: the minus, or the point before the digit."""


def _next_start(window: bytes) -> int:
    """Where, in a frame-long stretch that is no frame, the next one may begin."""
    for start in range(1, LENGTH):
        if all(byte >> 4 == place for place, byte in enumerate(window[start:], 1)):
            return start
    return LENGTH


def _understand(frame: bytes) -> Reading:
    """Read a stretch of the right length."""
    for place, byte in enumerate(frame, 1):
        if byte >> 4 != place:
            raise NoFrameError(
                f"byte {place - 1} is {byte:02X}, expected {place:X}0 to {place:X}F"
            )
    low = bytes(byte & 0x0F for byte in frame)
    text, minus, decimals = _digits(low[1:9])
    signs = read_signs(low[0], low[9:13])
    exponent = signs.exponent - decimals
    sign = "-" if minus else ""
    if "L" in text:
        if text.strip(" 0") != "L":
            raise NoFrameError(f"the digits show {text!r}, expected a number or 0.L")
        return Reading(
            function=signs.function,
            value=None,
            unit=signs.unit,
            overload=True,
            resolution=power_of_ten(exponent),
            flags=signs.flags | {Flag.NEGATIVE} if minus else signs.flags,
            raw=frame,
            display=f"{sign}OL {signs.unit_text}".rstrip(),
        )
    number = text.lstrip(" ")
    if not number.isdigit():
        raise NoFrameError(f"the digits show {text!r}, expected no gap behind the first")
    shown = digits_text(int(number), decimals, len(number))
    return Reading(
        signs.function,
        scaled(int(sign + number), exponent),
        signs.unit,
        resolution=power_of_ten(exponent),
        flags=signs.flags,
        raw=frame,
        display=f"{sign}{shown} {signs.unit_text}".rstrip(),
    )


def _digits(low: bytes) -> tuple[str, bool, int]:
    """Read four digits from eight nibbles: their text, the minus, and the decimals."""
    text, points = "", []
    for place in range(4):
        first, second = low[2 * place], low[2 * place + 1]
        code = (first & ~_TOP) << 4 | second
        if code not in _GLYPHS:
            raise NoFrameError(
                f"bytes {2 * place + 1} and {2 * place + 2} light the segments {code:02X}, "
                "which are no digit"
            )
        text += _GLYPHS[code]
        if place and first & _TOP:
            points.append(4 - place)
    if len(points) > 1:
        raise NoFrameError("two points are lit, expected one")
    return text, bool(low[0] & _TOP), points[0] if points else 0


def _encode(display: Display) -> bytes:
    exponent = decade(display.resolution)
    prefix = next(
        (entry for entry in prefixes_of(display.function) if 0 <= entry - exponent <= 3),  # noqa: PLR2004 - x.xxx
        None,
    )
    if prefix is None:
        raise ValueError(f"no point shows {display.resolution} in {display.function}")
    shown = 0 if display.overload else counts(display.value, exponent)
    if abs(shown) > 9999:  # noqa: PLR2004 - four digits
        raise ValueError(f"four digits are too few for {display.value}")
    check_flags(display.flags, shows_minus=display.overload or display.value < 0)
    minus = Flag.NEGATIVE in display.flags if display.overload else shown < 0
    low = bytearray()
    for glyph in " 0L " if display.overload else f"{abs(shown):04d}":
        low += bytes((_SEGMENTS[glyph] >> 4, _SEGMENTS[glyph] & 0x0F))
    low[0] |= _TOP if minus else 0
    decimals = prefix - exponent
    if decimals:
        low[2 * (4 - decimals)] |= _TOP
    first, others = write_signs(display.function, prefix, display.flags)
    nibbles = bytes((first, *low, *others, 0))
    return bytes(place << 4 | nibble for place, nibble in enumerate(nibbles, 1))


_BASIS: Final = "byte map from memory, frame constructed; see reference_data/wire_frames.csv"
_AUTO_ONLY: Final = frozenset({Flag.AUTO})


def _example(
    hex_text: str,
    value: float | None,
    flags: frozenset[Flag] = _AUTO_ONLY,
    function: Function = Function.RESISTANCE,
) -> Example:
    return Example(bytes.fromhex(hex_text), _BASIS, function, value, value is None, flags)


def _bad(hex_text: str, why: str) -> Example:
    return Example(bytes.fromhex(hex_text), f"{_BASIS}; {why}", valid=False)


class _Segments14:
    """The format, as `coilmeter.wire.contract.Format` describes one."""

    name = "segments14"
    settings = SerialSettings(baud=2400, dtr=True, rts=False)
    facts = Facts(
        title="fourteen bytes with the lit segments of the display, streamed by hand-held "
        "meters",
        starts="the meter, two to four times a second while its data output is on",
        tells="function, digits, point and prefix (so the resolution, of an overload too), "
        "automatic or manual range, hold, relative, low battery, overload",
        cannot_tell="carries no check sum: of the 112 single flipped bits of a frame reading "
        "234.5 ohm, 7 pass as another resistance; how many counts the meter has (so the full "
        "scale); max and min. All but the length, the counting high nibbles and the signs of "
        "byte 1 is from memory, not verified.",
        verified=False,
        flags=frozenset(Flag) - {Flag.MAXIMUM, Flag.MINIMUM},
    )
    examples = (
        _example("13 27 3D 47 5D 67 7D 8F 9D A0 B0 C4 D0 E0", 0.0),
        _example("13 25 3B 41 5F 62 77 8B 9E A0 B0 C4 D0 E0", 234.5),
        _example("13 25 3B 41 5F 6A 77 83 9E A0 B2 C4 D0 E0", 23.45e6),
        _example("13 20 30 47 5D 6E 78 80 90 A0 B2 C4 D0 E0", None),
        _example(
            "13 25 3B 41 5F 62 77 8B 9E A0 B0 C5 D0 E0",
            234.5,
            frozenset({Flag.AUTO, Flag.HOLD}),
        ),
        _example(
            "11 27 3D 47 5D 67 7D 8D 9B A0 B0 C6 D0 E0",
            0.2,
            frozenset({Flag.MANUAL, Flag.RELATIVE}),
        ),
        _example(
            "17 28 35 4D 5B 61 7F 82 97 A0 B0 C0 D4 E0",
            -1.234,
            function=Function.DC_VOLTAGE,
        ),
        _bad("13 25 3B 41 5F 42 77 8B 9E A0 B0 C4 D0 E0", "the high nibbles do not count"),
        _bad("13 25 3B 42 59 62 77 8B 9E A0 B0 C4 D0 E0", "segments of no digit"),
        _bad("13 25 3B 49 5F 62 77 8B 9E A0 B0 C4 D0 E0", "two points"),
        _bad("13 25 3B 41 5F 62 77 8B 9E A2 B2 C4 D0 E0", "kilo and mega lit"),
        _bad("13 25 3B 40 50 62 77 8B 9E A0 B0 C4 D0 E0", "a gap between digits"),
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


FORMAT: Final[Format] = _Segments14()
