"""The format scpi: number forms, special numbers, lines, and several readings in one."""

from __future__ import annotations

import pytest

from coilmeter.values import Flag, Function, Reading
from coilmeter.wire.contract import Display, Rejected
from coilmeter.wire.framing import LONGEST_LINE
from coilmeter.wire.scpi import FORMAT

MINUS = frozenset({Flag.NEGATIVE})


def answers_to(line: bytes) -> list[Reading | Rejected]:
    """Decode what one line gives, with a new decoder."""
    return list(FORMAT.decoder().feed(line))


def reading(line: str) -> Reading:
    """Decode one line, and expect one reading."""
    (answer,) = answers_to(line.encode() + b"\n")
    assert isinstance(answer, Reading)
    return answer


def refused(line: bytes) -> str:
    """Decode one line, expect that it is refused, and give the reason."""
    (answer,) = answers_to(line)
    assert isinstance(answer, Rejected)
    return answer.reason


@pytest.mark.parametrize(
    ("text", "value"),
    [
        # IEEE 488.2 NR1 (8.7.2), NR2 (8.7.3), NR3 (8.7.4): section numbers from memory
        ("0", 0.0),
        ("234", 234.0),
        ("+234", 234.0),
        ("-5", -5.0),
        ("007", 7.0),
        ("0.5", 0.5),
        ("+234.5", 234.5),
        ("-0.001", -0.001),
        ("2.345E+02", 234.5),
        ("+2.34500000E+02", 234.5),
        ("-1.2E-03", -0.0012),
        ("1.0E+003", 1000.0),
        ("+1.00000000E+15", 1e15),
    ],
)
def test_the_three_number_forms(text: str, value: float) -> None:
    """NR1, NR2 and NR3 are read, with or without a sign."""
    found = reading(text)

    assert value == found.value
    assert found.function is Function.RESISTANCE
    assert found.flags == (MINUS if value < 0 else frozenset())
    assert (found.resolution, found.full_scale) == (None, None)


@pytest.mark.parametrize(
    "text",
    [
        "",
        " 5",
        "5 ",
        ".5",
        "5.",
        "1E+03",
        "1.0E3",
        "1.0e+03",
        "1.0E+",
        "1.0E+0003",
        "+-5",
        "1.2.3",
        "1,",
        ",1",
        "1,,2",
        "1;2",
        "0x10",
        "INF",
        "NAN",
        "1_0",
        "=>",
        '"RES"',
        '0,"No error',
    ],
)
def test_what_is_no_number_form_is_refused(text: str) -> None:
    """A reply that lost a character may look like a shorter number: the forms are exact."""
    reason = refused(text.encode() + b"\n")

    assert "is no number of IEEE 488.2" in reason or reason == "an empty line"


@pytest.mark.parametrize(
    ("text", "flags"),
    [
        # SCPI-1999 volume 1, 7.2.1.4 (section number from memory): INF, NINF
        ("9.9E+37", frozenset()),
        ("+9.90000000E+37", frozenset()),
        ("+9.9000E+37", frozenset()),
        ("9.8E+37", frozenset()),
        ("-9.9E+37", MINUS),
        ("-9.90000000E+37", MINUS),
    ],
)
def test_infinity_is_over_range_by_its_number(text: str, flags: frozenset[Flag]) -> None:
    """However it is spelt, the number 9.9E37 with either sign is over-range."""
    found = reading(text)

    assert (found.overload, found.value, found.flags) == (True, None, flags)
    assert found.is_ohms


@pytest.mark.parametrize("text", ["9.91E+37", "+9.91000000E+37", "9.9100E+37"])
def test_nan_is_no_reading_and_no_over_range(text: str) -> None:
    """9.91E37 is NAN (same place of SCPI-1999); it is tested before over-range."""
    found = reading(text)

    assert (found.function, found.value, found.overload) == (Function.OTHER, None, False)
    assert found.display == "not a number"


@pytest.mark.parametrize("text", ["1.1E+15", "9.9E+36", "1.0E+38", "9.9E+38", "1.0E+999"])
def test_a_number_that_no_meter_reads_is_refused(text: str) -> None:
    """Between the largest resistance and the special numbers only damage can lie."""
    assert "is no reading of a meter" in refused(text.encode() + b"\n")


