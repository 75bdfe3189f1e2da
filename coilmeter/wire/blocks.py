"""What the blocks ``block11`` and ``block14`` have in common.

Both are ASCII in seven bits with odd parity: a range code, digits, a function code, a status
byte, option bytes, CR LF.  The status byte is 011 and then judge, minus, low battery and
over-range; while the display shows over-range its bit counts and the digits do not.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from coilmeter.values import Flag, Function, Reading
from coilmeter.wire.contract import Display
from coilmeter.wire.framing import NoFrameError
from coilmeter.wire.scaling import UNIT_OF, check_flags, counts, decade, power_of_ten, scaled
from coilmeter.wire.shown import LETTERS, SYMBOL_OF, digits_text, prefix_of

JUDGE, MINUS, BATTERY, OVER = 0x08, 0x04, 0x02, 0x01
LINE_END: Final = b"\r\n"
DIGITS: Final = b"0123456789"
THREES: Final = bytes(range(0x30, 0x40))
"""What status and option bytes may be: 011 and four bits."""


@dataclass(frozen=True, slots=True)
class Block:
    """One block, taken apart.

    Parameters
    ----------
    function
        What its function code means.
    range_code
        Its range byte less 30.
    digits
        Its digits as text.
    status
        The four bits of its status byte.
    flags
        What its options say.

    """

    function: Function
    range_code: int
    digits: str
    status: int
    flags: frozenset[Flag] = frozenset()


@dataclass(frozen=True, slots=True)
class Scales:
    """Ranges of one kind of meter.

    Parameters
    ----------
    counts
        Counts at the end of each range.
    exponents
        By function and range code, the power of ten of the last digit.
    unscaled
        Functions whose ranges are known in part or not at all: without one, a reading has
        no value.

    """

    counts: int
    exponents: Mapping[Function, Mapping[int, int]]
    unscaled: frozenset[Function]

    def reading(self, block: Block, raw: bytes, *, scaled_here: bool = True) -> Reading:
        """Read a block that was taken apart.

        Parameters
        ----------
        block, raw
            The block, and the bytes it came in.
        scaled_here
            False where the function code stands for a function with another scale.

        Raises
        ------
        NoFrameError
            When the range is none of the function, or its digits go past the end of it.

        """
        function, status = block.function, block.status
        exponent = (
            self.exponents.get(function, {}).get(block.range_code) if scaled_here else None
        )
        if exponent is None and scaled_here and function not in self.unscaled:
            raise NoFrameError(
                f"range code {0x30 + block.range_code:02X} is none of {function}"
            )
        over = bool(status & OVER)
        if not over and int(block.digits) > self.counts:
            raise NoFrameError(
                f"{int(block.digits)} counts without over-range, expected {self.counts} at most"
            )
        minus = "-" if status & MINUS else ""
        flags = block.flags
        if status & (MINUS | BATTERY):
            lit = {Flag.NEGATIVE: MINUS, Flag.LOW_BATTERY: BATTERY}
            flags |= {flag for flag, bit in lit.items() if status & bit}
        unit = UNIT_OF[function]
        if exponent is None:
            shown = "OL" if over else f"{int(block.digits)} counts"
            return Reading(
                function, None, unit, over, flags=flags, raw=raw, display=f"{minus}{shown}"
            )
        full_scale = scaled(self.counts, exponent)
        prefix = prefix_of(full_scale)
        text = digits_text(int(block.digits), prefix - exponent, len(block.digits))
        return Reading(
            function,
            None if over else scaled(int(minus + block.digits), exponent),
            unit,
            over,
            power_of_ten(exponent),
            full_scale,
            flags,
            raw,
            f"{minus}{'OL' if over else text} {LETTERS[prefix]}{SYMBOL_OF[function]}".rstrip(),
        )

    def digits_and_range(self, display: Display, most: int) -> tuple[str, int, int]:
        """Give digits, range code and status bits for what a display shows.

        Parameters
        ----------
        display
            What is shown.
        most
            How many digits a block has.

        Raises
        ------
        ValueError
            When this meter has no such range, or the value goes past its end.

        """
        exponent = decade(display.resolution)
        ranges = self.exponents.get(display.function, {})
        code = next((code for code, power in ranges.items() if power == exponent), None)
        if code is None or not math.isclose(
            display.full_scale, scaled(self.counts, exponent), rel_tol=1e-9
        ):
            raise ValueError(
                f"a meter of {self.counts} counts has no range to {display.full_scale} in "
                f"steps of {display.resolution} for {display.function}"
            )
        check_flags(display.flags, shows_minus=display.overload or display.value < 0)
        shown = 0 if display.overload else counts(display.value, exponent)
        if abs(shown) > self.counts:
            raise ValueError(f"{display.value} is past the end of its range")
        minus = Flag.NEGATIVE in display.flags if display.overload else shown < 0
        status = (
            (MINUS if minus else 0)
            | (OVER if display.overload else 0)
            | (BATTERY if Flag.LOW_BATTERY in display.flags else 0)
        )
        return f"{self.counts if display.overload else abs(shown):0{most}d}", code, status


def check_block(seven: bytes, places: range, functions: Mapping[int, object]) -> None:
    """Check what all blocks have in common: digits, function code, 011 bits, line end.

    Parameters
    ----------
    seven
        The block without its parity bits; its first byte is a range code.
    places
        Where its digits stand; the function code stands behind them.
    functions
        The function codes there are.

    Raises
    ------
    NoFrameError
        When a byte is none that can stand there, with its place.

    """
    if seven[-2:] != LINE_END:
        places_of_end = f"{len(seven) - 2} and {len(seven) - 1}"
        raise NoFrameError(
            f"bytes {places_of_end} are {seven[-2:].hex(' ').upper()}, expected 0D 0A"
        )
    if not 0x30 <= seven[0] <= 0x37:  # noqa: PLR2004 - range codes
        raise NoFrameError(f"byte 0 is {seven[0]:02X}, expected a range code, 30 to 37")
    for place in places:
        if seven[place] not in DIGITS:
            raise NoFrameError(f"byte {place} is {seven[place]:02X}, expected a digit")
    if seven[places.stop] not in functions:
        raise NoFrameError(f"byte {places.stop} is {seven[places.stop]:02X}, no function code")
    for place in range(places.stop + 1, len(seven) - 2):
        if seven[place] not in THREES:
            raise NoFrameError(f"byte {place} is {seven[place]:02X}, expected 30 to 3F")
