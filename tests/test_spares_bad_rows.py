"""A record that no reading can be: its own head goes without a verdict, and no other."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any, Final

import pytest
from helpers import rows, settings
from spares_files import full_bin
from spares_helpers import document, measured, open_bin, put_heads, spares

from coilmeter.compute.judge import judge_rows
from coilmeter.errors import MistakesError
from coilmeter.spares.adding import Batch, add
from coilmeter.spares.noting import keep_impedance
from coilmeter.spares.reading import find_head
from coilmeter.spares.schema import proofs
from coilmeter.values import Purpose, ReadingRow
from coilmeter.values.bin import ImpedanceOf

BAD: Final[dict[str, tuple[dict[str, Any], str]]] = {
    "no reading": ({"count": 0}, "count: saw '0'"),
    "no reading that scatters": ({"count": 0, "scatter_ohm": 0.1}, "count: saw '0'"),
    "less than none": ({"count": -3}, "count: saw '-3'"),
    "endless scatter": ({"scatter_ohm": float("inf")}, "scatter: saw 'inf ohm'"),
    "scatter below zero": ({"scatter_ohm": -0.5}, "scatter: saw '-0.5 ohm'"),
    "wild null": ({"purpose": Purpose.LEAD_NULL, "scatter_ohm": 1e200}, "reading: saw '0.2'"),
}
PROOFS: Final = {
    "not a number": '{"a": NaN}',
    "endless": '{"a": 1e999}',
    "minus": '{"a": [-Infinity, -1e999]}',
    "half a pair": '{"a": "\\ud800"}',
}


def bad_rows(changes: dict[str, Any]) -> list[ReadingRow]:
    """Rows of a head, the first of them spoilt."""
    text = "head,kind,coil,reading\nbad,two-channel-rp,1,0.2\nbad,two-channel-rp,2,171.0\n"
    first, *others = rows(text)
    return [replace(first, **changes), *others]


@pytest.mark.parametrize("what", BAD)
def test_it_is_a_mistake_of_its_row(what: str) -> None:
    """The judge names the row, what was seen and what was expected."""
    changes, expected = BAD[what]
    with pytest.raises(MistakesError) as caught:
        list(judge_rows(bad_rows(changes), settings()))

    (mistake,) = caught.value.mistakes
    assert 2 == mistake.line
    assert expected in str(mistake)


@pytest.mark.parametrize("what", [each for each in BAD if each != "endless scatter"])
def test_one_record_takes_no_bin_down(store: str, what: str) -> None:
    """Every command that judges goes on: the head is told not to be judged, and why."""
    changes, expected = BAD[what]
    with open_bin(store) as shelf:
        put_heads(shelf, measured("good", 180.0, 181.0))
        with shelf.write() as connection:
            add(connection, Batch("bad", "two-channel-rp", bad_rows(changes)))
    heads = {each["name"]: each for each in document(store, "list", code=None)["heads"]}
    asked = (("find", "good"), ("match",), ("history", "good"))
    out = [spares(store, *words, code=None) for words in asked]
    shown = spares(store, "show", "bad", code=None)

    assert ("matched", None) == (heads["good"]["grade"], heads["bad"]["grade"])
    assert expected in heads["bad"]["reason"]
    assert expected in " ".join(shown.split())
    assert all(out)


@pytest.mark.parametrize("what", PROOFS)
def test_a_proof_with_numbers_that_are_none(store: str, what: str) -> None:
    """As JSON it is given as the text that it is, and what comes out is JSON."""
    with full_bin(store) as shelf, shelf.write() as connection:
        connection.execute(proofs.update().values(document=PROOFS[what]))
    out = spares(store, "show", "T-01", "--as", "json", code=None)
    strict = json.loads(out, parse_constant=pytest.fail)
    page = spares(store, "report", "T-01", code=None)

    assert PROOFS[what] in [each["meter_proof"] for each in strict["record"]["sittings"]]
    assert page.startswith("<!DOCTYPE html>")


def test_an_inductance_without_bounds(store: str) -> None:
    """Its figures are shown as far as they can be; nothing ends in a fault."""
    with open_bin(store) as shelf:
        put_heads(shelf, measured("T", 180.0, 181.0))
        with shelf.write() as connection:
            huge = ImpedanceOf("", "1", "", 1e308, 1e308, 1e308, "")
            keep_impedance(connection, find_head(connection, "T"), huge)
    told = [spares(store, "show", "T", "--as", each) for each in ("table", "json", "csv")]
    page = spares(store, "report", "T")

    assert "uncertainty without bounds" in " ".join(told[0].split())
    assert 1e308 == json.loads(told[1])["record"]["impedances"][0]["u_henry"]
    assert "uncertainty without bounds" in page
