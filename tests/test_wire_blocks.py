"""The formats block11 and block14: codes, ranges, parity, and what tells a pair of copies."""

from __future__ import annotations

import contextlib

import pytest

from coilmeter.values import Flag, Function, Reading
from coilmeter.wire import find
from coilmeter.wire.block11 import FORMAT as BLOCK11
from coilmeter.wire.block14 import FORMAT as BLOCK14
from coilmeter.wire.contract import Display, Format, Rejected
from coilmeter.wire.framing import NoFrameError
from coilmeter.wire.parity import with_odd_parity, without_odd_parity


def sent(form: Format, text: str) -> bytes:
    """Complete seven-bit hex with parity, and send it as often as the format does."""
    block = with_odd_parity(bytes.fromhex(text))
    return 2 * block if form is BLOCK11 else block


def reading(form: Format, text: str) -> Reading:
    """Decode one block, and expect a reading."""
    (answer,) = form.decoder().feed(sent(form, text))
    assert isinstance(answer, Reading)
    return answer


def refused(form: Format, text: str) -> str:
    """Decode one block, expect that it is refused, and give the first reason."""
    answers = form.decoder().feed(sent(form, text))
    assert all(isinstance(answer, Rejected) for answer in answers)
    first = answers[0]
    assert isinstance(first, Rejected)
    return first.reason


@pytest.mark.parametrize(
    ("seven", "eight"),
    [(0x30, 0xB0), (0x31, 0x31), (0x0D, 0x0D), (0x0A, 0x8A), (0x00, 0x80), (0x7F, 0x7F)],
)
def test_parity_is_bit_seven(seven: int, eight: int) -> None:
    """The number of ones is odd: digit 0 = 30 arrives as B0, CR as 0D, LF as 8A (derived)."""
    assert bytes([eight]) == with_odd_parity(bytes([seven]))
    assert bytes([seven]) == without_odd_parity(bytes([eight]))


def test_parity_is_checked_for_every_byte() -> None:
    """Exactly half of all bytes have an odd number of ones; the place of another is told."""

    def passes(byte: int) -> bool:
        with contextlib.suppress(NoFrameError):
            return bool(without_odd_parity(bytes([0x31, byte])))
        return False

    passed = [byte for byte in range(256) if passes(byte)]

    assert passed == [byte for byte in range(256) if f"{byte:b}".count("1") % 2]
    with pytest.raises(NoFrameError, match="byte 1 is 30, expected odd parity"):
        without_odd_parity(b"10")


@pytest.mark.parametrize(
    ("text", "function", "value", "full_scale", "display"),
    [
        ("30 30 31 32 33 33", Function.RESISTANCE, 12.3, 400.0, "012.3 ohm"),
        ("31 31 32 33 34 33", Function.RESISTANCE, 1234.0, 4e3, "1.234 kohm"),
        ("34 31 32 33 34 33", Function.RESISTANCE, 1.234e6, 4e6, "1.234 Mohm"),
        ("30 31 32 33 34 3B", Function.VOLTAGE, 0.1234, 0.4, "123.4 mV"),
        ("34 30 32 33 30 3B", Function.VOLTAGE, 230.0, 4e3, "0.230 kV"),
        ("30 31 32 33 34 39", Function.CURRENT, 0.01234, 0.04, "12.34 mA"),
        ("30 31 32 33 34 3D", Function.CURRENT, None, None, "1234 counts"),
        ("30 30 35 36 37 31", Function.DIODE, None, None, "567 counts"),
        ("30 31 32 33 34 36", Function.CAPACITANCE, 1.234e-9, 4e-9, "1.234 nF"),
        ("37 31 32 33 34 36", Function.CAPACITANCE, 12.34e-3, 40e-3, "12.34 mF"),
    ],
)
def test_block11_every_function(
    text: str, function: Function, value: float | None, full_scale: float | None, display: str
) -> None:
    """Function and range code tell value and end of the range, where a scale is printed."""
    found = reading(BLOCK11, f"{text} 30 30 30 0D 0A")

    assert function is found.function
    assert found.value == (None if value is None else pytest.approx(value, rel=1e-12))
    assert found.full_scale == (None if full_scale is None else pytest.approx(full_scale))
    assert display == found.display


