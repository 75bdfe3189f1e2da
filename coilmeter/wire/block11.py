"""Eleven bytes of seven bits with odd parity, each block sent twice, by 4000-count meters.

====  ===========================================================================
byte  content, parity left out
====  ===========================================================================
0     range code 30..37, see `_EXPONENTS`
1-4   digits 30..39, most significant first
5     function code: 3B volt, 3D microampere, 39 milliampere, 3F ampere, 33 ohm,
      35 continuity, 31 diode, 32 frequency or revolutions, 36 capacitance
6     011, judge, minus, low battery, over-range
7-8   options, 011 and four bits whose meaning was not found: not read
9-10  0D 0A
====  ===========================================================================

A reading is two equal blocks, one behind the other.  Where they differ the first is given
up and the second may be the first of the next pair, so that a stream which was opened
between two copies finds its step again.

The judge bit tells frequency from revolutions.  Elsewhere it is refused: on a chip of the
same family that place is the minus sign.

Source of the byte map and of each frame: header of ``reference_data/wire_frames.csv``.
"""

from __future__ import annotations

from typing import Final

from coilmeter.values import Flag, Function, Reading
from coilmeter.wire.blocks import DIGITS, JUDGE, LINE_END, THREES, Block, Scales, check_block
from coilmeter.wire.contract import Display, Example, Facts, Format, SerialSettings
from coilmeter.wire.framing import FrameDecoder, NoFrameError
from coilmeter.wire.parity import odd, with_odd_parity, without_odd_parity

LENGTH: Final = 11

_VOLT, _MICROAMPERE, _MILLIAMPERE, _AMPERE = 0x3B, 0x3D, 0x39, 0x3F
_OHM, _BEEPER, _DIODE, _FREQUENCY, _FARAD = 0x33, 0x35, 0x31, 0x32, 0x36
_FUNCTIONS: Final = {
    _VOLT: Function.VOLTAGE,
    _MICROAMPERE: Function.CURRENT,
    _MILLIAMPERE: Function.CURRENT,
    _AMPERE: Function.CURRENT,
    _OHM: Function.RESISTANCE,
    _BEEPER: Function.CONTINUITY,
    _DIODE: Function.DIODE,
    _FREQUENCY: Function.FREQUENCY,
    _FARAD: Function.CAPACITANCE,
}
_ONE_RANGE: Final = frozenset({_BEEPER, _DIODE, _AMPERE})
"""Functions whose range code is always 30."""

_SCALES: Final = Scales(
    counts=4000,
    exponents={
        Function.RESISTANCE: {code: code - 1 for code in range(6)},
        # assumed to be the first ohm range: the source gives the code and no scale
        Function.CONTINUITY: {0: -1},
        Function.VOLTAGE: {code: code - 4 for code in range(5)},
        Function.CURRENT: {0: -5, 1: -4},
        Function.FREQUENCY: {code: code for code in range(6)},
        Function.CAPACITANCE: {code: code - 12 for code in range(8)},
        Function.OTHER: {code: code + 1 for code in range(6)},
    },
    unscaled=frozenset({Function.DIODE}),
)
"""Power of ten of the last digit by range code; revolutions a minute are `OTHER`."""

_RANGES: Final = odd(bytes(range(0x30, 0x38)))
_BLOCK: Final = (
    _RANGES,
    *(4 * (odd(DIGITS),)),
    odd(bytes(_FUNCTIONS)),
    *(3 * (odd(THREES),)),
    odd(LINE_END[:1]),
    odd(LINE_END[1:]),
)
_LEGAL: Final = 2 * _BLOCK


def _next_start(window: bytes) -> int:
    """Where, in a stretch of two blocks that is no pair, the next pair may begin."""
    for start in range(1, 2 * LENGTH):
        first, second = window[start : start + LENGTH], window[start + LENGTH :]
        if first.startswith(second) and all(
            byte in legal for byte, legal in zip(first, _LEGAL, strict=False)
        ):
            return start
    return 2 * LENGTH


def _understand(pair: bytes) -> Reading:
    """Read two copies of a block."""
    first, second = pair[:LENGTH], pair[LENGTH:]
    seven = without_odd_parity(first)
    check_block(seven, range(1, 5), _FUNCTIONS)
    if first != second:
        place = next(place for place in range(LENGTH) if first[place] != second[place])
        raise NoFrameError(
            f"byte {place} of the second copy is {second[place]:02X}, "
            f"expected {first[place]:02X} as in the first"
        )
    code, status = seven[5], seven[6] & 0x0F
    function, scaled_here = _FUNCTIONS[code], code not in {_MICROAMPERE, _AMPERE}
    if code == _FREQUENCY:
        function = Function.FREQUENCY if status & JUDGE else Function.OTHER
    elif status & JUDGE:
        raise NoFrameError(
            f"byte 6 is {seven[6]:02X}: its judge bit is set outside frequency; the meter may "
            "send another kind of block"
        )
    if code in _ONE_RANGE and seven[0] != 0x30:  # noqa: PLR2004 - the one code
        raise NoFrameError(f"range code {seven[0]:02X} is none of {function}")
    block = Block(function, seven[0] - 0x30, seven[1:5].decode(), status)
    return _SCALES.reading(block, pair, scaled_here=scaled_here)


