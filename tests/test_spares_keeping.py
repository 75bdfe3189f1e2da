"""`check` fills the bin: each reading before it counts, and never at the cost of one."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import pytest
from helpers import Ran, cli, rows, shipped
from spares_helpers import KIND, counts, document, measured, open_bin, sheet, spares
from walk_helpers import in_order, job_in
from walk_processes import run

from coilmeter.cli.bin_keeping import Shelving
from coilmeter.errors import StoreBusyError, StoreError
from coilmeter.sources.sheet import read_sheet
from coilmeter.spares.adding import Batch
from coilmeter.spares.keeping import BinKeeper
from coilmeter.spares.reading import find_head, records_of
from coilmeter.values import Purpose
from coilmeter.walks.keeping import Keeper

NO_CASE: Final = "two-channel-rp-no-case"
ANSWERS: Final = {"leads": "0.2", "coil 1": "171.3", "coil 2": "172.1", "1 to 2": "OL 40 Mohm"}
TAKEN: Final = rows(sheet(measured("T-01", 171.3, 172.0)))


def typed(answers: Mapping[str, str] = ANSWERS, *, end: str = "") -> bytes:
    """Give what a person types at a check of the head without a case."""
    asked = in_order(shipped().kind(NO_CASE), answers, lead_null=True)
    return "".join(f"{line}\n" for line in [*asked, *([end] if end else [])]).encode()


def check(store: str, folder: Path, *words: str, stdin: bytes = b"", head: str = "T-01") -> Ran:
    """Check a head, typed, with its file in a folder."""
    name = ("--head", head) if head else ()
    keep = () if "--keep" in words else ("--keep", str(folder / "T-01.csv"))
    more = ("--kind", NO_CASE, "--meter", "handheld-4000", "--store", store)
    return cli("check", *name, *keep, *more, *words, stdin=stdin)


def readings(store: str, name: str = "T-01") -> list[tuple[str, str, str]]:
    """Read back coil, reading and purpose of all sittings of a head."""
    with open_bin(store, create=False) as shelf, shelf.read() as connection:
        record = next(records_of(connection, [find_head(connection, name).id]))
    return [
        (row.coil, row.reading.text, str(row.purpose))
        for sitting in record.sittings
        for row in sitting.rows
    ]


def kept(path: Path) -> list[tuple[str, str, str]]:
    """Read back the same from the readings file."""
    return [(row.coil, row.reading.text, str(row.purpose)) for row in read_sheet(path).rows]


def test_a_check_fills_the_bin(store: str, tmp_path: Path) -> None:
    """File and bin hold the same, the verdict is the same, and it says where it went."""
    ran = check(store, tmp_path, "--as", "json", stdin=typed())
    shown = spares(store, "show", "T-01", "--as", "csv", code=ran.code)
    (listed,) = document(store, "list")["heads"]

    assert 0 == ran.code
    assert kept(tmp_path / "T-01.csv") == readings(store)
    assert f"In the bin: T-01, code {listed['code'][:4]}-{listed['code'][4:]}, new" in ran.err
    assert "matched" == listed["grade"]
    assert 3 == len(shown.splitlines()) - 1


def test_the_same_head_again(store: str, tmp_path: Path) -> None:
    """Found by its name and kind: measured again, in a sitting of its own."""
    check(store, tmp_path, stdin=typed())
    again = check(store, tmp_path, "--keep", str(tmp_path / "again.csv"), stdin=typed())
    (listed,) = document(store, "list")["heads"]
    record = document(store, "show", listed["code"])["record"]

    assert "measured again" in again.err
    assert 2 == len(record["sittings"])


def test_a_head_that_nobody_named_is_another_one(store: str, tmp_path: Path) -> None:
    """Two checks without a name are two heads, and going on with one is that one."""
    for name in ("a.csv", "b.csv"):
        keep = ("--keep", str(tmp_path / name))
        check(store, tmp_path, *keep, stdin=typed(end="quit"), head="")
    check(store, tmp_path, "--keep", str(tmp_path / "a.csv"), "--resume", stdin=b"", head="")

    assert 2 == len(document(store, "list")["heads"])


def test_a_walk_that_goes_on(store: str, tmp_path: Path) -> None:
    """Left half-way and resumed, it is one sitting; a reading taken again is free in both."""
    first = check(store, tmp_path, stdin=b"0.2\n171.3\nquit\n")
    second = check(
        store, tmp_path, "--resume", "--again", "coil 1", stdin=b"172.9\n172\nOL 40 Mohm\n"
    )
    with open_bin(store) as shelf:
        found = counts(shelf)

    assert "new there" in first.err
    assert "gone on" in second.err
    assert (1, 1) == (found["heads"], found["sittings"])
    assert kept(tmp_path / "T-01.csv") == sorted_as(tmp_path, readings(store))
    assert ("1", "171.3", "free") in readings(store)


def sorted_as(folder: Path, found: list[tuple[str, str, str]]) -> list[tuple[str, str, str]]:
    """Put readings in the order of the file, which has those taken again where they were."""
    order = kept(folder / "T-01.csv")
    return sorted(found, key=order.index)


def test_a_check_without_the_bin(store: str, tmp_path: Path) -> None:
    """Asked not to, it leaves the bin alone, and makes none."""
    ran = check(store, tmp_path, "--no-bin", stdin=typed())

    assert 0 == ran.code
    assert "In the bin" not in ran.err
    assert 4 == cli("spares", "list", "--store", store).code


def test_the_usual_bin_is_in_the_data_folder(tmp_path: Path) -> None:
    """Without --store, every command means the same one; its folder is made."""
    keep = ("--keep", str(tmp_path / "T-01.csv"))
    cli("check", "--head", "T-01", "--kind", NO_CASE, *keep, stdin=typed())
    ran = cli("spares", "list")

    assert "T-01" in ran.out
    assert (Path(os.environ["COILMETER_DATA"]) / "bin.sqlite").is_file()


def test_another_kind_of_that_name_is_said_before_measuring(store: str, tmp_path: Path) -> None:
    """Nothing is asked and nothing is kept; with another name, or --no-bin, it runs."""
    spares(store, "add", "-", stdin=sheet(measured("T-01", 171.3, 172.0)).encode())
    ran = check(store, tmp_path, stdin=typed())
    other = check(store, tmp_path, "--no-bin", stdin=typed())

    assert (2, 0) == (ran.code, other.code)
    assert "--no-bin" in ran.err
    assert "reading>" not in ran.err


@pytest.mark.parametrize("store_name", ["no/such/folder/bin.sqlite", "text.sqlite", "."])
def test_a_bin_that_cannot_be_opened_loses_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, store_name: str
) -> None:
    """Said at the beginning and at the end, with how to add it later; exit code 4."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "text.sqlite").write_text("no bin\n" * 20)
    ran = check(store_name, tmp_path, "--as", "csv", stdin=typed())
    added = spares(str(tmp_path / "good.sqlite"), "add", str(tmp_path / "T-01.csv"))

    assert 4 == ran.code
    assert "The bin does not take part" in ran.err
    assert "coilmeter spares add" in ran.err
    assert "T-01,two-channel-rp-no-case,matched" in ran.out
    assert 4 == len(kept(tmp_path / "T-01.csv"))
    assert "new" in added


