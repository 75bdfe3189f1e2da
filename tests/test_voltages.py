"""Texts of AC measurements: voltages, tolerances, currents, phases; figures for a person."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilmeter.errors import ReadingTextError
from coilmeter.units.si_text import format_si
from coilmeter.units.tolerances import parse_resistor
from coilmeter.units.voltages import (
    parse_current,
    parse_phase,
    parse_voltage,
)


@pytest.mark.parametrize(
    ("text", "volt", "step"),
    [
        ("98.4 mV", 0.0984, 1e-4),
        ("0,1624 V ac", 0.1624, 1e-4),
        ("162 mVAC", 0.162, 1e-3),
        ("1.5 V rms", 1.5, 0.1),
        ("950 uV", 950e-6, 1e-6),
        (" 98.40  mV ", 0.0984, 1e-5),
    ],
)
def test_a_voltage(text: str, volt: float, step: float) -> None:
    """Value and last digit, with a point or a comma, with or without the word for AC."""
    found = parse_voltage(text)

    assert (volt, step) == pytest.approx((found.volt, found.step_volt))


@pytest.mark.parametrize(
    "text",
    [
        *("", "98.4", "OL", "O.L mV", "98 mV dc", "-3 mV", "0 V", "5 kV", "12 ohm"),
        *("x" * 100, "nan V", "1e99 V", "98.4 mVac dc", "9**9 V"),
    ],
)
def test_no_ac_voltage(text: str) -> None:
    """Each is refused."""
    with pytest.raises(ReadingTextError):
        parse_voltage(text)


@pytest.mark.parametrize(
    ("text", "ohm", "half"),
    [
        ("10 kohm +/- 1 %", 10e3, 100.0),
        ("9.98 +/- 0.02 kohm", 9980.0, 20.0),
        ("9980 ohm ± 20 ohm", 9980.0, 20.0),
        ("4k7 +/- 5%", 4700.0, 235.0),
        ("10 kohm", 10e3, None),
        ("10 kohm 1%", 10e3, 100.0),
        ("9k98 F", 9980.0, 99.8),
        ("4k7J", 4700.0, 235.0),
        ("10K", 10e3, None),
        ("4k7 +/- 100 ohm", 4700.0, 100.0),
        ("4,7k +/- 0,1 kohm", 4700.0, 100.0),
    ],
)
def test_a_tolerance(text: str, ohm: float, half: float | None) -> None:
    """In per cent or in ohm, the unit behind one or both."""
    assert (ohm, half) == pytest.approx(parse_resistor(text)[:2])


@pytest.mark.parametrize(
    "text",
    [
        *("", "x", "10 kohm +/- 0 %", "10 kohm +/- 200 %", "10 kohm +/- x", "OL"),
        *("-5 ohm", "10 kohm +/- OL", "0 ohm", "10 V +/- 1 %", "1" * 90),
        *("10.0 kohm +/- 0.02", "10 kohm +/- 20", "4k7 +/- 5", "9k98 +/- 1", "220 +/- 5"),
        *("220R 120%", "220RR", "10 ohm A"),
    ],
)
def test_no_tolerance(text: str) -> None:
    """Nothing is known exactly, and nothing is known by no more than itself."""
    with pytest.raises(ReadingTextError):
        parse_resistor(text)


def test_currents_and_phases() -> None:
    """With their half-widths, in their SI units."""
    assert (19.66e-3, 1e-4) == pytest.approx(parse_current("19.66 mA +/- 0.1 mA"))
    assert (19.66e-3, None) == parse_current("19.66 mA")
    assert (math.radians(59.8), math.radians(0.5)) == pytest.approx(
        parse_phase("59.8 deg +/- 0.5 deg")
    )
    assert (1.044, None) == parse_phase("1.044 rad")
    assert (math.pi / 6, None) == pytest.approx(parse_phase("30°"))


@pytest.mark.parametrize(
    ("read", "text"),
    [
        (parse_current, "19.66"),
        (parse_current, "-1 mA"),
        (parse_current, "1 mV"),
        (parse_current, "1 mA +/- 0 mA"),
        (parse_phase, "59.8"),
        (parse_phase, "120 deg"),
        (parse_phase, "30 deg +/- x"),
        (parse_phase, "9" * 90),
    ],
)
def test_no_current_and_no_phase(read: object, text: str) -> None:
    """Each is refused."""
    with pytest.raises(ReadingTextError):
        read(text)  # type: ignore[operator]


@pytest.mark.parametrize(
    ("value", "unit", "u", "text"),
    [
        (0.0897, "H", 0.0012, "89.7 +/- 1.2 mH"),
        (0.0984, "V", None, "98.4 mV"),
        (10e3, "Hz", None, "10 kHz"),
        (1.2e-10, "F", 3e-12, "120.0 +/- 3.0 pF"),
        (0.1242, "", 0.0072, "0.1242 +/- 0.0072"),
        (0.0, "V", None, "0 V"),
        (1234.0, "", None, "1234"),
    ],
)
def test_figures_for_a_person(value: float, unit: str, u: float | None, text: str) -> None:
    """Two digits of the uncertainty, or four of the value; a prefix only before a unit."""
    assert text == format_si(value, unit, u)


@given(st.floats(1e-11, 1e8), st.floats(1e-3, 0.5))
def test_what_is_shown_is_within_what_is_stated(value: float, relative: float) -> None:
    """Rounding never moves a value by more than a tenth of its uncertainty."""
    u = relative * value
    shown, _, rest = format_si(value, "H", u).partition(" +/- ")
    letter = rest.split()[1].removesuffix("H")
    factor = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "m": 1e-3, "": 1.0, "k": 1e3, "M": 1e6}[letter]

    assert value == pytest.approx(float(shown) * factor, abs=0.1 * u + 1e-6 * factor)