_CODE_OF: Final = {
    Function.RESISTANCE: _OHM,
    Function.CONTINUITY: _BEEPER,
    Function.VOLTAGE: _VOLT,
    Function.CURRENT: _MILLIAMPERE,
    Function.FREQUENCY: _FREQUENCY,
    Function.CAPACITANCE: _FARAD,
}


def _encode(display: Display) -> bytes:
    if display.function not in _CODE_OF:
        raise ValueError(f"block11 has no function code of its own for {display.function}")
    digits, range_code, status = _SCALES.digits_and_range(display, 4)
    status |= JUDGE if display.function is Function.FREQUENCY else 0
    block = b"%c%b%c%c00%b" % (
        0x30 + range_code,
        digits.encode(),
        _CODE_OF[display.function],
        0x30 + status,
        LINE_END,
    )
    return 2 * with_odd_parity(block)


_BASIS: Final = (
    "printed codes, order of the bytes from memory, frame constructed and sent twice; "
    "see reference_data/wire_frames.csv"
)


def _example(
    hex_text: str,
    value: float | None,
    function: Function = Function.RESISTANCE,
    flags: frozenset[Flag] = frozenset(),
) -> Example:
    raw = 2 * bytes.fromhex(hex_text)
    return Example(raw, _BASIS, function, value, value is None, flags)


def _bad(hex_text: str, why: str) -> Example:
    return Example(bytes.fromhex(hex_text), f"{_BASIS}; {why}", valid=False)


class _Block11:
    """The format, as `coilmeter.wire.contract.Format` describes one."""

    name = "block11"
    settings = SerialSettings(2400, 7, "O", 1, dtr=True, rts=False, wake=b"H")
    facts = Facts(
        title="eleven-byte blocks with parity, each sent twice by hand-held 4000-count meters",
        starts="the meter, once its data output is on: by the letter H from the computer, or "
        "by light into its socket",
        tells="function, digits, range (so resolution and full scale), minus, low battery, "
        "overload and on which range; parity and the second copy uncover damage: no single "
        "flipped bit passes",
        cannot_tell="automatic or manual range, relative, AC or DC (option bytes whose layout "
        "was not found); hold, since the meter always sends the present value; the scale of "
        "its diode, ampere and microampere ranges, whose readings have no value. The same bits "
        "flipped in both copies pass. The order of the bytes and DTR on with RTS off are from "
        "memory, not verified.",
        flags=frozenset({Flag.LOW_BATTERY, Flag.NEGATIVE}),
        lookalikes=(
            "blocks of 40 000-count meters: 12345 in ohms reads as -2.345 kohm here",
            "blocks of other chips of the family: their low battery reads as minus here",
            "blocks of 6000-count meters: refused here above 4000 counts, else the same ohms",
        ),
    )
    examples = (
        _example("B0 B0 B0 B0 B0 B3 B0 B0 B0 0D 8A", 0.0),
        _example("B0 32 B3 34 B5 B3 B0 B0 B0 0D 8A", 234.5),
        _example("32 32 B3 34 B5 B3 B0 B0 B0 0D 8A", 23450.0),
        _example("B5 32 B3 34 B5 B3 B0 B0 B0 0D 8A", 23.45e6),
        _example("B5 34 B0 B0 B0 B3 31 B0 B0 0D 8A", None),
        _example("B0 34 B0 B0 B0 B3 B3 B0 B0 0D 8A", None, flags=frozenset({Flag.LOW_BATTERY})),
        _example("B0 B0 31 32 B3 B5 B0 B0 B0 0D 8A", 12.3, Function.CONTINUITY),
        _example(
            "31 31 32 B3 34 3B 34 B0 B0 0D 8A",
            -1.234,
            Function.VOLTAGE,
            frozenset({Flag.NEGATIVE}),
        ),
        _bad(2 * "B0 32 BA 34 B5 B3 B0 B0 B0 0D 8A", "3A is no digit"),
        _bad(2 * "B6 32 B3 34 B5 B3 B0 B0 B0 0D 8A", "no such range in ohms"),
        _bad(2 * "B0 32 33 34 B5 B3 B0 B0 B0 0D 8A", "parity of byte 2"),
        _bad("B0 32 B3 34 B5 B3 B0 B0 B0 0D 8A", "the second copy is missing"),
        _bad(
            "B0 32 B3 34 B5 B3 B0 B0 B0 0D 8A B0 32 B3 34 B6 B3 B0 B0 B0 0D 8A",
            "the copies differ",
        ),
    )

    def decoder(self) -> FrameDecoder:
        """Make a decoder for one stream."""
        return FrameDecoder(2 * LENGTH, _understand, _next_start)

    def encode(self, display: Display) -> bytes:
        """Make the two copies of a block that a meter sends for what it shows.

        Raises
        ------
        ValueError
            When a meter of 4000 counts has no range that shows it.

        """
        return _encode(display)


FORMAT: Final[Format] = _Block11()
