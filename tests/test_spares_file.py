"""Heads from bin to bin: the same ones, once; conflicts named; what is wrong refused."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, Final

import pytest
from helpers import cli, rows
from spares_files import HEADS, READING, changed, full_bin, read_in, set_in
from spares_helpers import (
    counts,
    document,
    exported,
    measured,
    open_bin,
    put,
    put_heads,
    sheet,
    spares,
)

from coilmeter.errors import InputError
from coilmeter.spares.adding import Batch, add
from coilmeter.spares.bin_file import DEFAULTS
from coilmeter.spares.exporting import export_lines
from coilmeter.spares.reading import records_of
from coilmeter.spares.schema import FIELDS
from coilmeter.spares.store import Bin

LATER: Final = measured("T-01", 171.9, 172.4, day="2026-06-01")


def test_every_record_comes_over(store: str, tmp_path: Path) -> None:
    """Into an empty bin, and what that exports is the same, line for line."""
    with full_bin(store) as mine, open_bin(str(tmp_path / "other.sqlite")) as other:
        lines = exported(mine)
        found = read_in(other, lines)
        again = exported(other)
        numbers = counts(mine), counts(other)

    assert lines[1:] == again[1:]
    assert numbers[0] == numbers[1]
    assert all(numbers[0][name] for name in numbers[0] if name != "photos")
    assert (2, 2, 0) == (found.heads, found.new_heads, found.known)


def test_a_second_time_changes_nothing(store: str) -> None:
    """Everything is known, and not a byte of the export is another one."""
    with full_bin(store) as shelf:
        before = exported(shelf)
        found = read_in(shelf, before)
        after = exported(shelf)

    assert before[1:] == after[1:]
    assert (0, 0, sum(counts_of(before))) == (found.added, found.new_heads, found.known)


def counts_of(lines: list[bytes]) -> list[int]:
    """Count the records in lines, one number a line."""

    def records(value: Any) -> int:
        if isinstance(value, list):
            return sum(map(records, value))
        if isinstance(value, dict):
            return 1 + sum(records(each) for each in value.values())
        return 0

    return [records(json.loads(line)) - 1 for line in lines[1:-1]]


def test_two_benches_merge(store: str, tmp_path: Path) -> None:
    """Each has measured a head of the other again: both end with the same, in any order."""
    with open_bin(store) as mine, open_bin(str(tmp_path / "other.sqlite")) as other:
        put_heads(mine, *HEADS)
        read_in(other, exported(mine))
        put_heads(mine, LATER)
        put_heads(other, measured("T-02", 180.4, 181.2, day="2026-07-01"))
        put_heads(other, measured("T-03", 190.0, 191.0))
        read_in(mine, exported(other))
        read_in(other, exported(mine))
        both = exported(mine)[1:], exported(other)[1:]
        once_more = read_in(mine, exported(other))

    assert both[0] == both[1]
    assert 0 == once_more.added
    assert [2, 2, 1] == [len(json.loads(line)["head"]["sittings"]) for line in both[0][:-1]]


def test_a_head_that_two_benches_decided_about(store: str, tmp_path: Path) -> None:
    """Named, and not settled by the machine; a person settles it, on either bench."""
    other = str(tmp_path / "other.sqlite")
    with open_bin(store) as mine:
        put_heads(mine, HEADS[0])
        lines = exported(mine)
    with open_bin(other) as theirs:
        read_in(theirs, lines)
    spares(store, "use", "T-01", "--why", "left deck")
    spares(other, "scrap", "T-01", "--why", "leaks")
    theirs_file = tmp_path / "theirs.jsonl"
    spares(other, "export", "--out", str(theirs_file))

    merged = document(store, "import", str(theirs_file), code=1)
    disputed = document(store, "list", "--status", "disputed")["heads"]
    spares(store, "scrap", "T-01", "--why", "looked again: leaks")
    mine_file = tmp_path / "mine.jsonl"
    spares(store, "export", "--out", str(mine_file))
    settled = document(other, "import", str(mine_file))
    status = [document(each, "list")["heads"][0]["status"] for each in (store, other)]

    assert 1 == len(merged["disputed"]) == len(disputed)
    assert "decided differently" in merged["notes"][0]
    assert [] == settled["disputed"]
    assert ["scrapped", "scrapped"] == status


CONFLICTS: Final = {
    "reading": set_in(*READING, "reading", value="199.9"),
    "sitting": set_in("sittings", 0, "band", value="erase"),
    "head": set_in("name", value="T-99"),
    "note": set_in("notes", 0, "text", value="red"),
}


@pytest.mark.parametrize("what", CONFLICTS)
def test_a_conflict_is_named(store: str, what: str) -> None:
    """Nothing is imported unless the person says so, and then the bin's own stays."""
    with full_bin(store) as shelf:
        before = exported(shelf)
        lines = changed(before, CONFLICTS[what])
        more = [*lines[:-1], *exported_elsewhere(), lines[-1]]
        more[-1] = more[-1].replace(b'"heads":2', b'"heads":3')
        with pytest.raises(InputError, match=f"{what} .* is another one in the bin") as caught:
            read_in(shelf, more)
        untouched = exported(shelf)
        found = read_in(shelf, more, keep_mine=True)
        after = exported(shelf)

    assert "nothing was imported" in caught.value.message
    assert "--keep-mine" in caught.value.hint
    assert before[1:] == untouched[1:]
    assert 1 == len(found.conflicts)
    assert 1 == found.new_heads
    assert set(before[1:-1]) <= set(after)


