"""Files of readings that keep a flexing, those of the former version too."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from helpers import cli, judged

from coilmeter.errors import StoreError
from coilmeter.sources.keeper import SheetKeeper
from coilmeter.sources.sheet import COLUMNS, FORMER_COLUMNS, read_sheet
from coilmeter.units import parse_reading
from coilmeter.values import (
    Condition,
    FlexEvidence,
    FlexFigures,
    Grade,
    Purpose,
    ReadingRow,
    Stability,
)

OLD = Path(__file__).parent / "data" / "version1-readings.csv"


def flexing(coil: str, word: Stability = Stability.INTERMITTENT) -> ReadingRow:
    """Make the row of a flexing as the command does."""
    evidence = FlexEvidence(word, FlexFigures(readings=198, dropouts=3, open_share=0.04))
    return ReadingRow(
        "",
        0,
        "shelf-5",
        parse_reading("214.0 ohm"),
        kind="two-channel-rp",
        coil=coil,
        pins=("3", "4"),
        purpose=Purpose.FREE,
        time="2026-11-25T12:00:00+00:00",
        flex=evidence,
    )


@pytest.fixture
def old(tmp_path: Path) -> Path:
    """Give a file that the former version left half-way, to be changed."""
    return Path(shutil.copy(OLD, tmp_path / "shelf-5.csv"))


def test_a_file_of_the_former_version_is_still_judged() -> None:
    """It has no such column, and says the same as ever."""
    (head,) = judged(OLD.read_text(), meter="handheld-4000")

    assert (Grade.RECHECK, [None, None]) == (head.grade, [coil.flex for coil in head.coils])
    assert [Condition.INTACT, Condition.INTACT] == [coil.verdict for coil in head.coils]


def test_a_file_of_the_former_version_is_gone_on_with(old: Path) -> None:
    """Readings are added under its own header, which the former version reads too."""
    before = old.read_text()
    with SheetKeeper(old, resume=True) as keeper:
        assert 5 == len(keeper.rows)
        keeper.keep(replace(flexing("1-case"), flex=None, reading=parse_reading("OL 40 Mohm")))
    after = old.read_text()

    assert after.startswith(before)
    assert 16 == after.splitlines()[-1].count(",")
    assert 6 == len(read_sheet(old).rows)


def test_check_goes_on_with_a_file_of_the_former_version(old: Path) -> None:
    """The command itself resumes it, asks for what is left, and grades the whole."""
    ran = cli(
        *("check", "--head", "shelf-5", "--kind", "two-channel-rp", "--meter"),
        *("handheld-4000", "--temperature", "22", "--keep", str(old), "--resume"),
        stdin=b"OL 40 Mohm\n",
    )

    assert 0 == ran.code
    assert "1 of 6 readings left" in ran.err
    assert "MATCHED: head shelf-5" in ran.out
    assert OLD.read_text() == old.read_text()[: len(OLD.read_text())]


def test_a_flexing_gives_it_the_new_column(old: Path) -> None:
    """The columns keep their order, the new one is last, and no reading is lost."""
    rows_before = read_sheet(old).rows
    with SheetKeeper(old, resume=True) as keeper:
        keeper.keep(flexing("2"))
        keeper.keep(flexing("2", Stability.STEADY))
    lines = old.read_text().splitlines()
    back = read_sheet(old).rows

    assert [",".join(COLUMNS)] == lines[:1]
    assert COLUMNS[:-1] == FORMER_COLUMNS[0] == tuple(OLD.read_text().split("\n")[0].split(","))
    assert [replace(row, path="") for row in rows_before] == [
        replace(row, path="") for row in back[:5]
    ]
    assert [Stability.INTERMITTENT, Stability.STEADY] == [
        row.flex and row.flex.stability for row in back[5:]
    ]


def test_a_flexing_replaces_no_reading(tmp_path: Path) -> None:
    """Neither the coil's own row nor an earlier flexing becomes free by it."""
    path = tmp_path / "shelf-5.csv"
    read = replace(flexing("2"), flex=None, purpose=Purpose.COIL)
    with SheetKeeper(path) as keeper:
        for row in (read, replace(flexing("2"), purpose=Purpose.COIL), flexing("2"), read):
            keeper.keep(row)
    purposes = [row.purpose for row in read_sheet(path).rows]

    assert [Purpose.FREE, Purpose.COIL, Purpose.FREE, Purpose.COIL] == purposes


def test_a_full_disk_leaves_the_former_file_as_it_was(
    old: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the new column cannot be written, what is added next still fits the old ones."""
    before = old.read_text()

    def refuse(_: Path, __: Path) -> Path:
        raise OSError(28, "No space left on device")

    with SheetKeeper(old, resume=True) as keeper:
        with monkeypatch.context() as patch:
            patch.setattr(Path, "replace", refuse)
            with pytest.raises(StoreError, match="No space left"):
                keeper.keep(flexing("2"))
        assert before == old.read_text()
        keeper.keep(replace(flexing("1-case"), flex=None))
    assert 6 == len(read_sheet(old).rows)


@pytest.mark.parametrize("resume", [True, False])
def test_a_former_header_without_a_reading_is_begun_again(old: Path, *, resume: bool) -> None:
    """There is nothing in it to be lost."""
    old.write_text(",".join(FORMER_COLUMNS[0]) + "\n")
    with SheetKeeper(old, resume=resume) as keeper:
        keeper.keep(flexing("2"))

    assert 1 == len(read_sheet(old).rows)