@contextmanager
def busy(store: str) -> Iterator[None]:
    """Have another program write to a bin for as long as this lasts."""
    with open_bin(store) as other, other.write():
        yield


def test_a_bin_that_was_busy_gets_all_of_it(tmp_path: Path) -> None:
    """What it could not take goes in with the next reading that it takes."""
    store = str(tmp_path / "bin.sqlite")
    with open_bin(store) as shelf:
        keeper = BinKeeper(shelf, Batch("T-01", KIND, ()))
        keeper.keep(TAKEN[0])
        with busy(store):
            for row in TAKEN[1:3]:
                with pytest.raises(StoreBusyError):
                    keeper.catch_up([*TAKEN[: TAKEN.index(row)], row], patience_s=0.1)
        missed = keeper.missed
        keeper.catch_up(TAKEN[:4])

    assert missed
    assert [row.reading.text for row in TAKEN[:4]] == [text for _, text, _ in readings(store)]


def test_a_bin_that_stays_busy(tmp_path: Path) -> None:
    """Its readings are in the file; the message says which command adds them."""
    store = str(tmp_path / "bin.sqlite")
    open_bin(store).close()
    (tmp_path / "walk").mkdir()
    job = job_in(tmp_path / "walk")
    said: list[str] = []
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("coilmeter.cli.bin_keeping.say", said.append)
        patch.setattr("coilmeter.spares.engine.PATIENCE_S", 0.1)
        patch.setattr("coilmeter.spares.keeping.PATIENT_S", 0.1)
        with Shelving(store, job) as shelving, busy(store):
            replace(job, shelving=shelving).keep(replace(TAKEN[0], head="H", kind=NO_CASE))
            shelving.__exit__(None, None, None)
            code = shelving.code(0)

    assert 4 == code
    assert any("Not all of it is in the bin" in each for each in said)
    assert 1 == len(job.keeper.rows)


