"""The format plain: what a line may say, and what is refused."""

from __future__ import annotations

import pytest

from coilmeter.values import Flag, Function, Reading
from coilmeter.wire.contract import Display, Rejected
from coilmeter.wire.framing import LONGEST_LINE
from coilmeter.wire.plain import FORMAT


def decode(line: str) -> Reading | Rejected:
    """Decode one line, and expect one answer."""
    (answer,) = FORMAT.decoder().feed(line.encode() + b"\n")
    return answer


def reading(line: str) -> Reading:
    """Decode one line, and expect a reading."""
    answer = decode(line)
    assert isinstance(answer, Reading)
    return answer


def refused(line: str) -> str:
    """Decode one line, expect that it is refused, and give the reason."""
    answer = decode(line)
    assert isinstance(answer, Rejected)
    return answer.reason


@pytest.mark.parametrize(
    ("line", "function", "value", "resolution", "display"),
    [
        ("234.5 ohm", Function.RESISTANCE, 234.5, 0.1, "234.5 ohm"),
        ("  234.5Ohms ", Function.RESISTANCE, 234.5, 0.1, "234.5 ohm"),
        ("234 \u03a9", Function.RESISTANCE, 234.0, 1.0, "234 ohm"),
        ("2.345 k\u2126", Function.RESISTANCE, 2345.0, 1.0, "2.345 kohm"),
        ("2.345 Kohm", Function.RESISTANCE, 2345.0, 1.0, "2.345 kohm"),
        ("23.45 Mohm", Function.RESISTANCE, 23.45e6, 1e4, "23.45 Mohm"),
        ("1.2 Gohm", Function.RESISTANCE, 1.2e9, 1e8, "1.2 Gohm"),
        ("150 mohm", Function.RESISTANCE, 0.15, 1e-3, "150 mohm"),
        ("+2.345E+02 ohm", Function.RESISTANCE, 234.5, 0.1, "+2.345E+02 ohm"),
        (".5 ohm", Function.RESISTANCE, 0.5, 0.1, ".5 ohm"),
        ("5. ohm", Function.RESISTANCE, 5.0, 1.0, "5. ohm"),
        ("12.3 ohm cont", Function.CONTINUITY, 12.3, 0.1, "12.3 ohm"),
        ("0.567 V diode", Function.DIODE, 0.567, 1e-3, "0.567 V"),
        ("12.3 mV", Function.VOLTAGE, 0.0123, 1e-4, "12.3 mV"),
        ("230.1 V ac", Function.AC_VOLTAGE, 230.1, 0.1, "230.1 V"),
        ("1.5 \u00b5A dc", Function.DC_CURRENT, 1.5e-6, 1e-7, "1.5 uA"),
        ("1.5 \u03bcA ac", Function.AC_CURRENT, 1.5e-6, 1e-7, "1.5 uA"),
        ("20 A", Function.CURRENT, 20.0, 1.0, "20 A"),
        ("47.0 nF", Function.CAPACITANCE, 47e-9, 1e-10, "47.0 nF"),
        ("100 mH", Function.INDUCTANCE, 0.1, 1e-3, "100 mH"),
        ("1.000 kHz", Function.FREQUENCY, 1000.0, 1.0, "1.000 kHz"),
        ("21.5 degC", Function.TEMPERATURE, 21.5, 0.1, "21.5 degC"),
        ("21.5 \u00b0C", Function.TEMPERATURE, 21.5, 0.1, "21.5 degC"),
    ],
)
def test_a_number_with_its_unit(
    line: str, function: Function, value: float, resolution: float, display: str
) -> None:
    """Number, prefix and unit give the value in the SI unit; the last digit its resolution."""
    found = reading(line)

    assert function is found.function
    assert value == found.value
    assert found.resolution == pytest.approx(resolution, rel=1e-12)
    assert display == found.display
    assert found.full_scale is None


@pytest.mark.parametrize(
    ("line", "function", "full_scale", "flags", "display"),
    [
        ("OL", Function.RESISTANCE, None, set(), "OL"),
        ("OL auto", Function.RESISTANCE, None, {Flag.AUTO}, "OL"),
        ("OL cont", Function.CONTINUITY, None, set(), "OL"),
        ("OL kohm", Function.RESISTANCE, None, set(), "OL kohm"),
        ("OL 40 Mohm", Function.RESISTANCE, 40e6, set(), "OL 40 Mohm"),
        ("OL 40Mohm hold", Function.RESISTANCE, 40e6, {Flag.HOLD}, "OL 40 Mohm"),
        ("-OL 4 V dc", Function.DC_VOLTAGE, 4.0, {Flag.NEGATIVE}, "-OL 4 V"),
        ("+OL V", Function.VOLTAGE, None, set(), "OL V"),
    ],
)
def test_an_overload_with_or_without_its_range(
    line: str,
    function: Function,
    full_scale: float | None,
    flags: set[Flag],
    display: str,
) -> None:
    """OL alone is in ohms; a unit or the end of the range may stand behind it."""
    found = reading(line)

    assert found.overload
    assert found.value is None
    assert function is found.function
    assert full_scale == found.full_scale
    assert flags == found.flags
    assert display == found.display


