"""What ``coilmeter chain`` refuses: words, readings and files that it cannot use."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from pathlib import Path

import pytest
from chain_runs import HEAD, chain
from helpers import cli


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("--no-ask",), "which fault is it?"),
        (("--fault", "nose", "--no-ask"), "no fault is called 'nose'"),
        (("--weights",), "which fault is it?"),
        (("--fault", "erase", "--saw", "look"), "saw 'look', expected TEST=OUTCOME"),
        (("--fault", "erase", "--saw", "look=perhaps"), "saw 'look=perhaps'"),
        (("--fault", "erase", "--saw", "=pass"), "saw '=pass'"),
        (("--fault", "erase", "--saw", "nose=pass"), "no test of erase is called 'nose'"),
        (("--fault", "erase", "--saw", "G=follows"), "no test of erase is called 'g'"),
        (("--fault", "playback", "--saw", "G=pass"), "swap-at-plug: saw 'pass'"),
        (("--fault", "erase", "--saw", "nose=sound"), "no link of erase is called 'nose'"),
        (("--fault", "erase", "--cannot", "luck", "--no-ask"), "need of one, is called 'luck'"),
        (("--fault", "erase", "--track", "a b", "--no-ask"), "saw 'a b' as a track"),
        (("--fault", "erase", "--working", "1", "--failing", "1", "--no-ask"), "both in"),
        (("--fault", "erase", "--track", "2", "--working", "2 3", "--no-ask"), "in question"),
        (("--fault", "erase", "--working", "1", "--case", "x", "--no-ask"), "in question"),
        (("--close", "contact"), "no case '' is kept"),
        (("--case", "nobody", "--close", "contact"), "no case 'nobody' is kept"),
        (("--fault", "erase", "--case", "\t", "--saw", "U=pass"), "as the name of a case"),
        (("--how", "nose"), "no test is called 'nose'"),
        (("--calc", "nose"), "calc: saw 'nose'"),
        (("--fault", "erase", "--readings", "nowhere.csv"), "nowhere.csv"),
    ],
)
def test_what_cannot_be_used_is_refused(
    tmp_path: Path, words: tuple[str, ...], expected: str
) -> None:
    """Exit code 2, what was seen and what to do next; and nothing is kept."""
    ran = chain(tmp_path, *words)

    assert 2 == ran.code
    assert expected in ran.err
    assert "next:" in ran.err
    assert not (tmp_path / "cases.jsonl").exists()


def test_readings_that_decide_nothing_are_refused(tmp_path: Path) -> None:
    """A head without a coil of that chain."""
    readings = tmp_path / "a.csv"
    readings.write_text(HEAD, encoding="utf-8")

    ran = chain(tmp_path, "--fault", "erase", "--readings", str(readings))

    assert 2 == ran.code
    assert "nothing in it decides anything of the erase chain" in ran.err


def test_a_file_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    """Exit code 4 for results, drawing and cases."""
    nowhere = str(tmp_path / "no" / "where.svg")
    words = ("--fault", "erase", "--saw", "U=pass")
    (tmp_path / "folder").mkdir()

    assert 4 == chain(tmp_path, *words, "--out", nowhere).code
    assert 4 == chain(tmp_path, *words, "--draw", nowhere).code
    ran = cli("chain", *words, "--keep", str(tmp_path / "folder"))
    assert (4, True) == (ran.code, "cannot be read" in ran.err)
