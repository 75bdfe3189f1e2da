"""Fourteen bytes of seven bits with odd parity, by 22 000-count meters; map from memory.

=====  ==========================================================================
byte   content, parity left out
=====  ==========================================================================
0      range code 30..36
1-5    digits 30..39, most significant first
6      function code as in ``block11``, and 34 temperature
7      011, judge, minus, low battery, over-range
8      011, max, min, relative, and a bit not read
9      011, under-range, peak max, peak min, 0
10     011, DC, AC, automatic range, frequency beside volt or ampere
11     011, 0, bar shown, hold, low-pass filter
12-13  0D 0A
=====  ==========================================================================

Nothing of this was found in print; the map is from memory, not verified.
"""

from __future__ import annotations

from typing import Final

from coilmeter.values import Flag, Function, Reading
from coilmeter.wire.blocks import DIGITS, JUDGE, LINE_END, THREES, Block, Scales, check_block
from coilmeter.wire.contract import Display, Example, Facts, Format, SerialSettings
from coilmeter.wire.framing import FrameDecoder, NoFrameError
from coilmeter.wire.parity import odd, with_odd_parity, without_odd_parity

LENGTH: Final = 14

_VOLT, _MICROAMPERE, _AMPERE = 0x3B, 0x3D, 0x3F
_OHM, _BEEPER, _DIODE, _FREQUENCY, _FARAD, _TEMPERATURE = 0x33, 0x35, 0x31, 0x32, 0x36, 0x34
_FUNCTIONS: Final = {
    _VOLT: Function.VOLTAGE,
    _MICROAMPERE: Function.CURRENT,
    _AMPERE: Function.CURRENT,
    _OHM: Function.RESISTANCE,
    _BEEPER: Function.CONTINUITY,
    _DIODE: Function.DIODE,
    _FREQUENCY: Function.FREQUENCY,
    _FARAD: Function.CAPACITANCE,
    _TEMPERATURE: Function.TEMPERATURE,
}
_DC, _AC, _AUTO, _VAHZ = 0x08, 0x04, 0x02, 0x01
_BY_CURRENT: Final = {
    (Function.VOLTAGE, _DC): Function.DC_VOLTAGE,
    (Function.VOLTAGE, _AC): Function.AC_VOLTAGE,
    (Function.CURRENT, _DC): Function.DC_CURRENT,
    (Function.CURRENT, _AC): Function.AC_CURRENT,
}
_OPTION_FLAGS: Final = (
    (8, 0x08, Flag.MAXIMUM),
    (8, 0x04, Flag.MINIMUM),
    (8, 0x02, Flag.RELATIVE),
    (10, _AUTO, Flag.AUTO),
    (11, 0x02, Flag.HOLD),
)
"""Byte, bit and flag of the options."""

_UNDER_OR_PEAK: Final = 0x0E
_ALWAYS_ZERO: Final = ((9, 0x01), (11, 0x08))

_VOLT_RANGES: Final = {0: -4, 1: -3, 2: -2, 3: -1, 4: -5}
_CURRENTS: Final = (Function.CURRENT, Function.DC_CURRENT, Function.AC_CURRENT)
_SCALES: Final = Scales(
    counts=22_000,
    exponents={
        Function.RESISTANCE: {code: code - 2 for code in range(7)},
        Function.DIODE: {0: -4},
        Function.FREQUENCY: {3: 0},
        **dict.fromkeys(
            (Function.VOLTAGE, Function.DC_VOLTAGE, Function.AC_VOLTAGE), _VOLT_RANGES
        ),
    },
    unscaled=frozenset(
        {
            Function.CONTINUITY,
            Function.FREQUENCY,
            Function.CAPACITANCE,
            Function.TEMPERATURE,
            Function.OTHER,
            *_CURRENTS,
        }
    ),
)
"""Power of ten of the last digit by range code, as far as it is known."""

_LEGAL: Final = (
    odd(bytes(range(0x30, 0x38))),
    *(5 * (odd(DIGITS),)),
    odd(bytes(_FUNCTIONS)),
    *(5 * (odd(THREES),)),
    odd(LINE_END[:1]),
    odd(LINE_END[1:]),
)


def _next_start(window: bytes) -> int:
    """Where, in a block-long stretch that is no block, the next one may begin."""
    for start in range(1, LENGTH):
        if all(byte in legal for byte, legal in zip(window[start:], _LEGAL, strict=False)):
            return start
    return LENGTH


def _understand(frame: bytes) -> Reading:
    """Read a stretch of the right length."""
    seven = without_odd_parity(frame)
    check_block(seven, range(1, 6), _FUNCTIONS)
    for place, bit in _ALWAYS_ZERO:
        if seven[place] & bit:
            raise NoFrameError(
                f"byte {place} is {seven[place]:02X}, expected its bit {bit:02X} to be 0"
            )
    function, status = _function(seven), seven[7] & 0x0F
    if function in {Function.RESISTANCE, Function.CONTINUITY} and seven[9] & _UNDER_OR_PEAK:
        raise NoFrameError(f"byte 9 is {seven[9]:02X}: under-range or peak, no value in ohms")
    lit = {flag for place, bit, flag in _OPTION_FLAGS if seven[place] & bit}
    flags = frozenset(lit if Flag.AUTO in lit else lit | {Flag.MANUAL})
    block = Block(function, seven[0] - 0x30, seven[1:6].decode(), status, flags)
    return _SCALES.reading(block, frame)


