"""The reference pages: every column, key and figure they describe is what the tool does."""

from __future__ import annotations

import json
import math
import re

import pytest
from docs_pages import page, section, tables
from helpers import cli, one_head

from coilmeter.errors import ReadingTextError
from coilmeter.sources.sheet import COLUMNS
from coilmeter.units import parse_reading
from coilmeter.values import Purpose


def test_the_readings_file_is_described_in_full() -> None:
    """Every column has its line, in the order of a walk's file; every purpose has one too."""
    text = page("reference/readings-file.md")

    columns = [cells[0] for cells in tables(section(text, "Columns"))]
    purposes = [cells[0] for cells in tables(section(text, "Purpose"))]

    assert list(COLUMNS) == [name for name in columns if name not in {"column", "---"}]
    assert [*Purpose] == purposes[2:]


def test_readings_mean_what_the_page_says() -> None:
    """Each text of the table is understood so, and each refused one is refused."""
    good, refused = section(page("reference/readings-file.md"), "Reading").split("Refused")

    for text, meaning in list(tables(good))[2:]:
        ohm = parse_reading(text).ohm
        if meaning.endswith(" ohm") and "than" not in meaning:
            assert float(meaning.removesuffix(" ohm")) == pytest.approx(ohm, rel=1e-12)
        elif meaning.startswith(("more than 4", "less than 3")):
            assert parse_reading(meaning.split(" than ")[1]).ohm == ohm
        else:
            assert ohm is None
    for text, _ in list(tables(refused))[2:]:
        with pytest.raises(ReadingTextError):
            parse_reading(text)


def test_every_key_of_the_json_document_is_described() -> None:
    """The page has a line for each key, and none for one that does not exist."""
    text = page("reference/json.md")
    rows = b"coil,reading,purpose\n1,171.3,\n2,OL 400 ohm,\n1-2,OL,coil-to-coil\n"
    ran = cli("judge", "-", "--as", "json", "--budget", stdin=rows)
    document = json.loads(ran.out)
    (head,) = document["heads"]

    for title, keys in (
        ("Document", set(document)),
        ("Head", set(head)),
        ("Coil", set(head["coils"][0])),
        ("Path", set(head["isolation"][0])),
    ):
        lines = list(tables(section(text, title)))[2:]
        assert keys == {key for cells in lines for key in re.findall(r"\w+", cells[0])}
    pairs = b"pins,reading\n1-2,171.3\n1-3,OL 40 Mohm\n3-4,172.0\n"
    mapped = json.loads(
        cli("pins", "--from", "-", "--pins", "4", "--as", "json", stdin=pairs).out
    )
    told = section(text, "Pin map")
    first = {key for cells in list(tables(told))[2:] for key in re.findall(r"\w+", cells[0])}
    assert set(mapped) == first
    for part in ("coils", "groups", "isolation", "open", "fits"):
        assert all(f"`{key}`" in told for key in mapped[part][0])
    budget = head["coils"][0]["budget"]
    assert all(f"`{key}`" in text for key in [*budget, *document["meter"]])


def test_the_worked_example_of_the_method_can_be_computed_again() -> None:
    """Its table, computed with nothing but the formulas of the page, and by the tool."""
    lines = {
        cells[0]: cells[-1] for cells in tables(section(page("method.md"), "A worked example"))
    }
    readings, lead, root3 = (102.6, 108.9), 0.2, math.sqrt(3)
    c = 1 + 0.00393 * (23 - 20)
    first, second = ((reading - lead) / c for reading in readings)
    gains = [0.008 * reading / root3 / c for reading in readings]
    counts = 5 * 0.1 / root3 / c
    warmth = 0.00393 * first / root3 / c
    u = math.sqrt(gains[0] ** 2 + 2 * counts**2 + warmth**2)

    def below(limit: float) -> float:
        return math.erfc((first - limit) / u / math.sqrt(2)) / 2

    # deviation = 2 R1 / (R1 + R2) - 1; slopes with R1 and R2
    slopes = (2 * second / (first + second) ** 2, -2 * first / (first + second) ** 2)
    own = math.hypot(*(slope * counts for slope in slopes))
    shared = (
        slopes[0] * gains[0] + slopes[1] * gains[1],
        (slopes[0] + slopes[1]) * counts,
        (slopes[0] * first + slopes[1] * second) * 0.00393 / root3 / c,
    )
    u_deviation = math.hypot(own, *shared)
    expected = {
        "c": f"{c:.5f}",
        "R20": f"{first:.3f} ohm",
        "gain": f"{gains[0]:.4f} ohm",
        "floor": f"{counts:.4f} ohm",
        "leads": f"{counts:.4f} ohm",
        "temperature": f"{warmth:.4f} ohm",
        "u": f"{u:.4f} ohm",
        "P(low)": f"{below(100) - below(20):.4f}",
        "P(intact)": f"{below(500) - below(100):.4f}",
        "deviation": f"{200 * first / (first + second) - 100:.2f} %",
        "u of the deviation": f"{100 * u_deviation:.2f} %",
    }
    coil = one_head(
        "coil,reading,purpose\n,0.2,lead-null\n1,102.6,\n2,108.9,\n",
        kind="two-channel-rp",
        meter="handheld-4000",
        temperature="23 +/- 1",
    ).coils[0]

    assert expected == {name: lines[name] for name in expected}
    assert first == pytest.approx(coil.resistance_20c_ohm, rel=1e-12)
    assert u == pytest.approx(coil.u_ohm, rel=1e-12)
    assert below(500) - below(100) == pytest.approx(coil.probability, rel=1e-9)
    assert u_deviation == pytest.approx(coil.u_deviation, rel=1e-9)
