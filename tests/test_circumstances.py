"""What the text beside a reading means: its range, its leads, its temperature."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math

import pytest
from helpers import meter_table, rows

from coilmeter.compute.circumstances import (
    bound_of,
    warmth_of_text,
)
from coilmeter.errors import ReadingTextError
from coilmeter.values import Function, Reading, ReadingRow

SQRT3 = math.sqrt(3.0)


def row(reading: str, range_: str = "") -> ReadingRow:
    """Read one row of a readings file."""
    (only,) = rows(f"coil,reading,range\n1,{reading},{range_}\n")
    return only


@pytest.mark.parametrize(
    ("ohm", "stated", "end"),
    [
        (0.0, None, 400.0),
        (399.9, None, 400.0),
        (400.0, None, 400.0),
        (400.1, None, 4e3),
        (-0.2, None, 400.0),
        (5e7, None, 4e7),
        (5.0, 4e3, 4e3),
        (5.0, 4.02e3, 4e3),
        (450.0, 400.0, 400.0),
        (600.0, 400.0, None),
        (5.0, 6e3, None),
        (5.0, math.inf, 400.0),
    ],
)
def test_range_of_a_reading(ohm: float, stated: float | None, end: float | None) -> None:
    """The stated range, else the lowest that holds the reading; none that does not fit."""
    found = meter_table("handheld-4000").range_for(ohm, stated)

    assert end == (None if found is None else found.full_scale_ohm)


@pytest.mark.parametrize(
    ("ohm", "stated", "step"),
    [
        (5.0, None, 0.1),
        (200.0, None, 0.1),
        (200.1, None, 1.0),
        (5.0, 2e3, 1.0),
        (3e3, 2e3, None),
        (1e7, None, 1e4),
    ],
)
def test_range_of_a_meter_that_states_none(
    ohm: float, stated: float | None, step: float | None
) -> None:
    """A display of 2000 counts is taken, the fewest there are."""
    found = meter_table("unstated").range_for(ohm, stated)

    assert step == (None if found is None else found.resolution_ohm)


@pytest.mark.parametrize(
    ("reading", "range_", "meter", "bound"),
    [
        ("OL 40 Mohm", "", "handheld-4000", 4e7),
        ("OL 400 ohm", "40 Mohm", "handheld-4000", 400.0),
        ("OL", "4 kohm", "handheld-4000", 4e3),
        ("OL", "auto", "handheld-4000", 4e7),
        ("OL", "", "handheld-4000", 400.0),
        ("OL", "", "handheld-2000", 200.0),
        ("OL", "", "bench-6-digit", 10.0),
        ("OL", "auto", "unstated", 2e6),
        ("beep", "", "handheld-4000", 50.0),
        ("beep", "", "handheld-4000-b", 35.0),
        ("beep 30 ohm", "", "handheld-4000", 30.0),
        ("silent", "", "handheld-2000", 100.0),
        ("silent 70 ohm", "", "handheld-2000", 70.0),
    ],
)
def test_bounds(reading: str, range_: str, meter: str, bound: float) -> None:
    """An overload bounds from below by its range, the beeper by its threshold."""
    assert bound == bound_of(row(reading, range_), meter_table(meter))


def test_a_beepers_spread_works_against_the_verdict(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A threshold of 50 +/- 30 ohm: a beep says below 80, silence says above 20."""
    table = meter_table("handheld-4000")
    monkeypatch.setattr(type(table), "beeper_ohm", property(lambda _: (50.0, 30.0)))

    assert (80.0, 20.0) == (bound_of(row("beep"), table), bound_of(row("silent"), table))


@pytest.mark.parametrize(
    ("text", "degc", "u", "known"),
    [
        ("", 20.0, 5 / SQRT3, False),
        ("23", 23.0, 1 / SQRT3, True),
        ("23 +/- 2 degC", 23.0, 2 / SQRT3, True),
        ("23 +/- 0", 23.0, 0.0, True),
    ],
)
def test_temperature(text: str, degc: float, u: float, known: bool) -> None:  # noqa: FBT001 - a parameter of the test
    """A stated temperature, else 20 degC within 5 K."""
    warmth = warmth_of_text(text)

    assert [degc, u] == pytest.approx([warmth.degc, warmth.u_k])
    assert known is warmth.known


@pytest.mark.parametrize("text", ["x", "300", "20 +/- 1000000", "20 +/- 500 degC"])
def test_temperature_refused(text: str) -> None:
    """A temperature within hundreds of kelvin says nothing, and is a slip of the pen."""
    with pytest.raises(ReadingTextError) as caught:
        warmth_of_text(text)

    assert "expected" in str(caught.value)


@pytest.mark.parametrize(
    ("meter", "reading", "end"),
    [
        ("handheld-4000", Reading(Function.RESISTANCE, 5.0, "ohm", full_scale=600.0), 600.0),
        ("handheld-4000", Reading(Function.RESISTANCE, 5.0, "ohm", resolution=1.0), 4e3),
        ("handheld-4000", Reading(Function.RESISTANCE, 5.0, "ohm", resolution=0.5), None),
        ("handheld-4000", Reading(Function.RESISTANCE, 5.0, "ohm"), None),
        ("unstated", Reading(Function.RESISTANCE, 5.0, "ohm", resolution=1.0), None),
        (
            "unstated",
            Reading(Function.RESISTANCE, None, "ohm", overload=True, resolution=1e4),
            2e7,
        ),
    ],
)
def test_range_of_a_frame(meter: str, reading: Reading, end: float | None) -> None:
    """From the frame itself, else from its last digit, else the least that digit can mean."""
    assert end == meter_table(meter).range_end(reading)