def test_several_readings_in_one_reply() -> None:
    """Each number is a reading with its own bytes; together they are those of the line."""
    line = b"+1.0E+00,-2.5E+00,+9.9E+37,4\r\n"

    found = answers_to(line)

    assert [each.raw for each in found] == [b"+1.0E+00,", b"-2.5E+00,", b"+9.9E+37,", b"4\r\n"]
    assert [each.value for each in found if isinstance(each, Reading)] == [1.0, -2.5, None, 4.0]


def test_one_bad_number_spoils_its_line() -> None:
    """Where one is damaged no other of the same reply is believed."""
    assert "'+2..0' at byte 5" in refused(b"+1.0,+2..0,+3.0\n")


@pytest.mark.parametrize(
    ("line", "number", "display"),
    [
        (b'+0,"No error"\r\n', 0.0, "0 'No error'"),
        (b'-113,"Undefined header"\n', -113.0, "-113 'Undefined header'"),
        (b'0,""\n', 0.0, "0 ''"),
    ],
)
def test_an_entry_of_the_error_queue_is_never_ohms(
    line: bytes, number: float, display: str
) -> None:
    """A number and a quoted text is an answer to the error query."""
    (found,) = answers_to(line)

    assert isinstance(found, Reading)
    assert (found.function, found.value, found.display) == (Function.OTHER, number, display)


def test_a_lost_line_feed_does_not_cost_the_next_reply() -> None:
    """A CR alone ends nothing that is believed, and the reply behind it is read."""
    found = answers_to(b"+1.0047\r+1.23400000E+03\r\n")

    assert isinstance(found[0], Rejected)
    assert found[0].reason == "CR without LF at byte 7"
    assert [each.value for each in found[1:] if isinstance(each, Reading)] == [1234.0]


def test_a_byte_with_its_eighth_bit_says_to_turn_parity_off() -> None:
    """What is wrong is a setting of the meter, so that is named."""
    reason = refused(b"+1.23400000E+0\xb3\r\n")

    assert reason == ("byte 14 is B3, expected ASCII: set the meter to 8 bits without parity")


def test_an_overlong_line_is_given_up_and_the_next_one_read() -> None:
    """A stretch without a line end is refused in pieces, its end included."""
    found = answers_to(b"9" * (2 * LONGEST_LINE + 5) + b"\n5\n")

    reasons = [answer.reason for answer in found if isinstance(answer, Rejected)]
    assert reasons == [
        "no line end within 128 bytes",
        "the rest of an overlong line",
        "the rest of an overlong line",
    ]
    assert [answer.value for answer in found if isinstance(answer, Reading)] == [5.0]


def test_the_line_feed_of_a_carriage_return_may_come_later() -> None:
    """A CR at the end of what arrived is not judged before the next byte is there."""
    decoder = FORMAT.decoder()

    first, second = decoder.feed(b"5\r"), decoder.feed(b"\n")

    assert list(first) == []
    assert [answer.raw for answer in second] == [b"5\r\n"]


@pytest.mark.parametrize(
    ("display", "expected"),
    [
        (Display(234.5, 0.1, 400.0), b"+2.34500000E+02\r\n"),
        (Display(0.0, 0.1, 400.0), b"+0.00000000E+00\r\n"),
        (Display(-0.04, 0.1, 400.0), b"+0.00000000E+00\r\n"),
        (Display(-0.0012, 1e-4, 100.0), b"-1.20000000E-03\r\n"),
        (Display(0.0, 0.1, 400.0, overload=True), b"+9.90000000E+37\r\n"),
        (Display(0.0, 0.1, 400.0, overload=True, flags=MINUS), b"-9.90000000E+37\r\n"),
    ],
)
def test_what_the_encoder_writes(display: Display, expected: bytes) -> None:
    """The reply has the printed form of a serial meter: a sign, nine digits, CR LF."""
    assert expected == FORMAT.encode(display)


@pytest.mark.parametrize(
    ("display", "reason"),
    [
        (Display(1.0, 0.1, 4.0, function=Function.DIODE), "carries no function"),
        (Display(123456.78912, 1e-6, 1e6), "nine digits are too few"),
        (Display(1e16, 1e8, 1e17), "nine digits are too few"),
        (Display(1.0, 0.1, 4.0, flags=MINUS), "a minus sign"),
    ],
)
def test_the_encoder_refuses_what_a_reply_cannot_say(display: Display, reason: str) -> None:
    """A display that no reply can carry is refused with the reason."""
    with pytest.raises(ValueError, match=reason):
        FORMAT.encode(display)
