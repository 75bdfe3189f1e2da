"""The format prompt: both reply formats, prompts, errors as numbers, over-range."""

from __future__ import annotations

import pytest

from coilmeter.values import Flag, Function, Reading
from coilmeter.wire.contract import Display, Rejected
from coilmeter.wire.prompt import FORMAT

MINUS = frozenset({Flag.NEGATIVE})
PROMPT = b"=>\r\n"


def reading(text: str) -> Reading:
    """Decode one line, and expect a reading."""
    (answer,) = FORMAT.decoder().feed(text.encode() + b"\r\n")
    assert isinstance(answer, Reading)
    return answer


def refused(line: bytes) -> str:
    """Decode one line, expect that it is refused, and give the reason."""
    (answer,) = FORMAT.decoder().feed(line)
    assert isinstance(answer, Rejected)
    return answer.reason


@pytest.mark.parametrize(
    ("text", "function", "value", "unit", "display"),
    [
        ("+1.2345E+3 OHMS", Function.RESISTANCE, 1234.5, "ohm", "1234.5 ohm"),
        ("+12.345E+3 OHM", Function.RESISTANCE, 12345.0, "ohm", "12345 ohm"),
        ("-0.5E-3 VDC", Function.DC_VOLTAGE, -0.0005, "volt", "-0.0005 V"),
        ("+2.301E+2 VAC", Function.AC_VOLTAGE, 230.1, "volt", "230.1 V"),
        ("+1.0E-3 ADC", Function.DC_CURRENT, 0.001, "ampere", "0.001 A"),
        ("+1.0E-3 AAC", Function.AC_CURRENT, 0.001, "ampere", "0.001 A"),
        ("+1.0E+3 HZ", Function.FREQUENCY, 1000.0, "hertz", "1000 Hz"),
        ("+1.2345E+0", Function.OTHER, 1.2345, "", "1.2345"),
    ],
)
def test_numbers_with_and_without_a_unit(
    text: str, function: Function, value: float, unit: str, display: str
) -> None:
    """The unit tells the function; without one it is not ohms for anybody."""
    found = reading(text)

    assert function is found.function
    assert (found.value, found.unit, found.display) == (value, unit, display)
    assert (Flag.NEGATIVE in found.flags) == (value < 0)


@pytest.mark.parametrize(
    ("text", "function", "flags", "display"),
    [
        ("+9.99999E+9", Function.OTHER, frozenset(), "OL"),
        ("+9.99999E+9,>OHM", Function.RESISTANCE, frozenset(), "OL ohm"),
        ("-9.99999E+9,>VDC", Function.DC_VOLTAGE, MINUS, "-OL V"),
        ("+1E+9 OHMS", Function.RESISTANCE, frozenset(), "OL ohm"),
        ("+1.0E+9 OHMS", Function.RESISTANCE, frozenset(), "OL ohm"),
    ],
)
def test_over_range(
    text: str, function: Function, flags: frozenset[Flag], display: str
) -> None:
    """The over-range numbers have no value; 1E+9 is from memory, not verified."""
    found = reading(text)

    assert (found.overload, found.value, found.flags) == (True, None, flags)
    assert (found.function, found.display) == (function, display)


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        (b"+1.0071E+21\r\n", "its error 71 in place of a reading"),
        (b"+1.0005E+21\r\n", "its error 5 in place of a reading"),
        (b"+9.99999E+1 OHMS\r\n", "is neither a reading nor over-range"),
        (b"+9.99999E+8 OHMS\r\n", "is neither a reading nor over-range"),
        (b"+5.0E+9 OHMS\r\n", "is neither a reading nor over-range"),
        (b"+1E+3 OHMS\r\n", "is neither a reading nor over-range"),
        (b"+1.2345E+3,>OHM\r\n", "is neither a reading nor over-range"),
        (b"+1.2345E+3 FOOT\r\n", "'FOOT' is no unit"),
        (b"1.2345E+3 OHMS\r\n", "is no number with sign and exponent"),
        (b"+1234.5 OHMS\r\n", "is no number with sign and exponent"),
        (b"+3 OHMS\r\n", "is no number with sign and exponent"),
        (b"+1.2345E+3  OHMS\r\n", "is no number with sign and exponent"),
        (b"+1.2345E+3 OHMS\n", "no CR before the LF at byte 15"),
        (b"?>\r\n", "the prompt ?>: the meter did not obey"),
        (b"=>\r\n!>\r\n", "the prompt !>: the meter did not obey"),
        (b"\xff\r\n", "is no number"),
    ],
)
def test_a_line_that_is_refused_says_why(line: bytes, reason: str) -> None:
    """Errors, prompts of refusals, damaged numbers: each with its reason."""
    assert reason in refused(line)