def test_every_word_is_a_flag() -> None:
    """The words behind a unit are flags, in any order."""
    first = reading("1.0 ohm hold rel lowbat auto beep")
    second = reading("1.0 ohm min max manual")

    assert first.flags == {
        Flag.HOLD,
        Flag.RELATIVE,
        Flag.LOW_BATTERY,
        Flag.AUTO,
        Flag.BEEP,
    }
    assert second.flags == {Flag.MINIMUM, Flag.MAXIMUM, Flag.MANUAL}


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("234.5", "without a unit"),
        ("10 M", "'M' at byte 3 is no unit"),
        ("10 ohm please", "'please' at byte 7 is not understood"),
        ("10 \u03a9 dc", "'dc' at byte 6 is not understood"),
        ("1 V ac dc", "'dc' at byte 7 is not understood"),
        ("1 ohm auto manual", "auto and manual"),
        ("1,5 ohm", "decimal point, no comma"),
        ("1.2.3 ohm", "begins neither with a number"),
        ("nan ohm", "begins neither with a number"),
        ("OLED", "begins neither with a number"),
        ("   ", "begins neither with a number"),
        ("1e999 ohm", "no number a meter shows"),
        ("1e-400 ohm", "no number a meter shows"),
        ("OL 40", "no unit"),
        ("OL 0 ohm", "zero or below, at byte 3"),
        ("OL what", "'what' at byte 3 is no unit"),
        ("100 kdegC", "'kdegC' at byte 4"),
    ],
)
def test_a_line_that_is_refused_says_why(line: str, reason: str) -> None:
    """What cannot be read for certain is refused, with the place in bytes."""
    assert reason in refused(line)


def test_bytes_that_are_no_text_are_refused_with_their_place() -> None:
    """Noise is told from text by its first byte that is none."""
    (answer,) = FORMAT.decoder().feed(b"23\xff ohm\n")

    assert isinstance(answer, Rejected)
    assert answer.reason == "byte 2 is FF, expected ASCII or UTF-8 text"


@pytest.mark.parametrize("end", [b"\r", b"\n", b"\r\n", b"\n\r", b"\r\n\r\n"])
def test_every_line_end_is_one(end: bytes) -> None:
    """CR, LF and CR LF end a line, and an empty line is none."""
    answers = FORMAT.decoder().feed(b"1 ohm" + end + b"2 ohm" + end)

    assert [answer.value for answer in answers if isinstance(answer, Reading)] == [1.0, 2.0]
    assert len(answers) == 2


def test_a_reading_does_not_wait_for_the_next_line() -> None:
    """The CR of a CR LF completes a line; the LF stands before the next one."""
    decoder = FORMAT.decoder()

    first = decoder.feed(b"1 ohm\r")
    second = decoder.feed(b"\n2 ohm\r")

    assert [answer.raw for answer in first] == [b"1 ohm\r"]
    assert [answer.raw for answer in second] == [b"\n2 ohm\r"]


def test_an_overlong_line_is_given_up_and_the_next_one_read() -> None:
    """A stretch without a line end is refused in pieces, its end included."""
    answers = FORMAT.decoder().feed(b"9" * (2 * LONGEST_LINE + 5) + b" ohm\n5 ohm\n")

    reasons = [answer.reason for answer in answers if isinstance(answer, Rejected)]
    assert reasons == [
        "no line end within 128 bytes",
        "the rest of an overlong line",
        "the rest of an overlong line",
    ]
    assert [answer.value for answer in answers if isinstance(answer, Reading)] == [5.0]


def test_line_ends_without_lines_are_refused_and_cost_no_line() -> None:
    """A stretch of empty lines is given up in pieces; the line behind it is read."""
    answers = FORMAT.decoder().feed(b"\n" * (LONGEST_LINE + 100) + b"5 ohm" + b" " * 40 + b"\n")

    assert isinstance(answers[0], Rejected)
    assert answers[0].reason == "line ends without a line between them"
    assert [answer.value for answer in answers if isinstance(answer, Reading)] == [5.0]


@pytest.mark.parametrize(
    ("display", "expected"),
    [
        (Display(234.5, 0.1, 400.0), b"234.5 ohm\r\n"),
        (Display(2345.0, 1.0, 4e3), b"2.345 kohm\r\n"),
        (Display(-0.04, 0.1, 400.0), b"0.0 ohm\r\n"),
        (Display(-0.4, 0.1, 400.0), b"-0.4 ohm\r\n"),
        (Display(12.34567, 1e-4, 100.0), b"12.3457 ohm\r\n"),
        (Display(300.0, 100.0, 400.0), b"3e2 ohm\r\n"),
        (Display(300.0, 1.0, 400.0), b"300 ohm\r\n"),
        (Display(21.46, 0.1, 1e3, function=Function.TEMPERATURE), b"21.5 degC\r\n"),
        (Display(0.5, 1e-3, 2.0, function=Function.DIODE), b"0.500 V diode\r\n"),
        (
            Display(0.0, 1e4, 40e6, overload=True, flags=frozenset({Flag.AUTO})),
            b"OL 40 Mohm auto\r\n",
        ),
        (
            Display(
                value=0.0,
                resolution=0.1,
                full_scale=4.0,
                overload=True,
                function=Function.VOLTAGE,
                flags=frozenset({Flag.NEGATIVE}),
            ),
            b"-OL 4 V\r\n",
        ),
    ],
)
def test_what_the_encoder_writes(display: Display, expected: bytes) -> None:
    """The prefix is that of the range, the digits end at the resolution."""
    assert expected == FORMAT.encode(display)


@pytest.mark.parametrize(
    ("display", "reason"),
    [
        (Display(1.0, 0.1, 4.0, function=Function.OTHER), "no unit for other"),
        (Display(1.0, 0.1, 0.0), "a range cannot end at 0"),
        (Display(1.0, 0.1, float("inf")), "a range cannot end at inf"),
        (Display(1.0, 0.25, 4.0), "no power of ten"),
    ],
)
def test_the_encoder_refuses_what_a_line_cannot_say(display: Display, reason: str) -> None:
    """A display that no line can carry is refused with the reason."""
    with pytest.raises(ValueError, match=reason):
        FORMAT.encode(display)
