"""Heads of the bin judged again by other rules: what would change, and that nothing does."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from pathlib import Path

from helpers import cli, rows
from spares_graded import HEADS
from spares_helpers import document, open_bin, put, put_heads, spares


def bands(path: Path, low: str, high: str) -> Path:
    """Write a reference file with another band for the heads."""
    path.write_text(
        f"""[bands.rp-cassette]
shorted_below = "20 ohm"
low = "{low}"
high = "{high}"
open_above = "10 kohm"
basis = "a test"
"""
    )
    return path


def test_new_bands_show_what_they_change(store: str, tmp_path: Path) -> None:
    """Old verdict and new one, head by head; the bin itself stays as it was."""
    with open_bin(store) as shelf:
        put_heads(shelf, *HEADS)
    new = str(bands(tmp_path / "new.toml", "160 ohm", "500 ohm"))
    before_ = document(store, "list")
    found = document(store, "re-judge", "--catalog", new, code=1)
    after = document(store, "list")
    (changed,) = found["changed"]

    assert before_ == after
    assert ("C", "unmatched", "partial") == (
        changed["name"],
        changed["grade_before"],
        changed["grade"],
    )
    assert "coil 1 intact, now low" in changed["changes"]
    assert 5 == found["judged"]


def test_after_the_usual_bands_have_changed(store: str, tmp_path: Path) -> None:
    """Without naming any, compared is with those that were in use before."""
    with open_bin(store) as shelf:
        put_heads(shelf, *HEADS)
    nothing = cli("spares", "re-judge", "--store", store)
    cli("spares", "list", "--store", store)
    bands(tmp_path / "catalog.toml", "160 ohm", "500 ohm")
    cli("spares", "list", "--store", store, config=tmp_path)
    ran = cli("spares", "re-judge", "--store", store, config=tmp_path)

    assert 2 == nothing.code
    assert "nothing to compare with" in nothing.err
    assert 1 == ran.code
    assert "unmatched" in ran.out
    assert "5 heads judged, 1 changed" in ran.out


def test_a_head_that_can_be_judged_with_the_new_rules(store: str, tmp_path: Path) -> None:
    """Its kind is in the new file only: that it can be judged now is a change."""
    with open_bin(store) as shelf:
        put(shelf, "X", rows("coil,reading\nA,171\n"), kind="mine")
        put(shelf, "Y", rows("coil,reading\n1,171\n"), kind="gone")
    new = tmp_path / "new.toml"
    new.write_text(
        "[kinds.mine]\n"
        'description = "one coil"\n'
        'coils = [{ name = "A", role = "rp", pins = ["1", "2"], band = "rp-cassette" }]\n'
    )
    found = document(store, "re-judge", "--catalog", str(new), code=1)["changed"]

    (one,) = (each for each in found if each["name"] == "X")
    assert (None, "recheck") == (one["grade_before"], one["grade"])
    assert "can be judged now" == one["changes"]
    assert {"X"} == {each["name"] for each in found if each["grade"]}


def test_nothing_changes(store: str, tmp_path: Path) -> None:
    """Bands that make no difference are said to make none, with exit code 0."""
    with open_bin(store) as shelf:
        put_heads(shelf, *HEADS)
    new = str(bands(tmp_path / "new.toml", "101 ohm", "499 ohm"))

    assert "no verdict changed" in spares(store, "re-judge", "--catalog", new)


def test_one_band_for_all(store: str) -> None:
    """By its name, without a file; an isolation limit changes paths."""
    with open_bin(store) as shelf:
        put_heads(shelf, HEADS[0])
        text = "coil,reading\n1,171\n2,172\n1-case,3.000 Mohm\n2-case,OL 40 Mohm\n"
        put(shelf, "F", rows(text), kind="two-channel-rp")
    by_band = document(store, "re-judge", "--band", "erase", code=1)["changed"]
    by_limit = document(store, "re-judge", "--leaking-below", "5 Mohm", code=1)["changed"]
    unknown = cli("spares", "re-judge", "--band", "nix", "--store", store)

    assert {"A", "F"} == {each["name"] for each in by_band}
    assert ["dead", "dead"] == [each["grade"] for each in by_band]
    assert "1 to case undecided, now leaking" in by_limit[0]["changes"]
    assert 2 == unknown.code