def test_block11_resolution_is_a_count_of_its_range() -> None:
    """4000 counts fill a range, of an overload too."""
    assert reading(BLOCK11, "35 32 33 34 35 33 30 30 30 0D 0A").resolution == 10e3
    over = reading(BLOCK11, "35 34 30 30 30 33 35 30 30 0D 0A")
    assert (over.resolution, over.full_scale, over.display) == (10e3, 40e6, "-OL Mohm")
    assert reading(BLOCK11, "30 34 30 30 30 31 31 30 30 0D 0A").display == "OL"


def test_block11_options_are_not_read() -> None:
    """Their layout was not found: whatever the eight bits are, the reading is the same."""
    found = {
        (answer.value, answer.flags)
        for option in range(0x30, 0x40)
        for answer in [reading(BLOCK11, f"30 32 33 34 35 33 30 {option:02X} 3F 0D 0A")]
    }

    assert found == {(234.5, frozenset())}


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("30 32 3A 34 35 33 30 30 30 0D 0A", "byte 2 is 3A, expected a digit"),
        ("36 32 33 34 35 33 30 30 30 0D 0A", "range code 36 is none of resistance"),
        ("38 32 33 34 35 33 30 30 30 0D 0A", "byte 0 is 38, expected a range code"),
        ("31 32 33 34 35 35 30 30 30 0D 0A", "range code 31 is none of continuity"),
        ("31 32 33 34 35 31 30 30 30 0D 0A", "range code 31 is none of diode"),
        ("30 32 33 34 35 34 30 30 30 0D 0A", "byte 5 is 34, no function code"),
        ("30 32 33 34 35 33 38 30 30 0D 0A", "judge bit is set outside frequency"),
        ("30 32 33 34 35 33 40 30 30 0D 0A", "byte 6 is 40, expected 30 to 3F"),
        ("30 32 33 34 35 33 30 20 30 0D 0A", "byte 7 is 20, expected 30 to 3F"),
        ("30 34 30 30 31 33 30 30 30 0D 0A", "4001 counts without over-range, expected 4000"),
        ("30 32 33 34 35 33 30 30 30 0A 0D", "bytes 9 and 10 are 0A 0D, expected 0D 0A"),
    ],
)
def test_block11_the_reason_names_the_byte(text: str, reason: str) -> None:
    """A refusal says which byte is wrong and what was expected there."""
    assert reason in refused(BLOCK11, text)


def test_block11_copies_that_differ_are_both_refused() -> None:
    """Two legal blocks are no reading as long as they are not equal, each bit of it."""
    first = with_odd_parity(bytes.fromhex("30 32 33 34 35 33 30 30 30 0D 0A"))
    second = with_odd_parity(bytes.fromhex("30 32 33 34 36 33 30 30 30 0D 0A"))
    other = BLOCK11.encode(Display(1.0, 0.1, 400.0))

    answers = BLOCK11.decoder().feed(first + second + other)

    assert [first, second, other] == [answer.raw for answer in answers]
    assert [Rejected, Rejected, Reading] == [type(answer) for answer in answers]
    assert isinstance(answers[0], Rejected)
    assert answers[0].reason == ("byte 4 of the second copy is B6, expected B5 as in the first")


def test_block11_two_flips_that_parity_misses_are_caught_by_the_copy() -> None:
    """Two bits of one byte keep its parity; every such pair in either copy is refused."""
    pair = BLOCK11.encode(Display(234.5, 0.1, 400.0))
    after = BLOCK11.encode(Display(117.3, 0.1, 400.0))
    wrong = []
    for place in range(len(pair)):
        for one in range(8):
            for two in range(one):
                damaged = bytearray(pair)
                damaged[place] ^= 1 << one | 1 << two
                wrong += [
                    (place, one, two)
                    for answer in BLOCK11.decoder().feed(bytes(damaged) + after)
                    if isinstance(answer, Reading) and answer.value not in {234.5, 117.3}
                ]

    assert wrong == []


