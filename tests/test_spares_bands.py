"""Bands learnt from heads of the bin: which are taken for good, and what is said of that."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any, Final

import pytest
from helpers import cli
from spares_helpers import measured, open_bin, put_heads, sheet, spares

GOOD: Final = (
    measured("T-01", 180.0, 181.0),
    measured("T-02", 182.2, 183.1),
    measured("T-03", 185.4, 184.6),
    measured("T-04", 187.0, 186.1),
)
OTHERS: Final = (
    measured("open", 180.0, None),
    measured("apart", 180.0, 200.0),
    measured("scrapped", 400.0, 401.0),
    measured("other", 300.0, 302.0, kind="two-channel-playback-high"),
)


@pytest.fixture
def filled(store: str) -> str:
    """Make a bin of four good heads and four that are not to be learnt from."""
    with open_bin(store) as shelf:
        put_heads(shelf, *GOOD, *OTHERS)
    spares(store, "scrap", "scrapped", "--why", "worn")
    return store


def learnt(store: str, *words: str, code: int = 0) -> dict[str, Any]:
    """Learn from the bin, and give the document."""
    ran = cli("bands", "learn", "--from-bin", *words, "--store", store, "--as", "json")
    assert code == ran.code, ran.err
    return dict(json.loads(ran.out))


def coils(found: dict[str, Any]) -> list[str]:
    """Names of the coils that were learnt from."""
    return sorted(each["coil"] for each in found["coils"])


def test_matched_heads_of_a_kind_are_learnt_from(filled: str) -> None:
    """The same band as from the readings files of these heads, and the choice is said."""
    found = learnt(filled, "--kind", "two-channel-rp")
    words = ("--kind", "two-channel-rp", "--as", "json")
    by_file = cli("bands", "learn", "-", *words, stdin=sheet(*GOOD).encode())
    names = sorted(f"T-0{head}:{coil}" for head in (1, 2, 3, 4) for coil in (1, 2))

    assert names == coils(found)
    assert json.loads(by_file.out)["coils"] == found["coils"]
    assert "chosen by a grade" in found["notes"][-1]


def test_heads_that_were_heard_are_the_better_choice(filled: str) -> None:
    """Of whatever grade, where somebody has noted a tape test; then nothing is to be minded."""
    for name in ("T-01", "T-02", "apart", "scrapped"):
        spares(filled, "note", name, "--tape-tested")
    spares(filled, "note", "T-03", "--not-tape-tested")
    found = learnt(filled, "--tape-tested", "--keep-all")

    assert ["T-01:1", "T-01:2", "T-02:1", "T-02:2", "apart:1", "apart:2"] == coils(found)
    assert not any("chosen by a grade" in note for note in found["notes"])


def test_text_and_grade_choose(filled: str) -> None:
    """As in the list of the bin; readings files may be learnt from beside it."""
    spares(filled, "note", "T-01", "from the good tray")
    words = ("--kind", "two-channel-rp", "--text", "good tray")
    few = cli("bands", "learn", "--from-bin", *words, "--store", filled)
    stdin = sheet(*GOOD[1:]).encode()
    both = cli(
        *("bands", "learn", "-", "--from-bin", *words, "--store", filled, "--as", "json"),
        stdin=stdin,
    )

    assert (2, 0) == (few.code, both.code)
    assert "saw 2 known-good coils" in few.err
    assert 8 == len(json.loads(both.out)["coils"])


def test_the_band_says_where_it_comes_from(filled: str, tmp_path: Path) -> None:
    """Its provenance in the user's catalog names the choice."""
    config = tmp_path / "coilmeter"
    words = ("--kind", "two-channel-rp", "--save", "mine", "--store", filled)
    ran = cli("bands", "learn", "--from-bin", *words, config=config)
    entry = tomllib.loads((config / "catalog.toml").read_text())["bands"]["mine"]

    assert 0 == ran.code
    assert "8 good coils of 4 heads" in entry["basis"]
    assert "heads of the bin (matched, two-channel-rp)" in entry["basis"]


def test_heads_of_one_name_are_told_apart(store: str, tmp_path: Path) -> None:
    """Those of two benches that were merged: by their codes, so that one can be left out."""
    path, other = tmp_path / "heads.jsonl", str(tmp_path / "other.sqlite")
    for place, heads in ((other, (measured("T-01", 185.4, 184.6),)), (store, GOOD[:2])):
        with open_bin(place) as shelf:
            put_heads(shelf, *heads)
    spares(other, "export", "--out", str(path))
    spares(store, "import", str(path))
    found = learnt(store)

    assert 6 == len(set(coils(found)))
    assert 2 == sum(name.startswith("T-02") for name in coils(found))


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ((), "no readings file is named"),
        (("--text", "x", "-"), "choose heads of the bin"),
        (("--tape-tested", "-"), "choose heads of the bin"),
        (("--from-bin", "--text", "nobody"), "there are no heads of the bin"),
        (("--from-bin", "--grade", "lovely"), "--grade: saw 'lovely'"),
        (("--from-bin", "--text", "x" * 2000), "expected 1000 at most"),
    ],
)
def test_what_cannot_be_chosen(filled: str, words: tuple[str, ...], message: str) -> None:
    """Said, with exit code 2."""
    ran = cli("bands", "learn", *words, "--store", filled, stdin=sheet(*GOOD).encode())

    assert 2 == ran.code
    assert message in ran.err
