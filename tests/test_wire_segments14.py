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


BASE = bytes.fromhex("13 25 3B 41 5F 62 77 8B 9E A0 B0 C4 D0 E0")  # 234.5 ohm, automatic


def changed(signs: str = "0040", first: str = "3") -> bytes:
    """Give the frame of 234.5 with other signs in bytes 10 to 13, or another first nibble."""
    low = [int(BASE[place]) & 0x0F for place in range(14)]
    low[0] = int(first, 16)
    low[9:13] = [int(sign, 16) for sign in signs]
    return bytes(place << 4 | nibble for place, nibble in enumerate(low, 1))


def answer_to(frame: bytes) -> Reading | Rejected:
    """Decode one frame, and expect one answer."""
    (answer,) = FORMAT.decoder().feed(frame)
    return answer


def reading(frame: bytes) -> Reading:
    """Decode one frame, and expect a reading."""
    answer = answer_to(frame)
    assert isinstance(answer, Reading)
    return answer


def refused(frame: bytes) -> str:
    """Decode one frame, expect that it is refused, and give the reason."""
    answer = answer_to(frame)
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
    [
        ("1", MANUAL),
        ("3", AUTO),
        ("8", MANUAL),
        ("C", AUTO),
        ("0", frozenset()),
        ("5", frozenset()),
        ("F", frozenset()),
    ],
)
def test_the_first_byte_is_read_in_either_order(first: str, flags: frozenset[Flag]) -> None:
    """In ohms 1 and 3 or 8 and C tell manual and automatic; another nibble tells nothing."""
    found = reading(changed(first=first))

    assert flags == found.flags
    assert found.value == 234.5


@pytest.mark.parametrize(
    ("first", "signs", "function", "value", "display"),
    [
        ("5", "0004", Function.DC_VOLTAGE, 234.5, "234.5 V"),
        ("7", "0004", Function.DC_VOLTAGE, 234.5, "234.5 V"),
        ("A", "0804", Function.DC_VOLTAGE, 0.2345, "234.5 mV"),
        ("E", "0004", Function.DC_VOLTAGE, 234.5, "234.5 V"),
        ("9", "0004", Function.AC_VOLTAGE, 234.5, "234.5 V"),
        ("B", "0004", Function.AC_VOLTAGE, 234.5, "234.5 V"),
        ("D", "0004", Function.AC_VOLTAGE, 234.5, "234.5 V"),
        ("1", "0004", Function.VOLTAGE, 234.5, "234.5 V"),
        ("5", "1004", Function.DIODE, 234.5, "234.5 V"),
        ("E", "0808", Function.DC_CURRENT, 0.2345, "234.5 mA"),
        ("9", "8008", Function.AC_CURRENT, 234.5e-6, "234.5 uA"),
        ("1", "0008", Function.CURRENT, 234.5, "234.5 A"),
        ("1", "4080", Function.CAPACITANCE, 234.5e-9, "234.5 nF"),
        ("1", "2002", Function.FREQUENCY, 234.5e3, "234.5 kHz"),
        ("1", "0400", Function.OTHER, 234.5, "234.5 %"),
        ("1", "0000", Function.OTHER, 234.5, "234.5"),
        ("1", "0140", Function.CONTINUITY, 234.5, "234.5 ohm"),
        ("1", "0240", Function.RESISTANCE, 234.5e6, "234.5 Mohm"),
    ],
)
def test_every_sign(
    first: str, signs: str, function: Function, value: float, display: str
) -> None:
    """The signs tell function and unit; what is not ohms never passes for ohms."""
    found = reading(changed(signs, first))

    assert function is found.function
    assert found.value == pytest.approx(value, rel=1e-12)
    assert display == found.display
    assert found.is_ohms == display.endswith("ohm")


def test_flags_beside_an_over_range_with_a_minus() -> None:
    """Hold, relative, low battery and the minus are read; the point tells the resolution."""
    found = reading(bytes.fromhex("13 28 30 47 5D 6E 78 80 90 A0 B2 C7 D1 E0"))

    assert found.overload
    assert found.flags == {
        Flag.AUTO,
        Flag.HOLD,
        Flag.RELATIVE,
        Flag.LOW_BATTERY,
        Flag.NEGATIVE,
    }
    assert (found.resolution, found.full_scale, found.display) == (10e3, None, "-OL Mohm")


