"""The readings file of a walk: on disk first, never half, gone on with."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from coilmeter.errors import StoreError
from coilmeter.sources.keeper import REPLACED, SheetKeeper
from coilmeter.sources.rawlog_file import sync_folder
from coilmeter.sources.sheet import COLUMNS, read_sheet
from coilmeter.units import parse_reading
from coilmeter.values import Purpose, ReadingRow

HEADER = ",".join(COLUMNS) + "\n"


def row(coil: str, text: str, **changes: Any) -> ReadingRow:
    """Make a row of a coil."""
    made = ReadingRow("x", 0, "H", parse_reading(text), coil=coil, purpose=Purpose.COIL)
    return replace(made, time="2026-03-01T14:05:00+00:00", **changes)


def kept(keeper: SheetKeeper) -> list[tuple[str, str, str]]:
    """Read the file back: coil, reading, purpose."""
    return [
        (each.coil, each.reading.text, each.purpose or "")
        for each in read_sheet(keeper.path).rows
    ]


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


def test_a_new_file_has_its_header(path: Path) -> None:
    """It is a readings file from the first moment on."""
    SheetKeeper(path)

    assert HEADER == path.read_text()


def test_rows_are_added(keeper: SheetKeeper) -> None:
    """One line a reading, in order, with a time where it had none."""
    keeper.keep(replace(row("2", "OL", range_ohm=40e6, proof="key"), time=""))
    lines = keeper.path.read_text().splitlines()

    assert [("1", "171.3", "coil"), ("2", "OL", "coil")] == kept(keeper)
    assert "H,,1,,,coil,171.3,,,,,2026-03-01T14:05:00+00:00,,1,0,,," == lines[1]
    assert keeper.rows[1].time.endswith("+00:00")


def test_taken_again_stays_as_free(keeper: SheetKeeper) -> None:
    """The older reading is not lost, and no longer counts."""
    keeper.keep(row("2", "172"))
    keeper.keep(row("1", "171.9"))
    notes = [each.note for each in read_sheet(keeper.path).rows]

    assert [("1", "171.3", "free"), ("2", "172", "coil"), ("1", "171.9", "coil")] == kept(
        keeper
    )
    assert [REPLACED, "", ""] == notes


def test_a_path_is_the_same_from_both_ends(path: Path) -> None:
    """Coil 1 to 2 and coil 2 to 1 are one place; free readings are none."""
    made = SheetKeeper(path)
    there = row("1", "OL", other="2", purpose=Purpose.COIL_TO_COIL)
    made.keep(there)
    made.keep(replace(there, coil="2", other="1"))
    made.keep(row("9", "1", purpose=Purpose.FREE))
    made.keep(row("9", "1", purpose=Purpose.FREE))

    assert ["free", "coil-to-coil", "free", "free"] == [each[2] for each in kept(made)]


def test_free_again_keeps_its_note(keeper: SheetKeeper) -> None:
    """What was noted before stays in front."""
    keeper.keep(row("1", "171.5", note="low battery"))
    keeper.keep(row("1", "171.6"))

    assert [REPLACED, f"low battery; {REPLACED}", ""] == [
        each.note for each in read_sheet(keeper.path).rows
    ]


@pytest.mark.parametrize("coil", ["2", "1"], ids=["added", "replaced"])
def test_on_disk_before_it_counts(
    keeper: SheetKeeper, monkeypatch: pytest.MonkeyPatch, coil: str
) -> None:
    """The file is flushed to the disk after the last byte, before keep returns."""
    seen: list[bytes] = []
    flush = os.fsync

    def watch(descriptor: int) -> None:
        flush(descriptor)
        if not os.path.isdir(f"/proc/self/fd/{descriptor}"):  # noqa: PTH112 - of a descriptor
            seen.append(Path(f"/proc/self/fd/{descriptor}").read_bytes())

    if not Path("/proc/self/fd").exists():
        pytest.skip("only where the system shows open files")
    monkeypatch.setattr(os, "fsync", watch)
    keeper.keep(row(coil, "172.5"))

    assert [keeper.path.read_bytes()] == seen
    assert b"172.5" in seen[0]


def test_a_replaced_file_is_on_disk_before_it_is_in_place(
    keeper: SheetKeeper, monkeypatch: pytest.MonkeyPatch
) -> None:
    """First the new file is flushed, then it takes the name, then the folder is flushed."""
    order: list[str] = []
    flush, move = os.fsync, Path.replace

    def fsync(descriptor: int) -> None:
        order.append("flush")
        flush(descriptor)

    def rename(self: Path, target: Path) -> Path:
        order.append("rename")
        return move(self, target)

    monkeypatch.setattr(os, "fsync", fsync)
    monkeypatch.setattr(Path, "replace", rename)
    keeper.keep(row("1", "172.5"))

    assert ["flush", "rename", "flush"] == order


def test_no_folder_is_flushed_elsewhere(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a folder cannot be opened it is left alone."""
    opened: list[object] = []
    with monkeypatch.context() as patch:
        patch.setattr(os, "name", "nt")
        patch.setattr(os, "open", lambda *what: opened.append(what))
        sync_folder(path)

    assert [] == opened