def exported_elsewhere() -> list[bytes]:
    """Give the line of a head of another bin."""
    with Bin.empty() as shelf:
        put_heads(shelf, measured("Z-01", 150.0, 151.0))
        return exported(shelf)[1:-1]


def test_some_heads_only(store: str, tmp_path: Path) -> None:
    """Named on the command line; a proof comes along where one of them has it."""
    full_bin(store).close()
    one = [json.loads(line) for line in spares(store, "export", "T-02").splitlines()]
    other = [json.loads(line) for line in spares(store, "export", "T-01").splitlines()]
    path = tmp_path / "all.jsonl"
    spares(store, "export", "--out", str(path))

    assert [["head"], ["end"]] == [list(line) for line in one[1:]]
    assert "T-02" == one[1]["head"]["name"]
    assert [["proof"], ["head"], ["end"]] == [list(line) for line in other[1:]]
    assert 5 == len(path.read_text().splitlines())


def test_a_file_is_written_over_only_where_it_is_said(store: str, tmp_path: Path) -> None:
    """An export that is there stays as it is, unless --replace says otherwise."""
    full_bin(store).close()
    path = tmp_path / "heads.jsonl"
    path.write_text("kept")
    refused = cli("spares", "export", "--out", str(path), "--store", store)
    kept = path.read_text()
    spares(store, "export", "--out", str(path), "--replace")

    assert (2, "kept") == (refused.code, kept)
    assert "--replace" in refused.err
    assert 5 == len(path.read_text().splitlines())


def test_from_standard_input(store: str) -> None:
    """As a pipe from another bench brings it."""
    with Bin.empty() as shelf:
        put_heads(shelf, *HEADS)
        data = b"".join(exported(shelf))
    found = document_of(
        cli("spares", "import", "-", "--store", store, "--as", "json", stdin=data).out
    )

    assert 2 == found["imported"][0]["heads"]
    assert [] == found["conflicts"]


def document_of(text: str) -> dict[str, Any]:
    """Read a JSON document."""
    return dict(json.loads(text))


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    """Said with its name; no bin is filled."""
    ran = cli("spares", "import", "no.jsonl", "--store", str(tmp_path / "bin.sqlite"))

    assert 2 == ran.code
    assert "no.jsonl: cannot be read" in ran.err


def test_the_page_describes_every_field() -> None:
    """Each field of each record that a file can hold stands in it."""
    page = (Path(__file__).parent.parent / "docs" / "reference" / "bin-file.md").read_text()
    inner = {"head", "sitting"}

    missing = {
        name
        for fields in FIELDS.values()
        for name in fields
        if name not in inner and f"`{name}`" not in page
    }
    assert set() == missing - {"meter", "document"}


def test_every_field_has_a_default() -> None:
    """A file may leave out whatever says nothing."""
    assert {table: set(fields) for table, fields in FIELDS.items()} == {
        table: set(fields) for table, fields in DEFAULTS.items()
    }


def test_a_bin_of_many_heads_is_exported_in_the_order_of_ids() -> None:
    """More of them than one query takes; each is there once."""
    with Bin.empty() as shelf:
        with shelf.write() as connection:
            for number in range(1100):
                taken = rows(f"head,kind,coil,reading\nH{number},one-erase,E,3.1\n")
                add(connection, Batch(f"H{number}", "one-erase", taken))
        with shelf.read() as connection:
            lines = [json.loads(line) for line in export_lines(connection, shelf.id)]
            ids = [line["head"]["id"] for line in lines[1:-1]]
            found = [record.head.id for record in records_of(connection, ids)]
        whole = exported(shelf)
    with Bin.empty() as other:
        new = [read_in(other, whole) for _ in range(2)]
        again = exported(other)

    assert whole[1:] == again[1:]
    assert [(1100, 1100), (1100, 0)] == [(each.heads, each.new_heads) for each in new]
    assert 1100 == lines[-1]["end"]["heads"] == len(set(ids))
    assert sorted(ids) == ids == found


def test_put_once_more(store: str) -> None:
    """A head that came from another bench is found by its name like any other."""
    with Bin.empty() as shelf:
        put_heads(shelf, HEADS[0])
        lines = exported(shelf)
    with open_bin(store) as mine:
        read_in(mine, lines)
        again = put(mine, "T-01", rows(sheet(LATER)))

    assert (False, True) == (again.is_new, again.again)
