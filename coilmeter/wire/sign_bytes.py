"""The four bytes of display signs that ``digits14`` carries, read and written.

====  ================================================================================
byte  bits, 7 first
====  ================================================================================
1     0, 0, automatic range, DC, AC, relative, hold, bar shown
2     Z1, Z2, max, min, power-off, low battery, nano, Z3
3     micro, milli, kilo, mega, beeper, diode, percent, Z4
4     V, A, ohm, hFE, Hz, F, degC, degF
====  ================================================================================

The Z bits are 0 in the printed map; makers put signs of their own there, so a set one is
read as a sign we do not know, not as damage.  Two combinations that the map allows are
refused all the same, since no meter shows them and a damaged frame may: ohms with micro,
milli or nano, and ohms with the diode sign.

Source of the map: header of ``reference_data/wire_frames.csv``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from coilmeter.values import Flag, Function
from coilmeter.wire.framing import NoFrameError
from coilmeter.wire.scaling import UNIT_OF

_AUTO, _DC, _AC, _RELATIVE, _HOLD = 0x20, 0x10, 0x08, 0x04, 0x02
_MAXIMUM, _MINIMUM, _BATTERY, _NANO = 0x20, 0x10, 0x04, 0x02
_MICRO, _MILLI, _KILO, _MEGA = 0x80, 0x40, 0x20, 0x10
_BEEPER, _DIODE, _PERCENT = 0x08, 0x04, 0x02
_Z_OF_SECOND, _Z_OF_THIRD = 0xC1, 0x01
_VOLT, _AMPERE, _OHM, _HFE, _HERTZ, _FARAD, _CELSIUS, _FAHRENHEIT = (
    1 << bit for bit in range(7, -1, -1)
)
_PREFIXES: Final = (
    (2, _NANO, (-9, "n")),
    (3, _MICRO, (-6, "u")),
    (3, _MILLI, (-3, "m")),
    (3, _KILO, (3, "k")),
    (3, _MEGA, (6, "M")),
)
"""Byte and bit of each prefix, its power of ten and its letter."""

_NAMES: Final = {
    _VOLT: "V",
    _AMPERE: "A",
    _OHM: "ohm",
    _HFE: "hFE",
    _HERTZ: "Hz",
    _FARAD: "F",
    _CELSIUS: "degC",
    _FAHRENHEIT: "degF",
}
_ALONE: Final = {
    _HFE: Function.OTHER,
    _HERTZ: Function.FREQUENCY,
    _FARAD: Function.CAPACITANCE,
    _CELSIUS: Function.TEMPERATURE,
    _FAHRENHEIT: Function.TEMPERATURE,
}
_BY_CURRENT: Final = {
    _VOLT: (Function.VOLTAGE, Function.DC_VOLTAGE, Function.AC_VOLTAGE),
    _AMPERE: (Function.CURRENT, Function.DC_CURRENT, Function.AC_CURRENT),
}
_FIRST_BITS: Final = {Flag.AUTO: _AUTO, Flag.RELATIVE: _RELATIVE, Flag.HOLD: _HOLD}
_SECOND_BITS: Final = {
    Flag.MAXIMUM: _MAXIMUM,
    Flag.MINIMUM: _MINIMUM,
    Flag.LOW_BATTERY: _BATTERY,
}


@dataclass(frozen=True, slots=True)
class Signs:
    """What the four bytes say.

    Parameters
    ----------
    function, unit, flags
        As in `coilmeter.values.Reading`.
    exponent
        Power of ten of the prefix.
    unit_text
        Prefix and unit as the display shows them; empty where no unit is lit.
    fahrenheit
        Whether the temperature is in degree Fahrenheit.

    """

    function: Function
    unit: str
    flags: frozenset[Flag]
    exponent: int
    unit_text: str
    fahrenheit: bool


@lru_cache(maxsize=4096)
def read_signs(status: bytes) -> Signs:
    """Read the four bytes, which repeat while a range lasts.

    Raises
    ------
    NoFrameError
        When a bit that is always 0 is set, or signs are lit that exclude each other.

    """
    first, second, third, unit_bits = status
    if first & 0xC0:
        raise NoFrameError(f"sign byte 1 is {first:02X}, expected its two top bits to be 0")
    lit = [
        entry
        for byte, bit, entry in _PREFIXES
        if (third if byte == 3 else second) & bit  # noqa: PLR2004 - bytes count from 1
    ]
    if len(lit) > 1:
        letters = " and ".join(letter for _, letter in lit)
        raise NoFrameError(f"the prefixes {letters} are lit together, expected one")
    exponent, letter = lit[0] if lit else (0, "")
    function = _function(first, second, third, unit_bits)
    if unit_bits == _OHM and exponent < 0:
        raise NoFrameError(f"prefix {letter} is lit with ohm, expected kilo, mega or none")
    name = "%" if third & _PERCENT else _NAMES.get(unit_bits, "")
    return Signs(
        function=function,
        unit=UNIT_OF[function],
        flags=_flags(first, second, beeper=function is Function.CONTINUITY),
        exponent=exponent,
        unit_text=letter + name,
        fahrenheit=unit_bits == _FAHRENHEIT,
    )


def _function(first: int, second: int, third: int, unit_bits: int) -> Function:
    """Tell from the signs that are lit what is measured."""
    if unit_bits.bit_count() + bool(third & _PERCENT) > 1:
        raise NoFrameError(
            f"sign bytes 3 and 4 are {third:02X} {unit_bits:02X}, expected one unit"
        )
    if unit_bits == _OHM:
        if third & _DIODE:
            raise NoFrameError(f"sign byte 3 is {third:02X}, expected no diode sign with ohm")
        return Function.CONTINUITY if third & _BEEPER else Function.RESISTANCE
    if unit_bits == _VOLT and third & _DIODE:
        return Function.DIODE
    if unit_bits in _BY_CURRENT:
        either, direct, alternating = _BY_CURRENT[unit_bits]
        return {_DC: direct, _AC: alternating}.get(first & (_DC | _AC), either)
    if unit_bits in _ALONE:
        return _ALONE[unit_bits]
    if third & (_PERCENT | _Z_OF_THIRD) or second & _Z_OF_SECOND:
        return Function.OTHER
    raise NoFrameError("sign byte 4 is 00, expected a unit")


def _flags(first: int, second: int, *, beeper: bool) -> frozenset[Flag]:
    lit = [flag for flag, bit in _FIRST_BITS.items() if first & bit]
    lit += [flag for flag, bit in _SECOND_BITS.items() if second & bit]
    lit += [Flag.BEEP] if beeper else []
    return frozenset(lit if Flag.AUTO in lit else [*lit, Flag.MANUAL])


_OHM_PREFIXES: Final = (6, 3, 0)
_ENCODED: Final = {
    Function.RESISTANCE: (_OHM, 0, 0, _OHM_PREFIXES),
    Function.CONTINUITY: (_OHM, 0, _BEEPER, _OHM_PREFIXES),
    Function.DIODE: (_VOLT, _DC, _DIODE, (0,)),
    Function.DC_VOLTAGE: (_VOLT, _DC, 0, (0, -3)),
    Function.AC_VOLTAGE: (_VOLT, _AC, 0, (0, -3)),
    Function.VOLTAGE: (_VOLT, 0, 0, (0, -3)),
    Function.DC_CURRENT: (_AMPERE, _DC, 0, (0, -3, -6)),
    Function.AC_CURRENT: (_AMPERE, _AC, 0, (0, -3, -6)),
    Function.CURRENT: (_AMPERE, 0, 0, (0, -3, -6)),
    Function.CAPACITANCE: (_FARAD, 0, 0, (-3, -6, -9)),
    Function.FREQUENCY: (_HERTZ, 0, 0, (6, 3, 0)),
    Function.TEMPERATURE: (_CELSIUS, 0, 0, (0,)),
    Function.OTHER: (_HFE, 0, 0, (0,)),
}
"""Unit bit, bits of bytes 1 and 3, and the prefixes a display has, largest first."""


def prefixes_of(function: Function) -> tuple[int, ...]:
    """Powers of ten of the prefixes that a display has for a function, largest first.

    Raises
    ------
    ValueError
        When there is no sign for the function.

    """
    if function not in _ENCODED:
        raise ValueError(f"there is no sign for {function}")
    return _ENCODED[function][3]


def write_signs(function: Function, exponent: int, flags: frozenset[Flag]) -> bytes:
    """Make the four bytes; `exponent` is one of `prefixes_of` the function.

    Raises
    ------
    ValueError
        When the beeper sign is to be lit in another function than continuity.

    """
    if Flag.BEEP in flags and function is not Function.CONTINUITY:
        raise ValueError("the beeper sign is lit in continuity only")
    unit_bit, first, third, _ = _ENCODED[function]
    second = 0
    for byte, bit, (power, _) in _PREFIXES:
        if power == exponent:
            second |= bit if byte == 2 else 0  # noqa: PLR2004 - bytes count from 1
            third |= bit if byte == 3 else 0  # noqa: PLR2004 - as above
    first |= sum(bit for flag, bit in _FIRST_BITS.items() if flag in flags)
    second |= sum(bit for flag, bit in _SECOND_BITS.items() if flag in flags)
    return bytes((first, second, third, unit_bit))
