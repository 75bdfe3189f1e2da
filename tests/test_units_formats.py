"""Quantities, leads and temperatures from text, and resistances back to text."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import pytest

from coilmeter.errors import ReadingTextError
from coilmeter.units import (
    format_ohm,
    format_with_uncertainty,
    in_degc,
    in_ohm,
    parse_quantity,
    parse_resistance_with_spread,
    parse_temperature,
    ureg,
)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("1 Mohm", "ohm", 1e6),
        ("1,5 kohm", "ohm", 1500.0),
        ("20 mV", "volt", 0.02),
        ("0.5 mA", "ampere", 5e-4),
        ("10 kHz", "hertz", 1e4),
        ("100 mH", "henry", 0.1),
        ("47 uF", "farad", 47e-6),
        ("47 µF", "farad", 47e-6),
        ("3 seconds", "second", 3.0),
    ],
)
def test_quantities(text: str, unit: str, value: float) -> None:
    """A number with the prefix and unit asked for becomes a quantity of that unit."""
    quantity = parse_quantity(text, unit)

    assert value == pytest.approx(quantity.m_as(unit))


@pytest.mark.parametrize(
    "text", ["5", "5 V", "", "x", "1e305 Mohm", "5" * 100, "5 gas", "5 zV"]
)
def test_quantities_refused(text: str) -> None:
    """A bare number, another dimension or an overflow is not guessed at."""
    with pytest.raises(ReadingTextError) as caught:
        parse_quantity(text, "ohm")

    assert "a number with a unit" in str(caught.value) or "finite" in str(caught.value)


@pytest.mark.parametrize(
    ("text", "ohm", "half_width"),
    [
        ("0.2 ohm", 0.2, None),
        ("150 mohm", 0.15, None),
        ("0,2 +/- 0,05 ohm", 0.2, 0.05),
        ("0.2 ± 0.05", 0.2, 0.05),
        ("0.2+-0.05 ohm", 0.2, 0.05),
    ],
)
def test_lead_resistance(text: str, ohm: float, half_width: float | None) -> None:
    """A lead resistance, with or without the half-width of its limits."""
    value, spread = parse_resistance_with_spread(text)

    assert ohm == pytest.approx(in_ohm(value))
    assert half_width == (None if spread is None else pytest.approx(in_ohm(spread)))


@pytest.mark.parametrize("text", ["", "x", "5 V", "0.2 +/- ohm", "1e400 ohm", "0.2 +/- 1e400"])
def test_lead_resistance_refused(text: str) -> None:
    """What is no resistance is refused."""
    with pytest.raises(ReadingTextError) as caught:
        parse_resistance_with_spread(text)

    assert "expected" in str(caught.value)


@pytest.mark.parametrize(
    ("text", "degc", "half_width"),
    [
        ("23", 23.0, None),
        ("23,5 degC", 23.5, None),
        ("23 +/- 2 °C", 23.0, 2.0),
        ("-10 C", -10.0, None),
        ("21 ± 0.5 ℃", 21.0, 0.5),
    ],
)
def test_temperatures(text: str, degc: float, half_width: float | None) -> None:
    """A temperature in degree Celsius and its half-width in kelvin."""
    value, spread = parse_temperature(text)

    assert degc == pytest.approx(in_degc(value))
    assert half_width == (None if spread is None else pytest.approx(spread.m_as("kelvin")))


@pytest.mark.parametrize("text", ["", "warm", "300", "-60", "73 F", "293 K", "20 ohm", "nan"])
def test_temperatures_refused(text: str) -> None:
    """Other scales, and temperatures no head is measured at, are refused."""
    with pytest.raises(ReadingTextError) as caught:
        parse_temperature(text)

    assert "expected" in str(caught.value)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0 ohm"),
        (171.0, "171 ohm"),
        (212.44, "212.4 ohm"),
        (999.96, "1000 ohm"),
        (1000.0, "1 kohm"),
        (4712.0, "4.712 kohm"),
        (4e7, "40 Mohm"),
        (1e9, "1 Gohm"),
        (-0.12, "-0.12 ohm"),
        (0.012345, "0.01235 ohm"),
    ],
)
def test_resistance_for_a_person(value: float, text: str) -> None:
    """Four significant digits, with the prefix that keeps the number readable."""
    assert text == format_ohm(value)


@pytest.mark.parametrize(
    ("value", "u", "text"),
    [
        (212.4, 1.3, "212.4 +/- 1.3 ohm"),
        (212.44, 0.42, "212.44 +/- 0.42 ohm"),
        (0.0, 0.29, "0.00 +/- 0.29 ohm"),
        (-0.1, 0.29, "-0.10 +/- 0.29 ohm"),
        (171.0, 13.0, "171 +/- 13 ohm"),
        (999.96, 0.5, "999.96 +/- 0.50 ohm"),
        (999.96, 5.0, "1000.0 +/- 5.0 ohm"),
        (2.0e7, 1.4e5, "20.00 +/- 0.14 Mohm"),
        (1.0e6, 5.8e3, "1.0000 +/- 0.0058 Mohm"),
        (5.0, 2.0e4, "0 +/- 20 kohm"),
        # the second digit moves when the uncertainty rounds up to a power of ten
        (5.0, 0.0996, "5.00 +/- 0.10 ohm"),
        (171.2, 9.96, "171 +/- 10 ohm"),
        (5.0, 0.996, "5.0 +/- 1.0 ohm"),
    ],
)
def test_value_with_uncertainty(value: float, u: float, text: str) -> None:
    """Value and uncertainty to the second significant digit of the uncertainty."""
    assert text == format_with_uncertainty(value, u)
    assert text.partition(" +/-")[0] == format_ohm(value, u).rpartition(" ")[0]


def test_registry_knows_no_constants() -> None:
    """The names a bench user means as ohm and kilo are no units here."""
    known = [name for name in ("R", "k", "K", "M", "molar") if name in ureg]

    assert [] == known
