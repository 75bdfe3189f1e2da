"""Text to quantity and back: the whole grammar of a reading."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
import re

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from coilmeter.errors import ReadingTextError
from coilmeter.units import Form, in_ohm, parse_reading

GREEK_OMEGA = "\u03a9"
OHM_SIGN = "\u2126"


@pytest.mark.parametrize(
    ("text", "ohm"),
    [
        # what a default unit registry reads rightly
        (f"4.7 k{GREEK_OMEGA}", 4700.0),
        ("4.7kohm", 4700.0),
        ("330 ohms", 330.0),
        ("22 kiloohm", 22000.0),
        # what it does not know
        (f"4.7 k{OHM_SIGN}", 4700.0),
        ("4k7", 4700.0),
        ("0R22", 0.22),
        ("330 Ohm", 330.0),
        # what it reads as something else: 12 kohm, gas constants, Boltzmann, molar, kelvin
        ("1,2 kohm", 1200.0),
        ("220 R", 220.0),
        ("10 k", 10_000.0),
        ("1 M", 1e6),
        ("10 K", 10_000.0),
        # what it reads, and must not be read without a check of the size
        ("1 Mohm", 1e6),
    ],
)
def test_what_a_default_registry_gets_wrong(text: str, ohm: float) -> None:
    """Texts a bench user types, on which a default unit registry was seen to fail."""
    reading = parse_reading(text)

    assert (Form.NUMBER, text.replace(OHM_SIGN, GREEK_OMEGA)) == (reading.form, reading.text)
    assert ohm == pytest.approx(reading.ohm, rel=1e-12)


@pytest.mark.parametrize(
    "text",
    ["1 m", "1 mohm", f"1 m{GREEK_OMEGA}", f"1m{OHM_SIGN}", "4m7", "OL 40 mohm", "1 mOhm"],
)
def test_milli_is_asked_never_guessed(text: str) -> None:
    """One letter lies between 0.001 and 1 000 000 ohm: the reader is told to say which."""
    with pytest.raises(ReadingTextError) as caught:
        parse_reading(text)

    assert "milli" in caught.value.hint
    assert "Mohm" in caught.value.hint


@pytest.mark.parametrize("text", ["5 uohm", "5 nohm", "5 µohm"])
def test_a_micro_ohm_is_not_explained_as_milli(text: str) -> None:
    """The message is about the prefix that was written."""
    with pytest.raises(ReadingTextError) as caught:
        parse_reading(text)

    assert "'m' means milli" not in str(caught.value)


@pytest.mark.parametrize(
    ("text", "ohm"), [("150 mohm", 0.15), ("4m7", 0.0047), ("1 m", 0.001), ("200 uohm", 2e-4)]
)
def test_milli_is_read_where_it_is_plausible(text: str, ohm: float) -> None:
    """A lead null may be given in milli-ohm."""
    reading = parse_reading(text, milli=True)

    assert ohm == pytest.approx(reading.ohm)


@pytest.mark.parametrize(
    ("text", "ohm", "step"),
    [
        ("212.4", 212.4, 0.1),
        ("212,4", 212.4, 0.1),
        ("212", 212.0, 1.0),
        ("+212.40", 212.4, 0.01),
        ("-0.1", -0.1, 0.1),
        ("\u22120.1 ohm", -0.1, 0.1),
        ("5.", 5.0, 1.0),
        (".5", 0.5, 0.1),
        (",5", 0.5, 0.1),
        ("1.20 kohm", 1200.0, 10.0),
        ("1,234 kohm", 1234.0, 1.0),
        ("2.2M", 2.2e6, 1e5),
        ("1.5 K ohm", 1500.0, 100.0),
        ("1.5 megohms", 1.5e6, 1e5),
        ("1.5 meg", 1.5e6, 1e5),
        ("3 Gohm", 3e9, 1e9),
        ("3 kOhms", 3000.0, 1000.0),
        ("3 KOHM", 3000.0, 1000.0),
        ("2.5e3", 2500.0, 100.0),
        ("2.5E-1 kohm", 250.0, 10.0),
        ("5R", 5.0, 1.0),
        ("  5 \u00a0 ohm ", 5.0, 1.0),
        ("0", 0.0, 1.0),
    ],
)
def test_plain_numbers(text: str, ohm: float, step: float) -> None:
    """Point or comma, prefix, unit: the value and the value of the last digit written."""
    reading = parse_reading(text)

    assert ohm == pytest.approx(reading.ohm)
    assert step == pytest.approx(reading.step_ohm)


@pytest.mark.parametrize(
    ("text", "ohm", "step"),
    [
        ("R47", 0.47, 0.01),
        ("4r7", 4.7, 0.1),
        ("470R", 470.0, 1.0),
        ("47K3", 47_300.0, 100.0),
        ("1G5", 1.5e9, 1e8),
        ("L47", 4.7e-4, 1e-5),
        ("4g7", 4.7e9, 1e8),
    ],
)
def test_letter_codes(text: str, ohm: float, step: float) -> None:
    """The letter stands for the decimal point and the multiplier (IEC 60062:2016)."""
    reading = parse_reading(text)

    assert ohm == pytest.approx(reading.ohm)
    assert step == pytest.approx(reading.step_ohm)


@pytest.mark.parametrize(
    "text", ["OL", "ol", "0L", "0l", "O.L", "0.L", ".OL", ".0L", "OL.", "Ol", " OL "]
)
def test_overload_in_every_spelling(text: str) -> None:
    """Displays show OL in several ways; without a range it bounds nothing by itself."""
    reading = parse_reading(text)

    assert (Form.OVERLOAD, None, None) == (reading.form, reading.ohm, reading.step_ohm)
    assert reading.quantity is None


@pytest.mark.parametrize(
    ("text", "form", "ohm"),
    [
        ("OL 40 Mohm", Form.OVERLOAD, 4e7),
        ("0L 400 ohm", Form.OVERLOAD, 400.0),
        ("OL (40 Mohm)", Form.OVERLOAD, 4e7),
        ("OL>40M", Form.OVERLOAD, 4e7),
        ("O.L 4 kohm", Form.OVERLOAD, 4000.0),
        ("beep 30 ohm", Form.BEEP, 30.0),
        ("BEEP <30", Form.BEEP, 30.0),
        ("beep (70 ohm)", Form.BEEP, 70.0),
        ("silent 0,1 kohm", Form.SILENT, 100.0),
        ("Silent > 35 ohm", Form.SILENT, 35.0),
        ("beep", Form.BEEP, None),
        ("silent", Form.SILENT, None),
    ],
)
def test_bounds_with_their_limit(text: str, form: Form, ohm: float | None) -> None:
    """OL with the end of its range; beep and silent with the threshold."""
    reading = parse_reading(text)

    assert (form, ohm) == (reading.form, reading.ohm)
    assert (None if ohm is None else ohm) == (
        None if reading.quantity is None else in_ohm(reading.quantity)
    )


@given(st.floats(min_value=1e-3, max_value=1e12, allow_subnormal=False), st.booleans())
def test_full_digits_parse_back(value: float, comma: bool) -> None:  # noqa: FBT001 - drawn
    """Any resistance written with all its digits is read back as the same number."""
    text = repr(value).replace(".", ",") if comma else repr(value)
    assume(not re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", text))  # asked about, see below
    reading = parse_reading(f"{text} ohm")

    assert value == reading.ohm


@pytest.mark.parametrize("text", ["1,234", "1,234 ohm", "12,500 R", "-1,234"])
def test_a_comma_that_may_part_thousands_is_asked_about(text: str) -> None:
    """1,234 ohm is 1.234 in one country and 1234 in another; 1,234 kohm is a display."""
    with pytest.raises(ReadingTextError) as caught:
        parse_reading(text)

    assert "one way only" in str(caught.value)
    assert 1234.0 == parse_reading("1,234 kohm").ohm
    assert 0.234 == parse_reading("0,234").ohm


@given(st.integers(1, 999_999), st.integers(0, 5), st.sampled_from([("k", 1e3), ("M", 1e6)]))
def test_prefix_scales_value_and_step(
    digits: int, decimals: int, prefix: tuple[str, float]
) -> None:
    """A prefix multiplies the number and the value of its last digit alike."""
    text = f"{digits / 10**decimals:.{decimals}f}"
    plain, scaled = parse_reading(text), parse_reading(f"{text} {prefix[0]}ohm")

    assert (plain.ohm or 0.0) * prefix[1] == pytest.approx(scaled.ohm, rel=1e-12)
    assert (plain.step_ohm or 0.0) * prefix[1] == pytest.approx(scaled.step_ohm, rel=1e-12)


@given(st.text(max_size=60))
def test_any_text_is_a_finite_reading_or_refused(text: str) -> None:
    """No text makes anything but a finite reading or the one error."""
    try:
        reading = parse_reading(text)
    except ReadingTextError:
        return

    assert reading.ohm is None or math.isfinite(reading.ohm)
    assert reading.step_ohm is None or 0 < reading.step_ohm < math.inf
