"""Files that grow by a line: links, last lines without an end, and lines cut off."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from helpers import cli

from coilmeter.errors import StoreError
from coilmeter.sources.impedance_keeper import VoltsFile
from coilmeter.sources.impedance_sheet import read_volts
from coilmeter.sources.keeper import SheetKeeper
from coilmeter.sources.line_file import append_line, cut_file, set_aside
from coilmeter.sources.sheet import FORMER_COLUMNS, read_sheet
from coilmeter.units import parse_reading
from coilmeter.units.voltages import VoltageText
from coilmeter.values import Purpose, ReadingRow
from coilmeter.values.flexing import FlexEvidence, FlexFigures, Stability
from coilmeter.values.impedance_rows import AcVolts, ImpedanceRow

NO_ROOM = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def row(coil: str, text: str, **changes: Any) -> ReadingRow:
    """Make a row of a coil."""
    made = ReadingRow("x", 0, "H", parse_reading(text), coil=coil, purpose=Purpose.COIL)
    return replace(made, time="2026-03-01T14:05:00+00:00", **changes)


def volts(coil: str) -> ImpedanceRow:
    """Make a row of a voltage across a coil."""
    shown = AcVolts(VoltageText(0.1, 1e-4, "100.0 mV"))
    return ImpedanceRow("", 0, "A", coil, 10e3, volts={"coil": shown})


def readings(path: Path) -> list[str]:
    """Read a readings file as any other command does."""
    return [each.reading.text for each in read_sheet(path).rows]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Name a file that is not there yet."""
    return tmp_path / "head.csv"


@pytest.fixture
def link(tmp_path: Path) -> Callable[[str], Path]:
    """Make a link into another folder, which is not there yet."""

    def make(target: str) -> Path:
        made = tmp_path / "link.csv"
        try:
            made.symlink_to(target)
        except OSError:  # pragma: no cover - a system that lets nobody make links
            pytest.skip("no links can be made here")
        return made

    return make


def test_a_link_stays_a_link(tmp_path: Path, link: Callable[[str], Path]) -> None:
    """A reading that is taken again goes to the file, and both its names show it."""
    (tmp_path / "real").mkdir()
    name, real = link("real/r.csv"), tmp_path / "real" / "r.csv"
    with SheetKeeper(name) as keeper:
        for text in ("171", "172"):
            keeper.keep(row("1", text))

    assert name.is_symlink()
    assert ["171", "172"] == readings(real)
    assert [real] == list(real.parent.iterdir())


def test_volts_go_through_a_link(tmp_path: Path, link: Callable[[str], Path]) -> None:
    """One that leads to no file yet makes it."""
    (tmp_path / "real").mkdir()
    name = link("real/v.csv")
    with VoltsFile(name) as file:
        file.keep(volts("1"))

    assert name.is_symlink()
    assert 1 == len(read_volts(tmp_path / "real" / "v.csv").rows)


@pytest.mark.parametrize("target", ["nowhere/r.csv", "link.csv"])
def test_a_link_that_leads_nowhere(link: Callable[[str], Path], target: str) -> None:
    """It is told to be a link, and to where: no space has to be freed."""
    name = link(target)
    for keeper in (SheetKeeper, VoltsFile):
        with pytest.raises(StoreError) as caught:
            keeper(name)

        assert f"it is a link to {target}" in caught.value.hint
        assert "free some space" not in caught.value.hint


def test_a_folder_in_the_place_of_the_file(tmp_path: Path) -> None:
    """It is told to be one."""
    with pytest.raises(StoreError) as caught:
        SheetKeeper(tmp_path)

    assert "that is a folder" in caught.value.hint


def test_a_line_after_one_without_an_end(path: Path) -> None:
    """Saved by an editor without its last line break while a walk runs, no rows are glued."""
    with SheetKeeper(path) as keeper:
        keeper.keep(row("1", "171"))
        path.write_bytes(path.read_bytes().removesuffix(b"\n"))
        keeper.keep(row("2", "172"))

    assert ["171", "172"] == readings(path)


def test_a_voltage_after_one_without_an_end(path: Path) -> None:
    """A file of AC volts is the same."""
    with VoltsFile(path) as file:
        file.keep(volts("1"))
        path.write_bytes(path.read_bytes().removesuffix(b"\n"))
        file.keep(volts("2"))

    assert ["1", "2"] == [each.coil for each in read_volts(path).rows]


