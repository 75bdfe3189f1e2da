"""Texts that are no reading: refused with what was seen and what to write."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import pickle

import pytest

from coilmeter.errors import ReadingTextError
from coilmeter.units import parse_reading


@pytest.mark.parametrize(
    "text",
    [
        "3 ohm + 4 ohm",
        "2**3 ohm",
        "9**9**9 ohm",  # a registry that evaluates is still busy after ten seconds
        "9**9**9",
        "nan ohm",
        "NaN",
        "inf ohm",
        "-inf",
        "Infinity",
        "1e400 ohm",
        "1e999",
        "1e1000",
        "1_000",
        "0x10",
        "(5)",
        "5 ohm 6 ohm",
        "1.2.3",
        "1.200,5 ohm",
        "1,200.5 ohm",
        "--5",
        "5-",
        "",
        "   ",
        "?",
        "open",
        "short",
        "ohm",
        "k",
        "R",
        ".",
        ",",
        "e5",
        "OLE",
        "OLx",
        "beeper",
        "silently",
        "4k7k",
        "4k7 V",
        "4x7",
        "k7k",
        "OL ohm",
        "OL 0 ohm",
        "OL -5 ohm",
        "OL nan",
        "OL 5 V",
        "beep x",
        "5\x00",
        "5 \u202eohm",
    ],
)
def test_refused(text: str) -> None:
    """Expressions, infinities, two readings, words: refused with what was seen."""
    with pytest.raises(ReadingTextError) as caught:
        parse_reading(text)

    assert text == caught.value.text
    assert caught.value.exit_code == 2
    assert "expected" in str(caught.value)


@pytest.mark.parametrize(
    "text",
    ["1e305 Mohm", "1e308k", "1e303M", "OL 1e305 Mohm", "beep 1e305M", "0e999", "0.0e309"],
)
def test_numbers_that_overflow_are_refused(text: str) -> None:
    """A number that is finite as typed and not in ohm is no reading, and no traceback."""
    with pytest.raises(ReadingTextError) as caught:
        parse_reading(text)

    assert text in str(caught.value)


@pytest.mark.parametrize(
    "text",
    ["\u0661\u0662\u0663", "\uff11\uff12", "\u00b2", "1\u0660", "\u2460", "\u0967k\u0968"],
)
def test_digits_of_other_scripts_are_refused(text: str) -> None:
    """Arabic-Indic, full-width, superscript and circled digits are no digits here."""
    with pytest.raises(ReadingTextError) as caught:
        parse_reading(text)

    assert text == caught.value.text


def test_a_megabyte_is_refused_in_one_short_line() -> None:
    """A very long text is refused before it is matched, and shown shortened."""
    with pytest.raises(ReadingTextError) as caught:
        parse_reading("9" * 1_000_000)

    assert 300 > len(str(caught.value))
    assert "'9999" in str(caught.value)


@pytest.mark.parametrize("text", ["5 V", "5 mA", "5 Hz", "5 H", "5 uF", "5 s", "5 degC", "5 %"])
def test_wrong_units_are_refused(text: str) -> None:
    """Another quantity is never taken for ohms."""
    with pytest.raises(ReadingTextError) as caught:
        parse_reading(text)

    assert text == caught.value.text


@pytest.mark.parametrize(
    ("text", "words"), [("open", "OL and its range"), ("nan", "leave the")]
)
def test_advice(text: str, words: str) -> None:
    """What people write in place of a reading is answered with what to write."""
    with pytest.raises(ReadingTextError) as caught:
        parse_reading(text)

    assert words in caught.value.hint


def test_error_survives_pickling() -> None:
    """An error may come back from another process with its fields."""
    with pytest.raises(ReadingTextError) as caught:
        parse_reading("4m7")

    assert str(caught.value) == str(pickle.loads(pickle.dumps(caught.value)))  # noqa: S301 - own
