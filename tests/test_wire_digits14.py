"""The format digits14: published byte map, rejection rules, and what it cannot notice."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from coilmeter.values import Flag, Function, Reading
from coilmeter.wire import formats
from coilmeter.wire.contract import Display, Rejected
from coilmeter.wire.digits14 import FORMAT

REFERENCE = Path(__file__).parent.parent / "reference_data" / "wire_frames.csv"
# words of the reference file that are part of the function here, not flags
IN_THE_FUNCTION = {"dc", "ac", "diode"}


def reference_rows() -> list[dict[str, str]]:
    """Read the published frames; the sources stand in the header of the file."""
    with REFERENCE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


ROWS = reference_rows()
# The rows of all formats are decoded in tests/test_wire_frames.py; these are taken apart here.
VALID = [row for row in ROWS if row["format"] == "digits14" and row["valid"] == "1"]
CORRUPT = [row for row in ROWS if row["format"] == "digits14" and row["valid"] == "0"]


def decode(text: str) -> Reading | Rejected:
    """Decode one frame written in hex, and expect one answer."""
    (answer,) = FORMAT.decoder().feed(bytes.fromhex(text))
    return answer


def reading(text: str) -> Reading:
    """Decode one frame written in hex, and expect a reading."""
    answer = decode(text)
    assert isinstance(answer, Reading)
    return answer


def refused(text: str) -> str:
    """Decode one frame written in hex, expect that it is refused, and give the reason."""
    answer = decode(text)
    assert isinstance(answer, Rejected)
    return answer.reason


@pytest.mark.parametrize("row", VALID, ids=lambda row: row["hex"])
def test_a_published_frame_decodes(row: dict[str, str]) -> None:
    """Function, value, unit, overload and flags are those of the reference file."""
    found = reading(row["hex"])

    expected_flags = set(row["flags"].split()) - IN_THE_FUNCTION
    assert row["function"] == found.function
    assert (float(row["value"]) if row["value"] else None) == found.value
    assert row["unit"] == found.unit
    assert (row["overload"] == "1") == found.overload
    assert expected_flags == {str(flag) for flag in found.flags}


@pytest.mark.parametrize("row", CORRUPT, ids=lambda row: row["note"])
def test_a_corrupt_frame_is_refused(row: dict[str, str]) -> None:
    """No reading comes of it, and the good frame behind it is not lost."""
    good = bytes.fromhex(VALID[1]["hex"])

    answers = FORMAT.decoder().feed(bytes.fromhex(row["hex"]) + good)

    assert [good] == [answer.raw for answer in answers if isinstance(answer, Reading)]
    assert isinstance(answers[0], Rejected)


def test_the_reference_file_is_complete() -> None:
    """Every family of formats is there, with all its frames."""
    counts = {name: sum(row["format"] == name for row in ROWS) for name in sorted(formats())}

    assert len(ROWS) == 151
    assert (len(VALID), len(CORRUPT)) == (16, 7)
    assert counts["digits14"] == 23


@pytest.mark.parametrize(
    ("text", "function", "value", "unit", "display"),
    [
        ("2B 30 35 36 37 20 31 10 00 04 80", Function.DIODE, 0.567, "volt", "0.567 V"),
        ("2B 31 32 33 34 20 34 10 00 40 80", Function.DC_VOLTAGE, 0.1234, "volt", "123.4 mV"),
        ("2B 31 32 33 34 20 30 18 00 00 80", Function.VOLTAGE, 1234.0, "volt", "1234 V"),
        ("2B 31 32 33 34 20 30 00 00 00 80", Function.VOLTAGE, 1234.0, "volt", "1234 V"),
        (
            "2D 31 32 33 34 20 32 10 00 40 40",
            Function.DC_CURRENT,
            -0.01234,
            "ampere",
            "-12.34 mA",
        ),
        (
            "2B 31 32 33 34 20 34 08 00 80 40",
            Function.AC_CURRENT,
            1.234e-4,
            "ampere",
            "123.4 uA",
        ),
        ("2B 31 32 33 34 20 31 00 00 00 40", Function.CURRENT, 1.234, "ampere", "1.234 A"),
        ("2B 31 32 33 34 20 31 00 00 20 08", Function.FREQUENCY, 1234.0, "hertz", "1.234 kHz"),
        (
            "2B 30 37 34 33 20 34 00 00 00 01",
            Function.TEMPERATURE,
            23.5,
            "degree_Celsius",
            "074.3 degF",
        ),
        ("2B 30 32 31 30 20 30 00 00 00 10", Function.OTHER, 210.0, "", "0210 hFE"),
        ("2B 30 35 30 30 20 34 00 00 02 00", Function.OTHER, 50.0, "", "050.0 %"),
        ("2B 30 35 30 30 20 30 00 80 00 00", Function.OTHER, 500.0, "", "0500"),
        ("2B 30 35 30 30 20 30 00 00 01 00", Function.OTHER, 500.0, "", "0500"),
        ("2D 30 30 30 30 20 34 00 00 00 20", Function.RESISTANCE, 0.0, "ohm", "-000.0 ohm"),
    ],
)
def test_every_function_of_the_byte_map(
    text: str, function: Function, value: float, unit: str, display: str
) -> None:
    """The signs tell function and unit; what is not ohms never passes for ohms."""
    found = reading(f"{text} 00 0D 0A")

    assert function is found.function
    assert value == pytest.approx(found.value, rel=1e-12, abs=1e-12)
    assert unit == found.unit
    assert display == found.display
    assert found.is_ohms == (unit == "ohm")


def test_resolution_is_the_last_digit_and_full_scale_is_not_told() -> None:
    """Decimal code and prefix give the last digit, of an overload and in Fahrenheit too."""
    assert reading("2B 32 33 34 35 20 32 20 00 10 20 00 0D 0A").resolution == 10e3
    assert reading("2B 32 33 34 35 20 34 20 00 00 20 00 0D 0A").resolution == 0.1
    fahrenheit = reading("2B 30 37 34 33 20 34 00 00 00 01 00 0D 0A").resolution
    assert fahrenheit == pytest.approx(0.1 / 1.8)
    overload = reading("2B 3F 30 3A 3F 20 34 00 00 00 20 00 0D 0A")
    assert (overload.resolution, overload.full_scale) == (0.1, None)


def test_flags_of_all_four_kinds() -> None:
    """Hold, relative, max, min and low battery are read, minus on an overload too."""
    found = reading("2D 3F 30 3A 3F 20 34 26 34 00 20 00 0D 0A")

    assert found.flags == {
        Flag.AUTO,
        Flag.RELATIVE,
        Flag.HOLD,
        Flag.MAXIMUM,
        Flag.MINIMUM,
        Flag.LOW_BATTERY,
        Flag.NEGATIVE,
    }
    assert found.display == "-OL ohm"


@pytest.mark.parametrize("place", [(8, 0x80), (8, 0x40), (8, 0x01), (9, 0x01)])
def test_a_sign_of_the_makers_own_is_not_damage(place: tuple[int, int]) -> None:
    """A Z bit is a sign we do not know: the resistance beside it stands."""
    frame = bytearray.fromhex("2B 32 33 34 35 20 34 20 00 00 20 00 0D 0A")
    frame[place[0]] |= place[1]

    assert reading(frame.hex()).value == 234.5


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("2B 3F 30 3A 3A 20 34 20 00 00 20 00 0D 0A", "byte 1 is 3F"),
        ("2B 32 33 34 35 21 34 20 00 00 20 00 0D 0A", "byte 5 is 21"),
        ("2B 32 33 34 35 20 2F 20 00 00 20 00 0D 0A", "byte 6 is 2F"),
        ("2B 32 33 34 35 20 34 A0 00 00 20 00 0D 0A", "two top bits"),
        ("2B 32 33 34 35 20 34 20 02 20 20 00 0D 0A", "prefixes n and k"),
        ("2B 32 33 34 35 20 34 20 00 40 20 00 0D 0A", "prefix m is lit with ohm"),
        ("2B 32 33 34 35 20 34 20 00 04 20 00 0D 0A", "no diode sign with ohm"),
        ("2B 32 33 34 35 20 34 20 00 02 20 00 0D 0A", "expected one unit"),
        ("2B 32 33 34 35 20 34 20 00 00 00 00 0D 0A", "expected a unit"),
        ("2B 32 33 34 35 20 34 20 00 00 20 00 0A 0D", "bytes 12 and 13 are 0a 0d"),
    ],
)
def test_the_reason_names_the_byte(text: str, reason: str) -> None:
    """A refusal says which byte is wrong and what was expected there."""
    assert reason in refused(text)


def test_a_line_end_inside_a_frame_does_not_split_it() -> None:
    """The signs may spell CR LF; frames are found by all their bytes, not by two of them."""
    frame = bytes.fromhex("2B 32 33 34 35 20 34 0D 0A 00 04 0D 0D 0A")

    answers = FORMAT.decoder().feed(frame[5:] + frame + frame)

    assert [frame, frame] == [answer.raw for answer in answers if isinstance(answer, Reading)]


def test_every_byte_damaged_in_turn_never_costs_the_next_frame() -> None:
    """Whatever one byte of a frame becomes, the frame behind it is understood."""
    good = bytes.fromhex("2B 32 33 34 35 20 34 20 00 00 20 00 0D 0A")
    lost = [
        (place, byte)
        for place in range(len(good))
        for byte in range(256)
        if good
        != FORMAT.decoder()
        .feed(good[:place] + bytes([byte]) + good[place + 1 :] + good)[-1]
        .raw
    ]

    assert lost == []


def test_every_byte_dropped_in_turn_never_costs_the_next_frame() -> None:
    """A byte that never arrived spoils its own frame only."""
    good = bytes.fromhex("2B 32 33 34 35 20 34 20 00 00 20 00 0D 0A")

    for place in range(len(good)):
        answers = FORMAT.decoder().feed(good[:place] + good[place + 1 :] + good)

        assert [good] == [answer.raw for answer in answers if isinstance(answer, Reading)]


def test_how_often_one_flipped_bit_passes_as_another_resistance() -> None:
    """The format carries no redundancy: 15 of 112 single flips of this frame go unnoticed.

    Three are in each digit, one in the decimal code and two in the prefix.  So a reading is
    only taken when it repeats.  The facts of the format state the same count.
    """
    frame = bytes.fromhex("2B 32 33 34 35 20 34 20 00 00 20 00 0D 0A")
    unnoticed: list[int] = []
    for bit in range(8 * len(frame)):
        damaged = bytearray(frame)
        damaged[bit // 8] ^= 1 << bit % 8
        unnoticed += [
            bit // 8
            for answer in FORMAT.decoder().feed(bytes(damaged))
            if isinstance(answer, Reading) and answer.is_ohms and answer.value != 234.5
        ]

    assert unnoticed == [1, 1, 1, 2, 2, 2, 3, 3, 3, 4, 4, 4, 6, 9, 9]
    assert "of the 112 single flipped bits" in FORMAT.facts.cannot_tell
    assert f" {len(unnoticed)} pass as another resistance" in FORMAT.facts.cannot_tell


@pytest.mark.parametrize(
    ("display", "expected"),
    [
        (Display(234.5, 0.1, 400.0), "2B 32 33 34 35 20 34 00 00 00 20 00 0D 0A"),
        (Display(2345.0, 1.0, 4e3), "2B 32 33 34 35 20 31 00 00 20 20 00 0D 0A"),
        (Display(23450.0, 10.0, 40e3), "2B 32 33 34 35 20 32 00 00 20 20 00 0D 0A"),
        (Display(234.5e3, 100.0, 400e3), "2B 32 33 34 35 20 34 00 00 20 20 00 0D 0A"),
        (Display(2.345e6, 1e3, 4e6), "2B 32 33 34 35 20 31 00 00 10 20 00 0D 0A"),
        (Display(23.45e6, 10e3, 40e6), "2B 32 33 34 35 20 32 00 00 10 20 00 0D 0A"),
        (Display(-0.04, 0.1, 400.0), "2B 30 30 30 30 20 34 00 00 00 20 00 0D 0A"),
        (
            Display(12.34e-9, 10e-12, 40e-9, function=Function.CAPACITANCE),
            "2B 31 32 33 34 20 32 00 02 00 04 00 0D 0A",
        ),
        (
            Display(0.0, 10e3, 40e6, overload=True, flags=frozenset({Flag.AUTO})),
            "2B 3F 30 3A 3F 20 32 20 00 10 20 00 0D 0A",
        ),
    ],
)
def test_the_encoder_chooses_the_display_of_the_range(display: Display, expected: str) -> None:
    """Prefix and decimal point are those of the meter's range, by its resolution."""
    assert bytes.fromhex(expected) == FORMAT.encode(display)


@pytest.mark.parametrize(
    ("display", "reason"),
    [
        (Display(234.5, 0.3, 400.0), "no power of ten"),
        (Display(234.5, 0.0, 400.0), "cannot be shown"),
        (Display(234.5, 1e-4, 400.0), "no decimal point shows"),
        (Display(float("nan"), 0.1, 400.0), "cannot be shown as digits"),
        (Display(1000.0, 0.1, 400.0), "four digits are too few"),
        (Display(1.0, 0.1, 4.0, function=Function.INDUCTANCE), "no sign for inductance"),
        (Display(1.0, 0.1, 4.0, flags=frozenset({Flag.BEEP})), "in continuity only"),
        (Display(1.0, 0.1, 4.0, flags=frozenset({Flag.NEGATIVE})), "a minus sign"),
        (Display(1.0, 0.1, 4.0, flags=frozenset({Flag.AUTO, Flag.MANUAL})), "not both"),
    ],
)
def test_the_encoder_refuses_what_the_display_cannot_show(
    display: Display, reason: str
) -> None:
    """A display that this format has no bytes for is refused with the reason."""
    with pytest.raises(ValueError, match=reason):
        FORMAT.encode(display)
