"""Every command of the bin from end to end: its output in each shape, its exit codes."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Final

import pytest
from helpers import cli
from spares_helpers import counts, document, measured, open_bin, put_heads, spares

from coilmeter.spares.noting import about
from coilmeter.spares.reading import find_head, records_of
from coilmeter.values.about import FACE_WORDS, About

HEADS: Final = (
    measured("T-01", 180.0, None),
    measured("T-02", 180.5, 181.0),
    measured("T-03", 182.0, 182.4),
    measured("T-02", 180.6, 188.0, day="2026-05-01"),
)
SHAPES: Final = ("table", "markdown", "csv", "json", "html")
LISTS: Final[dict[str, tuple[tuple[str, ...], int, str]]] = {
    "list": (("list",), 0, "heads"),
    "find": (("find", "T-01"), 0, "offers"),
    "match": (("match",), 0, "sets"),
    "history": (("history", "T-02"), 1, "history"),
    "verify": (("verify",), 0, "findings"),
    "re-judge": (("re-judge", "--band", "erase"), 1, "changed"),
}


@pytest.fixture
def filled(store: str) -> str:
    """Make a bin of three heads, one of them measured twice."""
    with open_bin(store) as shelf:
        put_heads(shelf, *HEADS)
    return store


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("name", LISTS)
def test_every_list_in_every_shape(filled: str, name: str, shape: str) -> None:
    """The same exit code, and a document that its own readers take."""
    words, code, key = LISTS[name]
    out = spares(filled, *words, "--as", shape, code=code)

    if shape == "json":
        found = json.loads(out)
        assert "coilmeter/1" == found["schema"]
        assert isinstance(found[key], list)
    elif shape == "csv":
        header, *lines = csv.reader(io.StringIO(out))
        assert all(len(header) == len(line) for line in lines)
    elif shape == "html":
        assert out.startswith(("<!doctype html>", "<!DOCTYPE html>"))
    elif shape == "markdown":
        assert "|" in out or "nothing" in out
    else:
        assert "  " in out or "nothing" in out


@pytest.mark.parametrize("name", LISTS)
def test_csv_and_json_say_the_same(filled: str, name: str) -> None:
    """Column by column, key by key."""
    words, code, key = LISTS[name]
    found = document(filled, *words, code=code)[key]
    lines = list(csv.DictReader(io.StringIO(spares(filled, *words, "--as", "csv", code=code))))

    assert len(found) == len(lines)
    for entry, line in zip(found, lines, strict=True):
        assert list(entry) == list(line)
        for name_, value in entry.items():
            if isinstance(value, str) and not value.startswith(("=", "+", "-", "@")):
                assert value == line[name_]


def test_out_writes_a_file_whole(filled: str, tmp_path: Path) -> None:
    """And nothing to standard output."""
    path = tmp_path / "list.json"
    out = spares(filled, "list", "--as", "json", "--out", str(path))

    assert "" == out
    assert 3 == len(json.loads(path.read_text())["heads"])


@pytest.mark.parametrize("shape", SHAPES)
def test_one_head_in_every_shape(filled: str, shape: str) -> None:
    """Its verdict, and in each shape but CSV what became of it."""
    spares(filled, "note", "T-02", "blue crate", "--face", "polished", "--demagnetised")
    out = spares(filled, "show", "T-02", "--as", shape)

    assert "T-02" in out
    assert "matched" in out.lower()
    if shape != "csv":
        assert "blue crate" in out
        assert "polished" in out


def test_show_as_json_is_that_of_judge_and_more(filled: str) -> None:
    """The heads are those of `judge`, and the record stands beside."""
    found = document(filled, "show", "T-02")
    record = found["record"]

    assert ["matched"] == [head["grade"] for head in found["heads"]]
    assert [5, 5] == [each["readings"] for each in record["sittings"]]
    assert found["not_judged"] is None
    assert "available" == record["status"]
    assert [] == record["events"] == record["photos"]


def test_history_says_what_has_changed(filled: str) -> None:
    """Coil 1 is what it was, coil 2 is not; the first sitting has nothing before it."""
    entries = document(filled, "history", "T-02", code=1)["history"]
    words = [(e["coil"], e["constancy"]) for e in entries]
    steady = document(filled, "history", "T-03")

    assert [("1", None), ("1", "consistent"), ("2", None), ("2", "changed")] == words
    assert 1 < entries[3]["e_n"] < 10
    assert "Measured once" in steady["notes"][0]


def test_history_with_another_meter_each_time(filled: str) -> None:
    """Its stated error counts in full, and the note on one meter is gone."""
    one = document(filled, "history", "T-02", code=None)
    other = document(filled, "history", "T-02", "--other-meter", code=None)

    assert one["history"][3]["e_n"] > other["history"][3]["e_n"]
    assert any("one and the same" in note for note in one["notes"])
    assert not any("one and the same" in note for note in other.get("notes", []))


def test_a_head_goes_and_comes_back(filled: str) -> None:
    """Used, restored, scrapped: each with its reason and time, and nothing is removed."""
    before = spares(filled, "show", "T-02", "--as", "csv")
    for word in ("use", "restore", "scrap"):
        spares(filled, word, "T-02", "--why", f"because of {word}")
    record = document(filled, "show", "T-02")["record"]
    with open_bin(filled) as shelf:
        numbers = counts(shelf)

    assert "scrapped" == record["status"]
    assert ["used", "available", "scrapped"] == [each["status"] for each in record["events"]]
    assert "because of use" == record["events"][0]["reason"]
    assert before == spares(filled, "show", "T-02", "--as", "csv")
    assert 20 == numbers["readings"]


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("use", "T-02", "--why", " "), "--why: saw nothing"),
        (("restore", "T-02", "--why", "x"), "is available already"),
        (("use", "T-02", "T-99", "--why", "x"), "no head in the bin is 'T-99'"),
        (("use", "T-02", "--why", "x" * 10_001), "the reason: 10001 characters"),
        (("note", "T-02"), "the note says nothing"),
        (("note", "T-02", "--face", "as new"), "--face: saw 'as new'"),
        (("note", "T-02", "x" * 10_001), "10001 characters"),
        (("list", "--role", "boss"), "--role: saw 'boss'"),
        (("list", "--status", "sold"), "--status: saw 'sold'"),
        (("find", "T-01", "--grade", "best"), "--grade: saw 'best'"),
        (("photo", "T-02", "no.jpg"), "no.jpg: cannot be read"),
        (("show", "T-99"), "no head in the bin"),
    ],
)
def test_what_cannot_be_is_said(filled: str, words: tuple[str, ...], expected: str) -> None:
    """One message, exit code 2 or 4, and nothing was changed."""
    with open_bin(filled) as shelf:
        before = counts(shelf)
    ran = cli("spares", *words, "--store", filled)
    with open_bin(filled) as shelf:
        after = counts(shelf)

    assert ran.code == (4 if words[0] == "photo" else 2)
    assert expected in ran.err
    assert before == after


def test_several_heads_at_once_or_none(filled: str) -> None:
    """One that is used already leaves the others as they are."""
    spares(filled, "use", "T-01", "--why", "deck")
    ran = cli("spares", "use", "T-02", "T-01", "T-03", "--why", "x", "--store", filled)
    status = {each["name"]: each["status"] for each in document(filled, "list")["heads"]}

    assert 2 == ran.code
    assert {"T-01": "used", "T-02": "available", "T-03": "available"} == status


def test_notes_add_up(filled: str) -> None:
    """Of each thing the newest word counts; every remark stays."""
    spares(filled, "note", "T-02", "first", "--face", "polished", "--marking", "R7")
    spares(filled, "note", "T-02", "second", "--face", "visible flat", "--not-tape-tested")
    spares(filled, "note", "T-02", "--place", "loose", "--demagnetised")
    with open_bin(filled) as shelf, shelf.read() as connection:
        record = next(records_of(connection, [find_head(connection, "T-02").id]))

    expected = About(
        record=record.head.id,
        marking="R7",
        fitted="loose",
        face="visible flat",
        demagnetised=True,
        tape_tested=False,
        notes=("first", "second"),
    )
    assert expected == about(record)


def test_the_help_of_note_names_the_words_for_a_face() -> None:
    """All of them, and only them, as they are defined."""
    told = " ".join(cli("spares", "note", "--help").out.replace("│", " ").split())

    assert all(f"'{word}'" in told for word in FACE_WORDS)


def test_a_copy_is_a_bin(filled: str, tmp_path: Path) -> None:
    """Whole, one file, like the bin it came from; a server says how it is backed up."""
    copy = tmp_path / "copy.sqlite"
    ran = cli("spares", "backup", str(copy), "--store", filled)
    if "://" in filled:
        assert 2 == ran.code
        assert "pg_dump" in ran.err
        assert not copy.exists()
        return
    again = cli("spares", "backup", str(copy), "--store", filled)
    nowhere = cli("spares", "backup", str(tmp_path / "no" / "c"), "--store", filled)

    assert (0, 2, 4) == (ran.code, again.code, nowhere.code)
    assert spares(filled, "list") == spares(str(copy), "list")
    assert [] == document(str(copy), "verify")["findings"]
    assert [] == list(tmp_path.glob(".copy*"))


def test_a_copy_while_somebody_writes(tmp_path: Path) -> None:
    """What is committed is in it, and nothing of what is not."""
    store = str(tmp_path / "bin.sqlite")
    with open_bin(store) as shelf:
        put_heads(shelf, *HEADS[:2])
        with open_bin(store) as other, other.write() as connection:
            connection.exec_driver_sql("UPDATE heads SET name = 'half-way'")
            ran = cli("spares", "backup", str(tmp_path / "copy.sqlite"), "--store", store)

    assert 0 == ran.code
    assert "half-way" not in spares(str(tmp_path / "copy.sqlite"), "list")


def test_an_option_or_the_environment_names_the_bin(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The variable counts where no option is given."""
    store = str(tmp_path / "bin.sqlite")
    with open_bin(store) as shelf:
        put_heads(shelf, HEADS[0])
    monkeypatch.setenv("COILMETER_STORE", store)

    assert "T-01" in cli("spares", "list").out


def test_a_link_between_bench_and_server_is_a_file(filled: str, tmp_path: Path) -> None:
    """What one bin exports another reads, on whichever engine, and verifies."""
    path = tmp_path / "heads.jsonl"
    other = str(tmp_path / "other.sqlite")
    spares(filled, "export", "--out", str(path))
    spares(other, "import", str(path))

    assert spares(filled, "list") == spares(other, "list")
    assert spares(filled, "history", "T-02", code=1) == spares(other, "history", "T-02", code=1)
    assert [] == document(other, "verify")["findings"]
