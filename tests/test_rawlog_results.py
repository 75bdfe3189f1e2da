"""Files that a replay makes: whole or not at all, and never over a log."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import errno
import io
import json
import os
import sys
from contextlib import redirect_stdout
from pathlib import Path

import pytest
from rawlog_files import DATA, recorded, replay

from coilmeter.cli.logging_files import StandardOutput, WholeFile
from coilmeter.errors import StoreError


def test_results_to_files(tmp_path: Path) -> None:
    """Results, readings and plot in one run; older files are replaced, through links too."""
    out, table, plot = (tmp_path / name for name in ("a.json", "a.csv", "a.SVG"))
    real = tmp_path / "real.csv"
    real.write_text("old\n", encoding="utf-8")
    table.symlink_to(real)
    files = ("--out", str(out), "--csv", str(table), "--plot", str(plot))
    ran = replay(PLAIN, "--as", "json", *files)

    assert 0 == ran.code
    assert "" == ran.out
    assert 7 == len(json.loads(out.read_text(encoding="utf-8"))["readings"])
    assert 8 == len(real.read_text(encoding="utf-8").splitlines())
    assert table.is_symlink()
    assert "<svg" in plot.read_text(encoding="utf-8")
    assert {"a.json", "a.csv", "a.SVG", "real.csv"} == {
        path.name for path in tmp_path.iterdir()
    }


def test_nothing_is_written_over_a_log(tmp_path: Path) -> None:
    """A log that is also named as a result stays as it is."""
    path = recorded(tmp_path / "a.rawlog", (0.1, "171.3 ohm"))
    before = Path(path).read_bytes()
    runs = [replay(path, option, path) for option in ("--csv", "--out", "--plot")]
    twice = replay(path, "--csv", str(tmp_path / "x"), "--out", str(tmp_path / "x"))

    assert [2, 2, 2, 2] == [ran.code for ran in [*runs, twice]]
    assert "is to be written, and is" in twice.err
    assert before == Path(path).read_bytes()


@pytest.mark.parametrize("name", ["plot.pdf", "plot", "svg"])
def test_a_plot_of_another_kind(tmp_path: Path, name: str) -> None:
    """Only the two kinds are drawn, and a wrong name is told before anything is read."""
    ran = replay(PLAIN, "--plot", str(tmp_path / name))

    assert 2 == ran.code
    assert "expected a name that ends in .svg or .png" in ran.err


def test_files_that_cannot_be_written(tmp_path: Path) -> None:
    """A folder that is not there: 4, and an older file stays as it was."""
    ran = replay(PLAIN, "--out", str(tmp_path / "nowhere" / "a.txt"))

    assert 4 == ran.code
    assert "cannot be written" in ran.err


def test_a_file_that_fails_half_way(tmp_path: Path) -> None:
    """What was begun is taken away, and the older file is untouched."""
    path = tmp_path / "a.txt"
    path.write_text("old\n", encoding="utf-8")
    file = WholeFile(path)
    file.write("half")
    file.__exit__(RuntimeError, RuntimeError(), None)

    assert ["a.txt"] == [each.name for each in tmp_path.iterdir()]
    assert "old\n" == path.read_text(encoding="utf-8")


PLAIN = str(DATA / "version1-plain.rawlog")


class Failing(io.StringIO):
    """A standard output that cannot be written."""

    def __init__(self, error: OSError) -> None:
        super().__init__()
        self._error = error
        self.tries = 0

    def write(self, _: str) -> int:
        """Fail."""
        self.tries += 1
        raise self._error


def test_a_full_disk_behind_standard_output() -> None:
    """Said as an error of the store."""
    full = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    with redirect_stdout(Failing(full)), pytest.raises(StoreError, match="No space left"):
        StandardOutput().write("x")


def test_a_reader_of_standard_output_that_goes_away() -> None:
    """Nothing more is tried, and nothing ends: the exit code is that of the whole."""
    left = Failing(BrokenPipeError())
    output = StandardOutput()
    with redirect_stdout(left):
        output.write("x")
        output.write("y")
        output.flush()

    assert 1 == left.tries


def test_a_closed_standard_output(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where there is no standard output at all, a file is asked for."""
    monkeypatch.setattr(sys, "stdout", None)

    with pytest.raises(StoreError, match="standard output is closed"):
        StandardOutput().write("x")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no such device on this system")
@pytest.mark.parametrize("option", ["--out", "--csv", "--plot"])
def test_a_device_that_is_full(tmp_path: Path, option: str) -> None:
    """A device is written as it stands, and its error is told."""
    target = Path("/dev/full")
    if option == "--plot":
        target = tmp_path / "a.svg"
        target.symlink_to("/dev/full")
    ran = replay(PLAIN, option, str(target))

    assert 4 == ran.code
    assert "cannot be written (No space left on device)" in ran.err