def _function(seven: bytes) -> Function:
    """Tell from function code, judge bit and third option what is measured."""
    function = _FUNCTIONS[seven[6]]
    if function is Function.FREQUENCY:
        return function if seven[7] & JUDGE else Function.OTHER
    if seven[7] & JUDGE:
        raise NoFrameError(f"byte 7 is {seven[7]:02X}: its judge bit is set outside frequency")
    if seven[10] & _VAHZ and function in {Function.VOLTAGE, Function.CURRENT}:
        return Function.OTHER
    return _BY_CURRENT.get((function, seven[10] & (_DC | _AC)), function)


_ENCODED: Final = {
    Function.RESISTANCE: (_OHM, 0),
    Function.DIODE: (_DIODE, _DC),
    Function.FREQUENCY: (_FREQUENCY, 0),
    Function.VOLTAGE: (_VOLT, 0),
    Function.DC_VOLTAGE: (_VOLT, _DC),
    Function.AC_VOLTAGE: (_VOLT, _AC),
}
"""Function code and the bits of byte 10 of what can be encoded."""


def _encode(display: Display) -> bytes:
    if display.function not in _ENCODED:
        raise ValueError(f"block14 has no ranges for {display.function}")
    digits, range_code, status = _SCALES.digits_and_range(display, 5)
    function_code, current = _ENCODED[display.function]
    block = bytearray(
        b"%c%b%c00000%b" % (0x30 + range_code, digits.encode(), function_code, LINE_END)
    )
    block[7] |= status | (JUDGE if display.function is Function.FREQUENCY else 0)
    block[10] |= current
    for place, bit, flag in _OPTION_FLAGS:
        block[place] |= bit if flag in display.flags else 0
    return with_odd_parity(bytes(block))


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


class _Block14:
    """The format, as `coilmeter.wire.contract.Format` describes one."""

    name = "block14"
    settings = SerialSettings(19200, 7, "O", 1, dtr=True, rts=False)
    facts = Facts(
        title="fourteen-byte blocks with parity, streamed by hand-held 22 000-count meters",
        starts="the meter, some two times a second while its data output is on",
        tells="function, digits, range (so resolution and full scale), automatic or manual "
        "range, hold, relative, max, min, minus, low battery, overload and on which range; "
        "parity uncovers every single flipped bit",
        cannot_tell="carries no check sum: two bits flipped in one byte pass; the scale of "
        "current, capacitance, temperature and continuity, whose readings have no value here. "
        "Everything about this format is from memory, not verified.",
        verified=False,
        flags=frozenset(Flag) - {Flag.BEEP},
        lookalikes=("fourteen-byte blocks of chips with other ranges or option bytes",),
    )
    examples = (
        _example("B0 B0 B0 B0 B0 B0 B3 B0 B0 B0 32 B0 0D 8A", 0.0),
        _example("B0 31 32 B3 34 B5 B3 B0 B0 B0 32 B0 0D 8A", 123.45),
        _example("B6 31 32 B3 34 B5 B3 B0 B0 B0 32 B0 0D 8A", 123.45e6),
        _example("B0 32 32 B0 B0 B0 B3 31 B0 B0 B0 B0 0D 8A", None, frozenset({Flag.MANUAL})),
        _example(
            "B0 31 32 B3 34 B5 B3 B0 B0 B0 32 32 0D 8A",
            123.45,
            frozenset({Flag.AUTO, Flag.HOLD}),
        ),
        _example(
            "B0 B0 B0 B0 31 32 B3 34 32 B0 B0 B0 0D 8A",
            -0.12,
            frozenset({Flag.MANUAL, Flag.RELATIVE, Flag.NEGATIVE}),
        ),
        _example(
            "B0 31 32 B3 34 B5 3B 34 B0 B0 BA B0 0D 8A",
            -1.2345,
            frozenset({Flag.AUTO, Flag.NEGATIVE}),
            Function.DC_VOLTAGE,
        ),
        _bad("B0 31 32 BF 34 B5 B3 B0 B0 B0 32 B0 0D 8A", "3F is no digit"),
        _bad("37 31 32 B3 34 B5 B3 B0 B0 B0 32 B0 0D 8A", "no such range in ohms"),
        _bad("B0 B1 32 B3 34 B5 B3 B0 B0 B0 32 B0 0D 8A", "parity of byte 1"),
        _bad("B0 B3 B9 B9 B9 B9 B3 B0 B0 B0 32 B0 0D 8A", "39999 counts of 22 000"),
    )

    def decoder(self) -> FrameDecoder:
        """Make a decoder for one stream."""
        return FrameDecoder(LENGTH, _understand, _next_start)

    def encode(self, display: Display) -> bytes:
        """Make the block a meter sends for what it shows.

        Raises
        ------
        ValueError
            When a meter of 22 000 counts has no range that shows it.

        """
        return _encode(display)


FORMAT: Final[Format] = _Block14()