def test_readings_are_not_written_over(keeper: SheetKeeper) -> None:
    """A file with something in it needs --resume or another name."""
    before = keeper.path.read_bytes()
    keeper.close()
    with pytest.raises(StoreError, match="there is something in it already") as caught:
        SheetKeeper(keeper.path)

    assert "--resume" in str(caught.value)
    assert before == keeper.path.read_bytes()


@pytest.mark.parametrize("resume", [True, False])
@pytest.mark.parametrize("length", [0, 1, len(HEADER) - 1, len(HEADER)])
def test_a_file_without_a_reading_is_begun_again(
    path: Path, *, resume: bool, length: int
) -> None:
    """A run that failed before its first reading leaves nothing in the way."""
    path.write_text(HEADER[:length])
    made = SheetKeeper(path, resume=resume)
    made.keep(row("1", "171.3"))

    assert [("1", "171.3", "coil")] == kept(made)


def test_resume_goes_on(keeper: SheetKeeper) -> None:
    """What was kept is read back, and more is added."""
    keeper.close()
    with SheetKeeper(keeper.path, resume=True) as again:
        again.keep(row("2", "172"))

    assert ["1", "2"] == [each.coil for each in again.rows]
    assert [("1", "171.3", "coil"), ("2", "172", "coil")] == kept(again)


def test_resume_without_a_file_makes_one(path: Path) -> None:
    """There is nothing to read back."""
    assert [] == SheetKeeper(path, resume=True).rows


def test_any_cut_of_the_last_line_is_set_aside(keeper: SheetKeeper) -> None:
    """Cut at any byte, the lines before it are read back and the rest is told."""
    keeper.keep(row("2", "172.5 Ω", note="say “hm”", raw="2b 31"))
    whole = keeper.path.read_bytes()
    start = whole.rindex(b"\n", 0, -1) + 1
    keeper.close()
    for end in range(start + 1, len(whole) - 1):
        keeper.path.write_bytes(whole[:end])
        with SheetKeeper(keeper.path, resume=True) as again:
            again.keep(row("3", "173"))

        assert whole[start:end].decode("utf-8", "replace") == again.cut
        assert [("1", "171.3", "coil"), ("3", "173", "coil")] == kept(again)


def test_nothing_was_cut(keeper: SheetKeeper) -> None:
    """A whole file has no rest."""
    keeper.close()

    assert "" == SheetKeeper(keeper.path, resume=True).cut


FOREIGN = [
    b"coil,reading\n1,171.3\n2,17",
    b"some notes\nof mine",
    b"\x89PNG\r\n\x1a\n\0\0\0",
    b"\xff\xfe",
    HEADER.encode().replace(b"head,kind", b"kind,head") + b"four,H" + b"," * 16 + b"\n",
]


@pytest.mark.parametrize("resume", [True, False])
@pytest.mark.parametrize("data", FOREIGN)
def test_a_foreign_file_is_left_alone(path: Path, data: bytes, *, resume: bool) -> None:
    """What no walk wrote is refused and not changed by a byte."""
    path.write_bytes(data)
    with pytest.raises(StoreError) as caught:
        SheetKeeper(path, resume=resume)

    assert ("no walk wrote this file" if resume else "something in it") in str(caught.value)
    assert data == path.read_bytes()


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        (b"H,,1,,,coil,about 170,,,,,,,1,0,,,\n", ":2: reading: saw 'about 170'"),
        (b"H,,1,,,coil,171\n", ":2: cells: saw 7 cells"),
        (b"H,,1,,,coil,\xff,,,,,,,1,0,,,\n", "is not UTF-8"),
    ],
)
def test_a_spoilt_file_is_told_and_left(path: Path, line: bytes, expected: str) -> None:
    """A line that a person spoilt is named, and nothing is added behind it."""
    data = HEADER.encode() + line
    path.write_bytes(data)
    with pytest.raises(StoreError) as caught:
        SheetKeeper(path, resume=True)

    assert expected in str(caught.value)
    assert data == path.read_bytes()


def test_saved_by_a_spreadsheet(keeper: SheetKeeper) -> None:
    """With a byte-order mark and other line ends it is still the same file."""
    data = keeper.path.read_bytes().replace(b"\n", b"\r\n")
    keeper.path.write_bytes(b"\xef\xbb\xbf" + data)
    keeper.close()
    with SheetKeeper(keeper.path, resume=True) as again:
        again.keep(row("2", "172"))
        again.keep(row("1", "171.9"))

    assert ["free", "coil", "coil"] == [each[2] for each in kept(again)]