def test_block11_a_stream_opened_between_two_copies_finds_its_step() -> None:
    """The odd copy is refused, and every pair behind it is read."""
    values = [10.0, 20.0, 30.0]
    pairs = [BLOCK11.encode(Display(value, 0.1, 400.0)) for value in values]

    answers = BLOCK11.decoder().feed(b"".join(pairs)[11:])

    assert [Rejected, Reading, Reading] == [type(answer) for answer in answers]
    assert [answer.value for answer in answers if isinstance(answer, Reading)] == values[1:]


def test_block11_a_look_alike_is_named_because_it_cannot_be_noticed() -> None:
    """A 40 000-count block of 12345 in ohms is a legal block here, with another value.

    Derived from the two byte maps (S3, S4, S24): the facts of the format warn of it.
    """
    found = reading(BLOCK11, "31 32 33 34 35 33 34 30 30 0D 0A")

    assert (found.value, found.display) == (-2345.0, "-2.345 kohm")
    assert "12345 in ohms reads as -2.345 kohm" in BLOCK11.facts.lookalikes[0]


def test_block14_flags_of_all_options() -> None:
    """Max, min, relative, hold, automatic range, minus and low battery are read."""
    found = reading(BLOCK14, "30 31 32 33 34 35 33 36 3E 30 32 32 0D 0A")

    assert found.flags == frozenset(Flag) - {Flag.MANUAL, Flag.BEEP}
    assert (found.value, found.display) == (-123.45, "-123.45 ohm")


@pytest.mark.parametrize(
    ("text", "function", "value", "display"),
    [
        ("30 31 32 33 34 35 3B 30 30 30 38 30", Function.DC_VOLTAGE, 1.2345, "1.2345 V"),
        ("32 31 32 33 34 35 3B 30 30 30 34 30", Function.AC_VOLTAGE, 123.45, "123.45 V"),
        ("30 31 32 33 34 35 3B 30 30 30 30 30", Function.VOLTAGE, 1.2345, "1.2345 V"),
        ("30 31 32 33 34 35 3B 30 30 30 39 30", Function.OTHER, None, "12345 counts"),
        ("30 31 32 33 34 35 3D 30 30 30 38 30", Function.DC_CURRENT, None, "12345 counts"),
        ("30 31 32 33 34 35 3F 30 30 30 34 30", Function.AC_CURRENT, None, "12345 counts"),
        ("30 30 30 31 32 33 35 30 30 30 30 30", Function.CONTINUITY, None, "123 counts"),
        ("30 31 32 33 34 35 36 30 30 30 30 30", Function.CAPACITANCE, None, "12345 counts"),
        ("30 30 30 32 33 35 34 30 30 30 30 30", Function.TEMPERATURE, None, "235 counts"),
        ("30 31 32 33 34 35 32 30 30 30 30 30", Function.OTHER, None, "12345 counts"),
        ("31 31 32 33 34 35 32 38 30 30 30 30", Function.FREQUENCY, None, "12345 counts"),
    ],
)
def test_block14_every_function(
    text: str, function: Function, value: float | None, display: str
) -> None:
    """What is not scaled for certain has no value, and never passes for ohms."""
    found = reading(BLOCK14, f"{text} 0D 0A")

    assert function is found.function
    assert found.value == (None if value is None else pytest.approx(value, rel=1e-12))
    assert display == found.display


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("30 31 32 33 34 35 33 30 30 31 32 30 0D 0A", "expected its bit 01 to be 0"),
        ("30 31 32 33 34 35 33 30 30 30 32 38 0D 0A", "expected its bit 08 to be 0"),
        ("30 31 32 33 34 35 33 30 30 38 32 30 0D 0A", "under-range or peak"),
        ("30 31 32 33 34 35 33 30 30 34 32 30 0D 0A", "under-range or peak"),
        ("30 31 32 33 34 35 33 38 30 30 32 30 0D 0A", "judge bit is set outside frequency"),
        ("37 31 32 33 34 35 33 30 30 30 32 30 0D 0A", "range code 37 is none of resistance"),
        ("31 30 35 36 37 30 31 30 30 30 38 30 0D 0A", "range code 31 is none of diode"),
        ("30 32 32 30 30 31 33 30 30 30 32 30 0D 0A", "22001 counts without over-range"),
        ("30 31 32 33 34 35 33 30 30 30 32 30 0D 0D", "bytes 12 and 13 are 0D 0D"),
    ],
)
def test_block14_the_reason_names_the_byte(text: str, reason: str) -> None:
    """A refusal says which byte is wrong and what was expected there."""
    assert reason in refused(BLOCK14, text)


