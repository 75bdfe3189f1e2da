"""The signs of the display that ``segments14`` carries, read and written.

Two combinations are refused though the map allows them, since no meter shows them and a
damaged frame may: ohms with micro, milli or nano, and ohms with the diode sign.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from coilmeter.values import Flag, Function
from coilmeter.wire.framing import NoFrameError
from coilmeter.wire.scaling import UNIT_OF

_MICRO, _NANO, _KILO, _DIODE = 0x8000, 0x4000, 0x2000, 0x1000
_MILLI, _PERCENT, _MEGA, _BEEPER = 0x0800, 0x0400, 0x0200, 0x0100
_FARAD, _OHM, _RELATIVE, _HOLD = 0x0080, 0x0040, 0x0020, 0x0010
_AMPERE, _VOLT, _HERTZ, _BATTERY = 0x0008, 0x0004, 0x0002, 0x0001
"""The signs of bytes 10 to 13 as one number, the nibble of byte 10 first."""

_PREFIXES: Final = {
    _MICRO: (-6, "u"),
    _NANO: (-9, "n"),
    _MILLI: (-3, "m"),
    _KILO: (3, "k"),
    _MEGA: (6, "M"),
}
_UNITS: Final = {
    _FARAD: (Function.CAPACITANCE, "F"),
    _OHM: (Function.RESISTANCE, "ohm"),
    _AMPERE: (Function.CURRENT, "A"),
    _VOLT: (Function.VOLTAGE, "V"),
    _HERTZ: (Function.FREQUENCY, "Hz"),
    _PERCENT: (Function.OTHER, "%"),
}
_FLAGS: Final = {
    Flag.RELATIVE: _RELATIVE,
    Flag.HOLD: _HOLD,
    Flag.LOW_BATTERY: _BATTERY,
}

_AC, _DC, _AUTO, _OUTPUT = 0x8, 0x4, 0x2, 0x1
_ALTERNATING: Final = frozenset({0x9, 0xB, 0xD})
_DIRECT: Final = frozenset({0x5, 0x7, 0xA, 0xE})
_AUTOMATIC: Final = frozenset({0x3, 0x7, 0xB, 0xC, 0xE, 0xD})
_MANUAL: Final = frozenset({0x1, 0x5, 0x9, 0x8, 0xA})
"""Nibbles of byte 1 in either order of its signs: the data output is lit, and AC and DC are
not lit together, so that no nibble means one thing in one order and another in the other."""

_BY_CURRENT: Final = {
    Function.VOLTAGE: (Function.DC_VOLTAGE, Function.AC_VOLTAGE),
    Function.CURRENT: (Function.DC_CURRENT, Function.AC_CURRENT),
}


@dataclass(frozen=True, slots=True)
class Signs:
    """What the signs say.

    Parameters
    ----------
    function, unit, flags
        As in `coilmeter.values.Reading`.
    exponent
        Power of ten of the prefix.
    unit_text
        Prefix and unit as the display shows them; empty where no unit is lit.

    """

    function: Function
    unit: str
    flags: frozenset[Flag]
    exponent: int
    unit_text: str


@lru_cache(maxsize=4096)
def read_signs(first: int, others: bytes) -> Signs:
    """Read the nibble of byte 1 and those of bytes 10 to 13.

    Raises
    ------
    NoFrameError
        When signs are lit that exclude each other.

    """
    signs = int.from_bytes(others[:1]) << 12 | others[1] << 8 | others[2] << 4 | others[3]
    prefixes = [entry for bit, entry in _PREFIXES.items() if signs & bit]
    units = [entry for bit, entry in _UNITS.items() if signs & bit]
    if len(prefixes) > 1:
        letters = " and ".join(letter for _, letter in prefixes)
        raise NoFrameError(f"the prefixes {letters} are lit together, expected one")
    if len(units) > 1:
        names = " and ".join(name for _, name in units)
        raise NoFrameError(f"the units {names} are lit together, expected one")
    exponent, letter = prefixes[0] if prefixes else (0, "")
    function, name = units[0] if units else (Function.OTHER, "")
    if function is Function.RESISTANCE:
        if exponent < 0:
            raise NoFrameError(f"prefix {letter} is lit with ohm, expected k, M or none")
        if signs & _DIODE:
            raise NoFrameError("the diode sign is lit with ohm")
        function = Function.CONTINUITY if signs & _BEEPER else function
    elif function is Function.VOLTAGE and signs & _DIODE:
        function = Function.DIODE
    elif function in _BY_CURRENT:
        direct, alternating = _BY_CURRENT[function]
        function = direct if first in _DIRECT else function
        function = alternating if first in _ALTERNATING else function
    flags = {flag for flag, bit in _FLAGS.items() if signs & bit}
    flags |= {Flag.BEEP} if function is Function.CONTINUITY else set()
    ohms = name == "ohm"
    # AC or DC beside ohms is no state of a display: then the nibble tells nothing
    known = not ohms or first in {0x1, 0x3, 0x8, 0xC}
    flags |= {Flag.AUTO} if known and first in _AUTOMATIC else set()
    flags |= {Flag.MANUAL} if known and first in _MANUAL else set()
    return Signs(function, UNIT_OF[function], frozenset(flags), exponent, letter + name)


_ENCODED: Final = {
    Function.RESISTANCE: (_OHM, 0, (6, 3, 0)),
    Function.CONTINUITY: (_OHM | _BEEPER, 0, (6, 3, 0)),
    Function.DIODE: (_VOLT | _DIODE, _DC, (0,)),
    Function.DC_VOLTAGE: (_VOLT, _DC, (0, -3)),
    Function.AC_VOLTAGE: (_VOLT, _AC, (0, -3)),
    Function.VOLTAGE: (_VOLT, 0, (0, -3)),
    Function.DC_CURRENT: (_AMPERE, _DC, (0, -3, -6)),
    Function.AC_CURRENT: (_AMPERE, _AC, (0, -3, -6)),
    Function.CURRENT: (_AMPERE, 0, (0, -3, -6)),
    Function.CAPACITANCE: (_FARAD, 0, (-3, -6, -9)),
    Function.FREQUENCY: (_HERTZ, 0, (6, 3, 0)),
    Function.OTHER: (_PERCENT, 0, (0,)),
}
"""Signs of bytes 10 to 13, of byte 1, and the prefixes a display has, largest first."""


def prefixes_of(function: Function) -> tuple[int, ...]:
    """Powers of ten of the prefixes that a display has for a function, largest first.

    Raises
    ------
    ValueError
        When there is no sign for the function.

    """
    if function not in _ENCODED:
        raise ValueError(f"there is no sign for {function}")
    return _ENCODED[function][2]


def write_signs(function: Function, exponent: int, flags: frozenset[Flag]) -> tuple[int, bytes]:
    """Make the nibble of byte 1 and those of bytes 10 to 13.

    Parameters
    ----------
    function, exponent, flags
        What is shown; `exponent` is one of `prefixes_of` the function.

    Raises
    ------
    ValueError
        When the beeper sign is to be lit in another function than continuity.

    """
    if Flag.BEEP in flags and function is not Function.CONTINUITY:
        raise ValueError("the beeper sign is lit in continuity only")
    signs, first, _ = _ENCODED[function]
    signs |= sum(bit for bit, (power, _) in _PREFIXES.items() if power == exponent)
    signs |= sum(bit for flag, bit in _FLAGS.items() if flag in flags)
    first |= _OUTPUT | (_AUTO if Flag.AUTO in flags else 0)
    return first, bytes(signs >> shift & 0x0F for shift in (12, 8, 4, 0))
