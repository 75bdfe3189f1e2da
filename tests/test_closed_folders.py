"""Folders that may not be entered: said with their path, or passed over; never a fault."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import errno
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from helpers import cli
from walk_processes import LONGEST_S, surroundings

from coilmeter.cli.folders import DATA
from coilmeter.sources.proofs import read_proofs

ROWS = "coil,reading\n1,171.3\n2,170.8\n"
CLOSED = PermissionError(errno.EACCES, os.strerror(errno.EACCES))

COMMANDS = [
    (["judge", "head.csv"], 1),
    (["check", "--coils", "1", "--lead", "nulled", "--no-bin", "--keep", "k.csv"], 1),
    (["pins", "--pins", "2", "--no-case", "--lead", "nulled", "--keep", "p.csv"], 1),
    (["demo"], 0),
    (["bands", "list"], 0),
    (["report", "head.csv", "--out", "page.html"], 1),
]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Go to a folder with readings."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "head.csv").write_text(ROWS, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(("words", "expected"), COMMANDS, ids=[each[0][0] for each in COMMANDS])
def test_the_look_for_an_own_catalog(
    folder: Path, monkeypatch: pytest.MonkeyPatch, words: list[str], expected: int
) -> None:
    """Nobody knows whether there is one: that is said, and the command goes on without."""
    config = folder / "config"
    usual = Path.stat

    def refuse(self: Path, **more: bool) -> os.stat_result:
        if config in self.parents:
            raise CLOSED
        return usual(self, **more)

    monkeypatch.setattr(Path, "stat", refuse)
    ran = cli(*words, config=config)

    assert expected == ran.code
    assert f"! {config / 'catalog.toml'}: cannot be looked for (Permission denied)" in ran.err
    assert "--catalog" in ran.err


def test_no_catalog_is_no_word(folder: Path) -> None:
    """Where there is none, and where its folder is a file, there is nothing to say."""
    quiet = [
        cli("judge", "head.csv", config=place)
        for place in (folder / "config", folder / "head.csv" / "config")
    ]

    assert [1, 1] == [ran.code for ran in quiet]
    assert not any("catalog" in ran.err for ran in quiet)


def test_proofs_that_cannot_be_looked_for(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A meter is taken as not proved, and the folder is named."""
    there, usual = folder / "data" / "proofs", Path.iterdir

    def refuse(self: Path) -> Iterator[Path]:
        if self == there:
            raise CLOSED
        return usual(self)

    monkeypatch.setenv(DATA, str(folder / "data"))
    monkeypatch.setattr(Path, "iterdir", refuse)
    listed = cli("meter", "proofs")
    checked = cli("check", "--coils", "1", "--lead", "nulled", "--no-bin", "--keep", "k.csv")
    told = f"{there}: cannot be read (Permission denied)"

    assert told in " ".join(listed.out.split())
    assert f"! {told}" in checked.err
    assert (0, 1) == (listed.code, checked.code)


def test_no_proofs_yet(tmp_path: Path) -> None:
    """A folder that is not there is none that is closed."""
    assert ([], []) == read_proofs(tmp_path / "none")


@pytest.fixture
def closed(folder: Path) -> Iterator[Path]:
    """Make a folder that may not be entered."""
    made = folder / "closed"
    made.mkdir(mode=0o000)
    if os.access(made, os.X_OK):
        pytest.skip("whoever may do anything, or another system, enters it anyway")
    yield made
    made.chmod(0o700)


@pytest.mark.parametrize(
    ("words", "expected"),
    [*COMMANDS, (["chain", "--fault", "play"], 4), (["spares", "list"], 4)],
    ids=lambda value: "-".join(value[:2]) if isinstance(value, list) else "",
)
def test_a_folder_that_really_is_closed(
    folder: Path, closed: Path, words: list[str], expected: int
) -> None:
    """As a process of someone who is let into neither of the two folders."""
    done = subprocess.run(
        [sys.executable, "-m", "coilmeter", *words],
        input=b"",
        capture_output=True,
        cwd=folder,
        env=surroundings(folder) | {"XDG_CONFIG_HOME": str(closed), DATA: str(closed / "data")},
        timeout=LONGEST_S,
        check=False,
    )
    told = done.stderr.decode()

    assert expected == done.returncode
    assert str(closed) in told
    assert "fault of this program" not in told
    assert "Traceback" not in told