def test_the_digits_of_an_over_range_may_be_those_of_a_reading() -> None:
    """With one digit more they are not what is left of a damaged over-range number."""
    (found,) = FORMAT.decoder().feed(FORMAT.encode(Display(99.9999, 1e-4, 100.0)))

    assert isinstance(found, Reading)
    assert found.value == 99.9999


def test_prompts_belong_to_the_reply_behind_them() -> None:
    """They are no answers of their own, so that none is counted as damage."""
    decoder = FORMAT.decoder()

    first = decoder.feed(b"+1.0E+0 OHMS\r\n" + PROMPT + PROMPT)
    waiting = decoder.pending()
    second = decoder.feed(b"+2.0E+0 OHMS\r\n")

    assert [answer.raw for answer in first] == [b"+1.0E+0 OHMS\r\n"]
    assert waiting == PROMPT + PROMPT
    assert [answer.raw for answer in second] == [2 * PROMPT + b"+2.0E+0 OHMS\r\n"]


def test_prompts_without_end_are_given_up() -> None:
    """A meter that only prompts keeps little pending; a reply behind it is read."""
    decoder = FORMAT.decoder()

    answers = [*decoder.feed(PROMPT * 50), *decoder.feed(b"+2.0E+0 OHMS\r\n")]

    assert [type(answer) for answer in answers] == [Rejected, Reading]
    assert isinstance(answers[0], Rejected)
    assert answers[0].reason == "prompts without a reply between them"


def test_prompts_before_an_endless_line_are_parted_from_it() -> None:
    """The prompts are given up by themselves, and then the line for its length."""
    answers = FORMAT.decoder().feed(PROMPT * 4 + b"9" * 200 + b"\r\n")

    assert [answer.reason for answer in answers if isinstance(answer, Rejected)] == [
        "prompts without a reply between them",
        "no line end within 128 bytes",
        "the rest of an overlong line",
    ]


@pytest.mark.parametrize(
    ("display", "expected"),
    [
        (Display(234.5, 0.1, 400.0), b"+2.345E+2 OHMS\r\n"),
        (Display(5.0, 1.0, 4e3), b"+5.0E+0 OHMS\r\n"),
        (Display(0.0, 0.1, 400.0), b"+0.0E+0 OHMS\r\n"),
        (Display(99.9999, 1e-4, 100.0), b"+9.999990E+1 OHMS\r\n"),
        (Display(-0.12, 0.01, 4.0), b"-1.2E-1 OHMS\r\n"),
        (Display(0.0, 0.1, 400.0, overload=True, flags=MINUS), b"-9.99999E+9 OHMS\r\n"),
        (Display(1.5, 0.1, 4.0, function=Function.AC_VOLTAGE), b"+1.5E+0 VAC\r\n"),
    ],
)
def test_what_the_encoder_writes(display: Display, expected: bytes) -> None:
    """A reply of format 2: number, blank, unit."""
    assert expected == FORMAT.encode(display)


@pytest.mark.parametrize(
    ("display", "reason"),
    [
        (Display(1.0, 0.1, 4.0, function=Function.CONTINUITY), "no unit for continuity"),
        (Display(2e9, 1e6, 4e9), "is too large for a reading"),
    ],
)
def test_the_encoder_refuses_what_a_reply_cannot_say(display: Display, reason: str) -> None:
    """A display that no reply can carry is refused with the reason."""
    with pytest.raises(ValueError, match=reason):
        FORMAT.encode(display)