@pytest.mark.parametrize(
    ("name", "display", "expected"),
    [
        (
            "block11",
            Display(234.5, 0.1, 400.0),
            2 * "B0 32 B3 34 B5 B3 B0 B0 B0 0D 8A ",
        ),
        (
            "block11",
            Display(0.0, 10e3, 40e6, overload=True),
            2 * "B5 34 B0 B0 B0 B3 31 B0 B0 0D 8A ",
        ),
        (
            "block11",
            Display(12340.0, 10.0, 40e3, function=Function.FREQUENCY),
            2 * "31 31 32 B3 34 32 38 B0 B0 0D 8A ",
        ),
        (
            "block11",
            Display(0.1234, 1e-4, 0.4, function=Function.CURRENT),
            2 * "31 31 32 B3 34 B9 B0 B0 B0 0D 8A ",
        ),
        (
            "block14",
            Display(123.45, 0.01, 220.0, flags=frozenset({Flag.AUTO, Flag.HOLD})),
            "B0 31 32 B3 34 B5 B3 B0 B0 B0 32 32 0D 8A",
        ),
        (
            "block14",
            Display(0.0, 0.01, 220.0, overload=True),
            "B0 32 32 B0 B0 B0 B3 31 B0 B0 B0 B0 0D 8A",
        ),
        (
            "block14",
            Display(-1.2345, 1e-4, 2.2, function=Function.DC_VOLTAGE),
            "B0 31 32 B3 34 B5 3B 34 B0 B0 38 B0 0D 8A",
        ),
        (
            "block14",
            Display(12345.0, 1.0, 22e3, function=Function.FREQUENCY),
            "B3 31 32 B3 34 B5 32 38 B0 B0 B0 B0 0D 8A",
        ),
    ],
)
def test_what_the_encoders_write(name: str, display: Display, expected: str) -> None:
    """Range code, status and options are those of what is shown, with parity."""
    assert bytes.fromhex(expected) == find(name).encode(display)


@pytest.mark.parametrize(
    ("name", "display", "reason"),
    [
        ("block11", Display(1.0, 0.1, 400.0, function=Function.DIODE), "no function code"),
        ("block11", Display(234.5, 0.1, 600.0), "no range to 600"),
        ("block11", Display(1.0, 0.01, 40.0), "no range to 40"),
        ("block11", Display(401.0, 0.1, 400.0), "past the end of its range"),
        ("block11", Display(1.0, 0.1, 400.0, flags=frozenset({Flag.NEGATIVE})), "a minus sign"),
        ("block14", Display(1.0, 0.01, 220.0, function=Function.CONTINUITY), "no ranges for"),
        ("block14", Display(1.0, 0.01, 200.0), "no range to 200"),
        ("block14", Display(float("nan"), 0.01, 220.0), "cannot be shown as digits"),
    ],
)
def test_the_encoders_refuse_what_no_range_shows(
    name: str, display: Display, reason: str
) -> None:
    """A display that a meter of these counts cannot have is refused with the reason."""
    with pytest.raises(ValueError, match=reason):
        find(name).encode(display)
