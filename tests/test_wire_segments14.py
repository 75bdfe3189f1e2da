"""The format segments14: the shapes of digits, the signs, and both orders of its first byte."""

from __future__ import annotations

import pytest

from coilmeter.values import Flag, Function, Reading
from coilmeter.wire.contract import Display, Rejected
from coilmeter.wire.segments14 import _GLYPHS, FORMAT

AUTO, MANUAL = frozenset({Flag.AUTO}), frozenset({Flag.MANUAL})

# the ordinary seven-segment shapes, by the names of their segments: common practice, no source
SHAPES = {
    "0": "abcdef",
    "1": "bc",
    "2": "abdeg",
    "3": "abcdg",
    "4": "bcfg",
    "5": "acdfg",
    "6": "acdefg",
    "7": "abc",
    "8": "abcdefg",
    "9": "abcdfg",
    "L": "def",
    " ": "",
}


def answer_to(low: str) -> Reading | Rejected:
    """Decode a frame of which the low nibbles are given as fourteen hex digits."""
    frame = bytes(place << 4 | int(digit, 16) for place, digit in enumerate(low, 1))
    (answer,) = FORMAT.decoder().feed(frame)
    return answer


def reading(low: str) -> Reading:
    """Decode low nibbles, and expect a reading."""
    answer = answer_to(low)
    assert isinstance(answer, Reading)
    return answer


def refused(low: str) -> str:
    """Decode low nibbles, and expect a reason why they are none."""
    answer = answer_to(low)
    assert isinstance(answer, Rejected)
    return answer.reason


def test_the_map_of_segments_makes_ordinary_digits() -> None:
    """One order of segments, e f a d c g b, gives every digit its common shape.

    This shows that the map from memory is sound in itself, not that it is true of a meter.
    The 7 has the hook in some displays; here it has none.
    """
    drawn = {
        glyph: "".join(sorted(name for bit, name in enumerate("bgcdafe") if code >> bit & 1))
        for code, glyph in _GLYPHS.items()
    }

    assert drawn == SHAPES


@pytest.mark.parametrize(
    ("first", "flags"),
    [(1, MANUAL), (3, AUTO), (8, MANUAL), (0xC, AUTO), (0, frozenset()), (5, frozenset())],
)
def test_the_first_byte_is_read_in_either_order(
    first: int, flags: frozenset[Flag]
) -> None:
    """In ohms 1 and 3 or 8 and C tell manual and automatic; another nibble tells nothing."""
    found = reading(f"{first:X}5B1F277E00400"[:1] + "5B1FA77E" + "0" + "0400")

    assert flags == found.flags
    assert found.is_ohms


@pytest.mark.parametrize(
    ("low", "function", "value", "display"),
    [
        ("55B9F277E00040", Function.DC_VOLTAGE, 2.346, "2.346 V"),
        ("A5B9F277E00040", Function.DC_VOLTAGE, 2.346, "2.346 V"),
        ("95B9F277E00040", Function.AC_VOLTAGE, 2.346, "2.346 V"),
        ("B5B9F277E00040", Function.AC_VOLTAGE, 2.346, "2.346 V"),
        ("D5B9F277E00040", Function.AC_VOLTAGE, 2.346, "2.346 V"),
        ("15B9F277E00040", Function.VOLTAGE, 2.346, "2.346 V"),
        ("55B9F277E10040", Function.DIODE, 2.346, "2.346 V"),
        ("E5B9F277E08080", Function.DC_CURRENT, 2.346e-3, "2.346 mA"),
        ("95B9F277E80080", Function.AC_CURRENT, 2.346e-6, "2.346 uA"),
        ("15B9F277E00080", Function.CURRENT, 2.346, "2.346 A"),
        ("15B9F277E40800", Function.CAPACITANCE, 2.346e-9, "2.346 nF"),
        ("15B9F277E20020", Function.FREQUENCY, 2346.0, "2.346 kHz"),
        ("15B9F277E04000", Function.OTHER, 2.346, "2.346 %"),
        ("15B9F277E00000", Function.OTHER, 2.346, "2.346"),
        ("15B9F277E01400", Function.CONTINUITY, 2.346, "2.346 ohm"),
        ("15B1F277E02400", Function.RESISTANCE, 2346e6, "2346 Mohm"),
        ("1001F277E00400", Function.RESISTANCE, 346.0, "346 ohm"),
    ],
)
def test_every_sign(low: str, function: Function, value: float, display: str) -> None:
    """The signs tell function and unit; what is not ohms never passes for ohms."""
    found = reading(low + "0")

    assert function is found.function
    assert found.value == pytest.approx(value, rel=1e-12)
    assert display == found.display


def test_flags_and_over_range_with_a_minus() -> None:
    """Hold, relative and low battery are read beside an over-range, and so is its minus."""
    found = reading("38068000002710" + "0" if False else "3807D6800024710"[:0] + "38" "07" "D" "E" "8" "0" "0" "2" "0" "7" "1" "0")

    assert found.overload
    assert found.flags == {
        Flag.AUTO,
        Flag.HOLD,
        Flag.RELATIVE,
        Flag.LOW_BATTERY,
        Flag.NEGATIVE,
    }
