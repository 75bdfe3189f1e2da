"""Bins that were saved by each version stay readable: the file itself, and its export."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Final

import pytest
from spares_helpers import counts, document, exported, open_bin

from coilmeter.spares.importing import import_lines
from coilmeter.spares.noting import about
from coilmeter.spares.reading import find_head, records_of
from coilmeter.spares.store import Bin
from coilmeter.values import Purpose, Stability
from coilmeter.values.bin import HeadRecord

DATA: Final = Path(__file__).parent / "data"
VERSIONS: Final = sorted(path.name[7:11] for path in DATA.glob("version*-bin.sqlite"))
COUNTS: Final = {
    "heads": 2,
    "proofs": 1,
    "sittings": 4,
    "readings": 9,
    "impedances": 1,
    "notes": 1,
    "photos": 1,
    "events": 3,
}


@pytest.fixture(params=VERSIONS)
def saved(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Copy the bin of a version, so that it stays as it was saved."""
    path = tmp_path / "bin.sqlite"
    shutil.copy(DATA / f"version{request.param}-bin.sqlite", path)
    return str(path)


@pytest.fixture(params=VERSIONS)
def lines(request: pytest.FixtureRequest) -> list[bytes]:
    """Read the export of a version."""
    path = DATA / f"version{request.param}-bin.jsonl"
    return path.read_bytes().splitlines(keepends=True)


def test_there_is_one_of_each_version() -> None:
    """The first is number one, and none is missing."""
    assert [f"{number:04d}" for number in range(1, len(VERSIONS) + 1)] == VERSIONS
    assert VERSIONS


def record(shelf: Bin) -> HeadRecord:
    """Read the head that has everything."""
    with shelf.read() as connection:
        return next(records_of(connection, [find_head(connection, "shelf-7").id]))


def look_at(found: HeadRecord) -> None:
    """Compare a head with what was put into the bin when it was saved."""
    first, second, third = found.sittings
    assert ["0.2", "171.3", "OL", "OL", "171.2"] == [row.reading.text for row in first.rows]
    assert ["", "1", "2", "1", "1"] == [row.coil for row in first.rows]
    assert [400.0, 400.0, 40e6, float("inf"), 400.0] == [row.range_ohm for row in first.rows]
    assert ["", "", "bridged", "key", ""] == [row.proof for row in first.rows]
    assert {"21 +/- 1"} == {row.temperature for row in first.rows}
    assert {"handheld-4000"} == {row.meter for row in first.rows}
    assert "3137312e33" == first.rows[1].raw
    assert (5, 0.05) == (first.rows[1].count, first.rows[1].scatter_ohm)
    flex = first.rows[4].flex
    assert flex is not None
    assert (Stability.STEADY, 90) == (flex.stability, flex.figures.readings)
    assert ["0.2 ohm"] == [row.lead for row in second.rows]
    assert "joint soldered, reads again" == second.rows[0].note
    assert [Purpose.FREE, Purpose.COIL] == [row.purpose for row in third.rows]
    assert '{"verdict": "consistent"}' == third.proof
    assert ["used", "available"] == [str(event.status) for event in found.events]
    assert "blue deck, left side" == found.events[0].reason
    assert [(10_000.0, 0.0987)] == [
        (e.frequency_hz, e.inductance_henry) for e in found.impedances
    ]
    assert [("face.jpg", "ab" * 32, 12345)] == [
        (p.name, p.sha256, p.size) for p in found.photos
    ]
    said = about(found)
    assert ("R7", "visible flat", "loose") == (said.marking, said.face, said.fitted)
    assert (True, False) == (said.demagnetised, said.tape_tested)
    assert ("from the green deck",) == said.notes


def test_a_saved_bin_is_read(saved: str) -> None:
    """Every record is there, each field of it, and every checksum fits."""
    with open_bin(saved, create=False) as shelf:
        numbers = counts(shelf)
        found = record(shelf)
    verified = document(saved, "verify", code=1)
    listed = {each["name"]: each for each in document(saved, "list")["heads"]}

    assert COUNTS == numbers
    look_at(found)
    # The photo itself was never saved with it.
    assert [("photo", False)] == [(e["what"], e["damage"]) for e in verified["findings"]]
    assert ("scrapped", "available") == (
        listed["drawer-2"]["status"],
        listed["shelf-7"]["status"],
    )


def test_a_saved_export_is_read(lines: list[bytes]) -> None:
    """Into an empty bin, which then exports the same again."""
    with Bin.empty() as shelf:
        with shelf.write() as connection:
            import_lines(connection, lines, "saved")
        numbers = counts(shelf)
        found = record(shelf)
        again = exported(shelf)

    assert COUNTS == numbers
    look_at(found)
    assert lines[1:] == again[1:]


def test_a_saved_bin_exports_what_was_saved(saved: str, lines: list[bytes]) -> None:
    """The file and the export of one version hold the same."""
    with open_bin(saved, create=False) as shelf:
        again = exported(shelf)

    assert lines[1:] == again[1:]
