"""What is kept reads back equal, whatever stands in it."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from helpers import rows
from hypothesis import given, settings
from hypothesis import strategies as st

from coilmeter.sources.keeper import SheetKeeper
from coilmeter.units import parse_reading
from coilmeter.values import (
    CASE,
    FlexEvidence,
    FlexFigures,
    Purpose,
    ReadingRow,
    Role,
    Stability,
)


def row(coil: str, text: str, **changes: Any) -> ReadingRow:
    """Make a row of a coil."""
    made = ReadingRow("x", 0, "H", parse_reading(text), coil=coil, purpose=Purpose.COIL)
    return replace(made, time="2026-03-01T14:05:00+00:00", **changes)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Name a file that is not there yet."""
    return tmp_path / "head.csv"


@pytest.fixture
def keeper(path: Path) -> Iterator[SheetKeeper]:
    """Keep one reading in a new file."""
    with SheetKeeper(path) as made:
        made.keep(row("1", "171.3"))
        yield made


def test_the_rounding_of_a_mean_is_no_scatter(path: Path) -> None:
    """Equal readings whose mean is rounded scatter by 1e-17 ohm: that reads back as none."""
    SheetKeeper(path).keep(row("1", "0.2", scatter_ohm=2.8e-17))

    assert [0.0] == [each.scatter_ohm for each in SheetKeeper(path, resume=True).rows]


HOSTILE = st.one_of(
    st.text(st.characters(exclude_categories=["Cs"]), max_size=12),
    st.sampled_from(
        [
            "a,b",
            'say "hm"',
            "'",
            "=1+1",
            "@x",
            "-1",
            "+1",
            "\u202eA",
            "\u200f",
            "a;b",
            "\\",
            "-",
        ]
    ),
)


def cells() -> st.SearchStrategy[str]:
    """Text that a cell gives back as it was: one line, nothing before or after it."""
    return HOSTILE.map(lambda text: "".join(text.split("\0")).strip()).filter(
        lambda text: text.isprintable() or not set(text) & {"\n", "\r"}
    )


def heads() -> st.SearchStrategy[str]:
    """Names of heads that the command line lets through."""
    return cells().filter(lambda text: text != "" and not text.startswith("#"))


READINGS = st.sampled_from(
    ["171.3", "4k7", "OL", "OL 40 Mohm", "beep", "silent", "-0.1 ohm", "1,2 kohm", "0R22"]
)


FLEXED = {Purpose.COIL, Purpose.FREE}
FLEXINGS = [
    None,
    FlexEvidence(Stability.STEADY),
    FlexEvidence(
        Stability.INTERMITTENT, FlexFigures(dropouts=3, longest_s=0.4, drift_ohm=-1.5)
    ),
]


@st.composite
def kept_rows(draw: st.DrawFn) -> ReadingRow:
    """Draw a row that a walk can make."""
    purpose = draw(st.sampled_from(list(Purpose)))
    coil = draw(st.sampled_from(["1", "L", "2.b"]))
    other = ""
    if purpose is Purpose.COIL_TO_COIL:
        other = draw(st.sampled_from(["3", "R"]))
    if purpose is Purpose.COIL_TO_CASE:
        other = CASE
    if purpose is Purpose.LEAD_NULL:
        coil = ""
    return ReadingRow(
        path="",
        line=0,
        head=draw(heads()),
        reading=parse_reading(draw(READINGS)),
        kind=draw(cells()),
        coil=coil,
        other=other,
        role=draw(st.sampled_from([None, *Role])),
        pins=draw(st.sampled_from([None, ("1", "2"), ("R", CASE)])),
        purpose=purpose,
        range_ohm=draw(st.sampled_from([None, float("inf"), 400.0, 40e6, 2.5e3])),
        meter=draw(cells()),
        lead=draw(cells()),
        temperature=draw(cells()),
        time="2026-03-01T14:05:00+00:00",
        note=draw(cells()),
        count=draw(st.integers(1, 10_000)),
        scatter_ohm=draw(st.integers(0, 999_999)) * 10.0 ** draw(st.integers(-9, 3)),
        proof=draw(st.sampled_from(["", "key", "bridged"])),
        raw=draw(st.binary(max_size=20)).hex(" "),
        flex=draw(st.sampled_from(FLEXINGS)) if purpose in FLEXED else None,
    )


@pytest.fixture(scope="module")
def folder() -> Iterator[Path]:
    """Give a folder that all examples share."""
    with tempfile.TemporaryDirectory() as name:
        yield Path(name)


def plain(each: ReadingRow) -> ReadingRow:
    """Leave out where a row was read, and the two sides of a reading that no longer counts."""
    if each.purpose is Purpose.FREE and each.other not in {"", CASE}:
        each = replace(each, coil=f"{each.coil}-{each.other}", other="")
    return replace(each, path="", line=0, scatter_ohm=float(f"{each.scatter_ohm:.6g}"))


@settings(max_examples=100, deadline=None)
@given(st.lists(kept_rows(), min_size=1, max_size=4))
def test_what_is_kept_reads_back_equal(folder: Path, some: list[ReadingRow]) -> None:
    """Every field comes back as it went in, whatever stands in it."""
    path = folder / "some.csv"
    path.unlink(missing_ok=True)
    with SheetKeeper(path) as made:
        for each in some:
            made.keep(each)
    back = SheetKeeper(path, resume=True)

    assert [plain(each) for each in made.rows] == [plain(each) for each in back.rows]
    assert "" == back.cut
    assert len(some) == len(back.rows)


def test_a_kept_file_is_an_ordinary_readings_file(keeper: SheetKeeper) -> None:
    """The judge's own reader takes it as it stands."""
    assert ["171.3"] == [each.reading.text for each in rows(keeper.path.read_text())]
