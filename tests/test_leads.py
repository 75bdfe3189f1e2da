"""What the leads add to a reading: measured, told, or only bounded."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math

import pytest
from helpers import meter_table, rows

from coilmeter.compute.leads import leads_from_nulls, leads_of_text, why_no_null
from coilmeter.errors import ReadingTextError
from coilmeter.values import ReadingRow

SQRT3 = math.sqrt(3.0)


def nulls(*readings: str, **changes: str) -> list[ReadingRow]:
    """Read lead nulls."""
    count, scatter = changes.get("count", ""), changes.get("scatter", "")
    lines = "".join(f",{reading},lead-null,{count},{scatter}\n" for reading in readings)
    return rows(f"coil,reading,purpose,count,scatter\n{lines}")


@pytest.mark.parametrize(
    ("text", "ohm", "u", "known"),
    [
        ("", 0.0, 0.2 / SQRT3, False),
        ("nulled", 0.0, 0.5 / SQRT3, True),
        ("REL", 0.0, 0.5 / SQRT3, True),
        ("relative", 0.0, 0.5 / SQRT3, True),
        ("four-wire", 0.0, 0.0, True),
        ("4-wire", 0.0, 0.0, True),
        ("0.2 ohm", 0.2, 0.5 / SQRT3, True),
        ("150 mohm", 0.15, 0.5 / SQRT3, True),
        ("0,2 +/- 0,05 ohm", 0.2, 0.05 / SQRT3, True),
        ("0.0", 0.0, 0.5 / SQRT3, True),
        ("0", 0.0, 4.0 / SQRT3, True),
    ],
)
def test_leads(text: str, ohm: float, u: float, known: bool) -> None:  # noqa: FBT001 - a table
    """What was written about the leads; unknown ones stay in the reading as a limit."""
    leads = leads_of_text(text, meter_table("handheld-4000"))

    assert (ohm, known) == (leads.ohm, leads.known)
    assert u == pytest.approx(leads.u_ohm)


@pytest.mark.parametrize(
    "text", ["6 ohm", "-0.1 ohm", "x", "5 V", "0.2 +/- 1e6 ohm", "0.2 +/- 9 ohm", "1e400"]
)
def test_leads_refused(text: str) -> None:
    """No lead has more than 5 ohm, nor an uncertainty of more."""
    with pytest.raises(ReadingTextError) as caught:
        leads_of_text(text, meter_table("handheld-4000"))

    assert "expected" in str(caught.value)


def test_the_message_about_leads_names_the_words_for_them() -> None:
    """Whatever was written instead, the words that would be understood are told."""
    with pytest.raises(ReadingTextError) as caught:
        leads_of_text("shorted", meter_table("handheld-4000"))

    assert "'nulled'" in str(caught.value)
    assert "'four-wire'" in str(caught.value)


def test_one_null() -> None:
    """One reading with the clips together, uncertain by the counts of the meter."""
    leads = leads_from_nulls(nulls("0.2"), meter_table("handheld-4000"))

    assert (0.2, True) == (leads.ohm, leads.known)
    assert 0.5 / SQRT3 == pytest.approx(leads.u_ohm)


def test_several_nulls() -> None:
    """The mean of 0.2, 0.3, 0.4 and its scatter, 0.1/sqrt(3) (GUM 4.2.3), with the counts."""
    leads = leads_from_nulls(nulls("0.2", "0.3", "0.4"), meter_table("handheld-4000"))

    assert 0.3 == pytest.approx(leads.ohm)
    assert math.hypot(0.5 / SQRT3, 0.1 / SQRT3) == pytest.approx(leads.u_ohm)


def test_a_null_of_several_readings() -> None:
    """The scatter of one null counts by its mean: 0.3/sqrt(9) with the counts."""
    taken = nulls("200 mohm", count="9", scatter="0.3")
    leads = leads_from_nulls(taken, meter_table("handheld-4000"))

    assert math.hypot(0.5 / SQRT3, 0.1) == pytest.approx(leads.u_ohm)


@pytest.mark.parametrize(
    ("reading", "range_", "u"),
    [("0.0", "", 0.5), ("0", "", 4.0), ("0", "4 kohm", 4.0), ("0.2", "400 ohm", 0.5)],
)
def test_a_null_is_as_good_as_its_range(reading: str, range_: str, u: float) -> None:
    """Read on whole ohms, a null is known to the counts of whole ohms."""
    taken = rows(f"coil,reading,purpose,range\n,{reading},lead-null,{range_}\n")
    leads = leads_from_nulls(taken, meter_table("handheld-4000"))

    assert u / SQRT3 == pytest.approx(leads.u_ohm)


@pytest.mark.parametrize("reading", ["OL", "beep", "5.1", "-5.1", "-4.0", "-1.0"])
def test_no_null(reading: str) -> None:
    """What is no resistance of two leads is no null, nor is one too far below zero."""
    (row,) = nulls(reading)

    assert "a lead null from 0 to 5 ohm" in why_no_null(row, meter_table("handheld-4000"))


@pytest.mark.parametrize("reading", ["0.2", "-0.2", "0", "5.0"])
def test_a_null(reading: str) -> None:
    """A little below zero is within what a meter shows on shorted clips."""
    (row,) = nulls(reading)

    assert why_no_null(row, meter_table("handheld-4000")) == ""


def test_a_null_in_relative_mode_is_none() -> None:
    """The meter has taken the leads off already: the reading says nothing of them."""
    (row,) = rows("coil,reading,purpose,lead\n,0.0,lead-null,nulled\n")

    assert "relative" in why_no_null(row, meter_table("handheld-4000"))
