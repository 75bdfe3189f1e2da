"""The format stx16: two versions, unit codes, arrows, other displays and the clock."""

from __future__ import annotations

import pytest

from coilmeter.values import Flag, Function, Reading
from coilmeter.wire.contract import Display, Rejected
from coilmeter.wire.stx16 import _Stx16
from coilmeter.wire.stx_units import UNITS, codes_of

FORMAT = _Stx16()
MINUS = frozenset({Flag.NEGATIVE})


def answer_to(text: str) -> Reading | Rejected:
    """Decode one frame, written as the characters between 02 and CR."""
    (answer,) = FORMAT.decoder().feed(b"\x02" + text.encode("latin-1") + b"\r")
    return answer


def reading(text: str) -> Reading:
    """Decode one frame, and expect a reading."""
    answer = answer_to(text)
    assert isinstance(answer, Reading)
    return answer


def refused(text: str) -> str:
    """Decode one frame, expect that it is refused, and give the reason."""
    answer = answer_to(text)
    assert isinstance(answer, Rejected)
    return answer.reason


@pytest.mark.parametrize(
    ("text", "function", "value", "unit", "display"),
    [
        ("41380100002345", Function.RESISTANCE, 234.5, "ohm", "234.5 ohm"),
        ("41380000012345", Function.RESISTANCE, 12345.0, "ohm", "12345 ohm"),
        ("41390300000012", Function.RESISTANCE, 12.0, "ohm", "0.012 kohm"),
        ("41180100001234", Function.DC_VOLTAGE, 0.1234, "volt", "123.4 mV"),
        ("41491100001234", Function.AC_VOLTAGE, -0.1234, "volt", "-123.4 mV"),
        ("41350100001234", Function.DC_CURRENT, 123.4e-6, "ampere", "123.4 uA"),
        ("41530100001234", Function.AC_CURRENT, 0.1234, "ampere", "123.4 mA"),
        ("41670300001234", Function.FREQUENCY, 1.234e6, "hertz", "1.234 MHz"),
        ("41A40100001234", Function.CAPACITANCE, 123.4e-12, "farad", "123.4 pF"),
        ("41680100001234", Function.INDUCTANCE, 123.4e-6, "henry", "123.4 uH"),
        ("41020100000743", Function.TEMPERATURE, 23.5, "degree_Celsius", "74.3 degF"),
        ("41040100000455", Function.OTHER, 45.5, "", "45.5 %RH"),
        ("41000000000012", Function.OTHER, 12.0, "", "12"),
    ],
)
def test_unit_codes_of_version_02(
    text: str, function: Function, value: float, unit: str, display: str
) -> None:
    """Unit code and decimals give function, value and display."""
    found = reading(text)

    assert function is found.function
    assert found.value == pytest.approx(value, rel=1e-12)
    assert unit == found.unit
    assert display == found.display


def test_every_known_code_is_read_and_no_other() -> None:
    """Of all pairs of characters a unit code may be made of, those in the table are units."""
    characters = "0123456789ABCDEF"
    read = {
        first + second
        for first in characters
        for second in characters
        if isinstance(answer_to(f"41{first}{second}0100002345"), Reading)
    }

    assert set(UNITS) == read
    assert {"38", "39", "40"} == set(codes_of(Function.RESISTANCE).values())


def test_over_range_tells_its_resolution() -> None:
    """Four up-arrows are over-range, in both versions; the decimals still count."""
    second = reading("4140020000\x18\x18\x18\x18")
    first = reading("1039030000\x18\x18\x18\x18")

    assert (second.overload, second.value, second.resolution) == (True, None, 10e3)
    assert second.display == "OL Mohm"
    assert (first.overload, first.resolution, first.flags) == (True, 1.0, MINUS)


@pytest.mark.parametrize("display", "234")
def test_another_display_in_ohms_is_never_ohms_for_the_judge(display: str) -> None:
    """What a second display shows may be what was taken off: it is kept, as something else."""
    found = reading(f"4{display}380100002345")

    assert not found.is_ohms
    assert (found.value, found.unit) == (234.5, "ohm")
    assert found.display == f"display {display}: 234.5 ohm"
    assert FORMAT.is_aside(found)