def test_a_keeper_of_the_bin_is_a_keeper_of_walks(store: str) -> None:
    """A reading is there for a second connection before `keep` comes back."""
    with open_bin(store) as shelf, open_bin(store) as other:
        keeper: Keeper = BinKeeper(shelf, Batch("T-01", KIND, ()))
        seen = []
        for row in TAKEN:
            keeper.keep(row)
            seen.append(counts(other)["readings"])

    assert [1, 2, 3, 4, 5] == seen


def test_a_reading_refused_is_kept_aside_in_both(store: str, tmp_path: Path) -> None:
    """What cannot be right stays on record, free, in the file and in the bin."""
    ran = check(store, tmp_path, stdin=b"0.2\n-50\n171.3\nquit\n")

    assert "-50" in ran.err
    assert kept(tmp_path / "T-01.csv") == readings(store)
    assert Purpose.FREE in {purpose for _, _, purpose in readings(store)}


def test_an_interrupted_check_says_where_it_went(tmp_path: Path) -> None:
    """Also when the meter fails: whatever ends it, the bin is told of."""
    words = ("--head", "T-01", "--kind", NO_CASE, "--store", "bin.sqlite")
    ran = run(tmp_path, "check", *words, "--port", "socket://127.0.0.1:1", "--format", "plain")

    assert 3 == ran.code
    assert "fault of this program" not in ran.err


def test_help_and_judge_do_not_load_the_database(tmp_path: Path) -> None:
    """Whoever does not work with the bin does not wait for it."""
    (tmp_path / "a.csv").write_text("coil,reading\n1,171.3\n")
    code = "import sys; from coilmeter.cli import main; main({}); print(*sys.modules)"
    loaded = []
    for words in (["judge", "a.csv"], ["spares", "--help"], ["check", "--help"]):
        import subprocess  # noqa: PLC0415 - beside its use
        import sys  # noqa: PLC0415 - as above

        done = subprocess.run(
            [sys.executable, "-c", code.format(words)],
            capture_output=True,
            text=True,
            check=True,
            cwd=tmp_path,
        )
        loaded.append("sqlalchemy" in done.stdout)

    assert [False, False, False] == loaded


def test_a_trouble_that_passes_is_forgotten(tmp_path: Path) -> None:
    """A bin that took part again in time makes no exit code."""
    store = str(tmp_path / "bin.sqlite")
    open_bin(store).close()
    (tmp_path / "walk").mkdir()
    job = job_in(tmp_path / "walk")
    row = replace(TAKEN[0], head="H", kind=NO_CASE)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("coilmeter.spares.keeping.PATIENT_S", 0.1)
        with Shelving(store, job) as shelving:
            with busy(store):
                replace(job, shelving=shelving).keep(row)
            before = shelving.code(1)
        after = shelving.code(1)

    assert (4, 1) == (before, after)
    assert 1 == len(readings(store, "H"))


def test_a_data_folder_that_cannot_be_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The check goes on without the bin, and ends with 4; reading commands say it is empty."""
    in_the_way = tmp_path / "data"
    in_the_way.write_text("a file where the folder should be")
    monkeypatch.setenv("COILMETER_DATA", str(in_the_way))
    keep = ("--keep", str(tmp_path / "T-01.csv"))
    ran = cli("check", "--head", "T-01", "--kind", NO_CASE, *keep, stdin=typed())

    assert 4 == ran.code
    assert "cannot be made" in ran.err
    assert 4 == len(kept(tmp_path / "T-01.csv"))


def test_errors_of_the_store_are_told_apart() -> None:
    """Each has the exit code of a store."""
    found: list[Any] = [StoreError, StoreBusyError]

    assert {4} == {each.exit_code for each in found}