@pytest.mark.parametrize(
    ("text", "value", "display"),
    [
        ("13 20 30 41 5F 62 77 83 9E A0 B0 C4 D0 E0", 345.0, "345 ohm"),
        ("13 20 35 4D 5B 61 7F 82 97 A2 B0 C4 D0 E0", 1234.0, "1.234 kohm"),
        ("13 28 35 4D 5B 61 7F 82 97 A2 B0 C4 D0 E0", -1234.0, "-1.234 kohm"),
    ],
)
def test_blanks_before_a_number_and_the_point(text: str, value: float, display: str) -> None:
    """A display may leave leading places dark, have no point, or a minus."""
    found = reading(bytes.fromhex(text))

    assert value == found.value
    assert display == found.display


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("13 25 3B 41 5F 42 77 8B 9E A0 B0 C4 D0 E0", "byte 5 is 42, expected 60 to 6F"),
        ("13 25 3B 42 59 62 77 8B 9E A0 B0 C4 D0 E0", "segments 29, which are no digit"),
        ("13 25 3B 49 5F 62 77 8B 9E A0 B0 C4 D0 E0", "two points are lit"),
        ("13 20 30 40 50 60 70 80 90 A0 B0 C4 D0 E0", "no gap behind the first"),
        ("13 25 3B 41 5F 62 77 80 90 A0 B0 C4 D0 E0", "'234 ', expected no gap"),
        ("13 25 3B 47 5D 6E 78 80 90 A0 B2 C4 D0 E0", "'20L ', expected a number or 0.L"),
        ("13 26 38 47 5D 6E 78 80 90 A0 B2 C4 D0 E0", "'L0L ', expected a number or 0.L"),
    ],
)
def test_the_reason_names_the_byte(text: str, reason: str) -> None:
    """A refusal says which byte is wrong and what was expected there."""
    assert reason in refused(bytes.fromhex(text))


@pytest.mark.parametrize(
    ("signs", "reason"),
    [
        ("2240", "prefixes k and M are lit"),
        ("0044", "units ohm and V are lit"),
        ("0440", "units ohm and % are lit"),
        ("0840", "prefix m is lit with ohm"),
        ("1040", "diode sign is lit with ohm"),
    ],
)
def test_signs_that_exclude_each_other_are_refused(signs: str, reason: str) -> None:
    """No display shows them, so that a frame with them is damaged."""
    assert reason in refused(changed(signs))


@pytest.mark.parametrize(
    ("display", "expected"),
    [
        (Display(234.5, 0.1, 400.0), "11 25 3B 41 5F 62 77 8B 9E A0 B0 C4 D0 E0"),
        (Display(1234.0, 1.0, 4e3), "11 20 35 4D 5B 61 7F 82 97 A2 B0 C4 D0 E0"),
        (Display(1234.0, 1e3, 4e6), "11 27 3D 4F 5D 67 7D 80 95 A0 B2 C4 D0 E0"),
        (
            Display(0.0, 10e3, 40e6, overload=True, flags=AUTO | {Flag.NEGATIVE}),
            "13 28 30 47 5D 6E 78 80 90 A0 B2 C4 D0 E0",
        ),
        (
            Display(-1.234, 1e-3, 4.0, function=Function.DC_VOLTAGE, flags=AUTO),
            "17 28 35 4D 5B 61 7F 82 97 A0 B0 C0 D4 E0",
        ),
        (
            Display(
                12.3, 0.1, 400.0, function=Function.CONTINUITY, flags=frozenset({Flag.BEEP})
            ),
            "11 27 3D 40 55 65 7B 89 9F A0 B1 C4 D0 E0",
        ),
    ],
)
def test_the_encoder_lights_the_display(display: Display, expected: str) -> None:
    """Digits, point and prefix are those of the range."""
    assert bytes.fromhex(expected) == FORMAT.encode(display)


@pytest.mark.parametrize(
    ("display", "reason"),
    [
        (Display(1.0, 1e-4, 4.0), "no point shows 0.0001"),
        (Display(1000.0, 0.1, 400.0), "four digits are too few"),
        (Display(1.0, 0.1, 4.0, function=Function.TEMPERATURE), "no sign for temperature"),
        (Display(1.0, 0.1, 4.0, flags=frozenset({Flag.BEEP})), "in continuity only"),
        (Display(1.0, 0.1, 4.0, flags=AUTO | MANUAL), "not both"),
    ],
)
def test_the_encoder_refuses_what_the_display_cannot_show(
    display: Display, reason: str
) -> None:
    """A display that this format has no bytes for is refused with the reason."""
    with pytest.raises(ValueError, match=reason):
        FORMAT.encode(display)