def test_asides_are_the_clock_and_other_displays() -> None:
    """The upper display is the main one; a frame of the older version always is."""
    asides = {
        text: FORMAT.is_aside(reading(text))
        for text in ("41380100002345", "42010100000234", "40261125070540", "10390300001234")
    }

    assert list(asides.values()) == [False, True, True, False]
    assert reading("40261125070540").display == "2026-11-25 07:05:40"


def test_the_lower_display_of_version_01_does_not_reach_the_reading() -> None:
    """Digits, unit and minus of the upper display count alone; the marks tell whose minus."""
    values = {mark: reading(f"{mark}1391302511234").value for mark in ("0", "1", "2", "3")}

    assert values == {"0": 1234.0, "1": -1234.0, "2": 1234.0, "3": -1234.0}


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("71380100002345", "byte 1 is 37, expected the version or the minus signs"),
        ("45380100002345", "byte 2 is 35, expected the number of a display"),
        ("13390300001234", "byte 2 is 33, expected the unit of the lower display"),
        ("41382100002345", "byte 5 is 32, expected a polarity"),
        ("41380900002345", "byte 6 is 39, expected decimals"),
        ("10394300001234", "byte 5 is 34, expected decimals"),
        ("10390300:01234", "byte 9 is 3A, expected a digit"),
        ("1039030000123:", "byte 14 is 3A, expected a digit"),
        ("41380100102345", "byte 9 is 31, expected 0 before the digits of a display"),
        ("41990100002345", "bytes 3 and 4 are 39 39, no known unit"),
        ("4138010000\x18\x18\x18\x19", "byte 11 is 18, expected a digit"),
        ("4138010000\x19\x19\x19\x19", "under-range"),
        ("40261325070540", "a record of date and time that is none"),
        ("40261125250540", "a record of date and time that is none"),
    ],
)
def test_the_reason_names_the_byte(text: str, reason: str) -> None:
    """A refusal says which byte is wrong and what was expected there."""
    assert reason in refused(text)


def test_a_frame_begins_with_02_and_ends_with_cr() -> None:
    """Without either, the stretch is refused and the frame behind it is read."""
    good = b"\x0241380100002345\r"
    for bad, reason in (
        (b"\x03" + good[1:], "byte 0 is 03, expected 02"),
        (good[:-1] + b"\n", "byte 15 is 0A, expected 0D"),
    ):
        answers = FORMAT.decoder().feed(bad + good)

        assert [type(answer) for answer in answers] == [Rejected, Reading]
        assert isinstance(answers[0], Rejected)
        assert answers[0].reason == reason


@pytest.mark.parametrize(
    ("display", "expected"),
    [
        (Display(234.5, 0.1, 400.0), b"\x0241380100002345\r"),
        (Display(23450.0, 10.0, 40e3), b"\x0241390200002345\r"),
        (Display(23.45e6, 10e3, 40e6), b"\x0241400200002345\r"),
        (Display(-0.1, 0.1, 400.0), b"\x0241381100000001\r"),
        (Display(-0.04, 0.1, 400.0), b"\x0241380100000000\r"),
        (Display(0.0, 10e3, 40e6, overload=True), b"\x024140020000\x18\x18\x18\x18\r"),
        (Display(0.567, 1e-3, 2.0, function=Function.DIODE), b"\x0241460300000567\r"),
        (Display(21.5, 0.1, 1e3, function=Function.TEMPERATURE), b"\x0241010100000215\r"),
    ],
)
def test_what_the_encoder_writes(display: Display, expected: bytes) -> None:
    """Unit and decimals are those of the range, by its resolution."""
    assert expected == FORMAT.encode(display)


@pytest.mark.parametrize(
    ("display", "reason"),
    [
        (Display(1.0, 0.1, 400.0, function=Function.CONTINUITY), "no unit code for continuity"),
        (Display(1.0, 0.1, 400.0, function=Function.OTHER), "no unit code for other"),
        (Display(1.0, 1e-4, 4.0), "no decimals show 0.0001"),
        (Display(10_000.0, 0.1, 400.0), "five digits are too few"),
        (Display(1.0, 0.1, 400.0, flags=MINUS), "a minus sign"),
    ],
)
def test_the_encoder_refuses_what_it_has_no_characters_for(
    display: Display, reason: str
) -> None:
    """A display that no frame can carry is refused with the reason."""
    with pytest.raises(ValueError, match=reason):
        FORMAT.encode(display)