def test_a_full_disk_leaves_no_line_break(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What could not be added is not there by half, not even the break before it."""
    path.write_bytes(b"a\nb")

    def full(_: int) -> None:
        raise NO_ROOM

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space left"):
        append_line(path, b"c\n")

    assert b"a\nb" == path.read_bytes()


FLEXED = FlexEvidence(Stability.INTERMITTENT, FlexFigures(readings=198, dropouts=3))


@pytest.mark.parametrize("end", [b"", b"\r"], ids=["plain", "carriage-return"])
@pytest.mark.parametrize("flex", [None, FLEXED], ids=["reading", "flexing"])
def test_a_whole_line_without_its_end(
    path: Path, flex: FlexEvidence | None, end: bytes
) -> None:
    """With all its cells it is a reading like any other, and another one follows it."""
    with SheetKeeper(path) as keeper:
        keeper.keep(row("1", "171"))
        keeper.keep(row("2", "172", flex=flex))
    path.write_bytes(path.read_bytes().removesuffix(b"\n") + end)
    with SheetKeeper(path, resume=True) as again:
        again.keep(row("3", "173"))

    assert ("", None) == (again.cut, again.beside)
    assert ["171", "172", "173"] == readings(path)
    assert [None, flex, None] == [each.flex for each in read_sheet(path).rows]
    assert not cut_file(path).exists()


def test_a_whole_line_of_an_earlier_version(path: Path) -> None:
    """It has a column less, and is whole without it."""
    header = ",".join(FORMER_COLUMNS[0]).encode()
    path.write_bytes(header + b"\nH,,1,,,coil,171,,,,,,,1,0,,2b 31")
    with SheetKeeper(path, resume=True) as again:
        again.keep(row("2", "172"))

    assert "" == again.cut
    assert ["171", "172"] == readings(path)


@pytest.mark.parametrize("last", [b"# to be repeated on Monday", b"   "])
def test_a_comment_or_blank_without_its_end(path: Path, last: bytes) -> None:
    """It stays where a person wrote it."""
    with SheetKeeper(path) as keeper:
        keeper.keep(row("1", "171"))
    before = path.read_bytes()
    path.write_bytes(before + last)
    with SheetKeeper(path, resume=True):
        pass

    assert before + last + b"\n" == path.read_bytes()


def test_a_mistake_in_a_line_without_its_end(path: Path) -> None:
    """A person's slip is told as in any other line, and nothing is moved."""
    with SheetKeeper(path) as keeper:
        keeper.keep(row("1", "171"))
        keeper.keep(row("2", "172"))
    data = path.read_bytes().replace(b"172", b"about 172").removesuffix(b"\n")
    path.write_bytes(data)
    with pytest.raises(StoreError, match="about 172"):
        SheetKeeper(path, resume=True)

    assert data == path.read_bytes()
    assert not cut_file(path).exists()


def test_a_cut_line_is_kept_beside(path: Path) -> None:
    """Cut at any byte, twice over, every byte of it is in one of the two files."""
    with SheetKeeper(path) as keeper:
        keeper.keep(row("1", "171"))
        before = path.read_bytes()
        keeper.keep(row("2", "172.5 Ω", note='say "hm", twice', flex=FLEXED))
    line = path.read_bytes()[len(before) :]
    shortest_whole = line.index(b"intermittent") + len(b"intermittent")
    cuts = [
        *range(1, line.index(b",intermittent") + 1),
        *range(shortest_whole - 5, shortest_whole),
    ]
    for end in cuts:
        path.write_bytes(before + line[:end])
        with SheetKeeper(path, resume=True) as again:
            pass

        assert cut_file(path) == again.beside
        assert line[:end].decode("utf-8", "replace") == again.cut
        assert before == path.read_bytes()

    assert b"".join(line[:end] + b"\n" for end in cuts) == cut_file(path).read_bytes()


def test_a_line_that_cannot_be_kept_beside_stays(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a full disk the file is as it was, and so is the one beside."""
    path.write_bytes(b"a\nb")

    def full(_: int) -> None:
        raise NO_ROOM

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space left"):
        set_aside(path, b"b")

    assert (b"a\nb", b"") == (path.read_bytes(), cut_file(path).read_bytes())


@pytest.mark.parametrize("cut", [0, 3], ids=["whole", "cut"])
def test_volts_without_an_end(path: Path, cut: int) -> None:
    """A whole voltage counts, and a cut one is kept beside."""
    with VoltsFile(path) as file:
        file.keep(volts("1"))
        before = path.read_bytes()
        file.keep(volts("2"), raw="2b")
    path.write_bytes(path.read_bytes()[: -1 - cut])
    left = path.read_bytes()[len(before) :]
    with VoltsFile(path, resume=True) as again:
        again.keep(volts("3"))

    assert (["1", "3"] if cut else ["1", "2", "3"]) == [
        each.coil for each in read_volts(path).rows
    ]
    assert (left.decode() if cut else "") == again.cut
    assert (2 if cut else 3) == again.count
    assert bool(cut) == cut_file(path).exists()


def test_resumed_through_the_command_line(path: Path) -> None:
    """What stands whole is not asked for again; a cut line is said to be kept."""
    words = ["check", "--coils", "2", "--lead", "nulled", "--no-isolation", "--keep", str(path)]
    cli(*words, stdin=b"171.3\n172.5\n")
    whole = path.read_bytes().removesuffix(b"\n")
    path.write_bytes(whole)
    first = cli(*words, "--resume")
    path.write_bytes(whole[:-30])
    second = cli(*words, "--resume")

    assert "2 readings are kept" in first.err
    assert "taken out" not in first.err
    assert "1 reading is kept" in second.err
    assert f"It is kept in {cut_file(path)}" in second.err
    assert whole[whole.rindex(b"\n") + 1 : -30] + b"\n" == cut_file(path).read_bytes()
