"""`coilmeter check` typed, from start to table, and everything that cannot be."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
import shlex
from collections.abc import Collection
from pathlib import Path
from typing import Any

import pytest
from helpers import cli, shipped
from walk_helpers import in_order
from walk_processes import run

from coilmeter.cli.checking import key_of_row
from coilmeter.sources.sheet import read_sheet

KIND = "two-channel-rp-no-case"


def words(text: str, *more: str) -> list[str]:
    """Split a command line."""
    return ["check", *shlex.split(text), *more]


def kept(path: Path) -> list[tuple[str, str]]:
    """Read what is in a kept file: step and reading."""
    return [(key_of_row(row), row.reading.text) for row in read_sheet(path).rows]


def lines(
    kind: str, answers: dict[str, str], *, lead_null: bool = False, done: Collection[str] = ()
) -> bytes:
    """Give what a person types who answers each question with what it is about."""
    asked = in_order(shipped().kind(kind), answers, lead_null=lead_null, done=done)
    return "".join(f"{answer}\n" for answer in asked).encode()


def document(text: str) -> dict[str, Any]:
    """Read the one head of a JSON document."""
    (head,) = json.loads(text)["heads"]
    return dict(head)


def test_typed_to_the_table(tmp_path: Path) -> None:
    """Six readings, a table, and a file that judge reads as it stands."""
    answers = {"leads": "0.2", "coil 1": "171.3", "coil 2": "172", "1 to 2": "OL\n40 Mohm"}
    answers |= {"1 to case": "OL 40 Mohm", "2 to case": "OL 40 Mohm"}
    typed = lines("coils-2", answers, lead_null=True)
    ran = run(tmp_path, *words("--coils 2 --meter handheld-4000 --head K-07"), stdin=typed)
    judged = run(tmp_path, "judge", "K-07.csv", "--meter", "handheld-4000")

    assert 0 == ran.code
    assert ran.out.startswith("MATCHED: head K-07, coils-2")
    assert "\n6 readings, 8 clip moves\n" in ran.err
    assert 6 == ran.err.count("taken  ")
    assert "6 readings are kept in K-07.csv." in ran.err
    assert "--resume" not in ran.err
    assert "never ohms on a live circuit" in ran.err
    assert ran.out == judged.out


def test_typed_with_every_word(tmp_path: Path) -> None:
    """Help, mistakes, back, redo, skip and quit; what is missing is said, exit code 1."""
    typed = (
        b"help\n0.2\nabout 170\n-\n12 V\n\xff\xfe\n170\nback\n171.3\nredo\n171.5\nskip\nquit\n"
    )
    ran = run(tmp_path, *words(f"--kind {KIND} --as json --keep a.csv"), stdin=typed)
    head = document(ran.out)

    assert 1 == ran.code
    assert ["intact", "missing"] == [coil["verdict"] for coil in head["coils"]]
    assert [("leads", "0.2"), ("", "170"), ("", "171.3"), ("coil 1", "171.5")] == kept(
        tmp_path / "a.csv"
    )
    assert 4 == ran.err.count("saw '")
    assert "4 readings are kept in a.csv. Go on with the same command and --resume." in ran.err
    assert "Traceback" not in ran.err


def test_the_end_of_the_input_is_the_end(tmp_path: Path) -> None:
    """A file of answers that is too short leaves what it gave, and it can be gone on with."""
    first = run(tmp_path, *words(f"--kind {KIND} --lead nulled"), stdin=b"171.3\n")
    rest = lines(KIND, {"coil 2": "172", "1 to 2": "OL 40 Mohm"}, done=["coil 1"])
    then = run(tmp_path, *words(f"--kind {KIND} --lead nulled --resume"), stdin=rest)

    assert (1, 0) == (first.code, then.code)
    assert "\n3 readings, 4 clip moves\n" in first.err
    assert "\n2 of 3 readings left, 3 clip moves\n[2/3] coil 2: " in then.err
    assert "coil 1:" not in then.err
    assert [("coil 1", "171.3"), ("coil 2", "172"), ("1 to 2", "OL 40 Mohm")] == kept(
        tmp_path / "head.csv"
    )


def test_nothing_typed_is_nothing_to_judge(tmp_path: Path) -> None:
    """No verdict without a reading."""
    ran = run(tmp_path, *words(f"--kind {KIND}"), stdin=b"quit\n")

    assert (1, "") == (ran.code, ran.out)
    assert "nothing to judge" in ran.err


def test_only_the_leads(tmp_path: Path) -> None:
    """A lead null alone says nothing of the head."""
    ran = run(tmp_path, *words(f"--kind {KIND}"), stdin=b"0.2\nquit\n")

    assert 1 == ran.code
    assert "1 reading is kept in head.csv" in ran.err


def test_resume_after_a_cut(tmp_path: Path) -> None:
    """What was cut off is told, with its text, and the step is asked again."""
    run(tmp_path, *words(f"--kind {KIND} --lead nulled"), stdin=b"171.3\nOL 30 Mohm\n")
    path = tmp_path / "head.csv"
    path.write_bytes(path.read_bytes()[:-20])
    typed = lines(KIND, {"coil 2": "173", "1 to 2": "OL 40 Mohm"}, done=["coil 1"])
    ran = run(tmp_path, *words(f"--kind {KIND} --lead nulled --resume"), stdin=typed)

    assert "The last line of the file had no end and was taken out: 'head," in ran.err
    assert "OL 30 Mohm" in ran.err
    assert {"coil 1": "171.3", "1 to 2": "OL 40 Mohm", "coil 2": "173"} == dict(kept(path))


def test_resume_of_what_is_complete(tmp_path: Path) -> None:
    """Everything is there: it is judged at once."""
    run(tmp_path, *words("--kind one-erase --lead nulled --no-isolation"), stdin=b"4.7\n")
    ran = run(tmp_path, *words("--kind one-erase --lead nulled --no-isolation --resume"))

    assert "done: 1 taken" in ran.err
    assert "intact" in ran.out


@pytest.mark.parametrize(
    ("line", "code", "expected"),
    [
        ("", 2, "which head is it?"),
        (f"--kind {KIND} --coils 2", 2, "both --kind and --coils"),
        ("--kind four-chanel", 2, "no head kind is called 'four-chanel'"),
        ("--coils 0", 2, "--coils: saw '0', expected a whole number from 1 to 16"),
        ("--coils 17", 2, "--coils: saw '17', expected a whole number from 1 to 16"),
        ("--coils two", 2, "--coils: saw 'two', expected a whole number from 1 to 16"),
        ("--coils -1", 2, "--coils: saw '-1', expected a whole number from 1 to 16"),
        ("--coils 2.0", 2, "--coils: saw '2.0', expected a whole number from 1 to 16"),
        ("--coils ''", 2, "--coils: saw '', expected a whole number from 1 to 16"),
        ("--coils 2 --meter none", 2, "no meter is called 'none'"),
        ("--coils 2 --band none", 2, "no band is called 'none'"),
        ("--coils 2 --lead x", 2, "saw 'x'"),
        ("--coils 2 --lead '9 ohm'", 2, "0 to 5 ohm"),
        ("--coils 2 --temperature warm", 2, "saw 'warm'"),
        ("--coils 2 --head '#1'", 2, "saw '#1' as the name of the head"),
        ("--coils 2 --head 'a\nb'", 2, "as the name of the head"),
        ("--coils 2 --head ''", 2, "as the name of the head"),
        ("--coils 2 --port loop://", 2, "what does the meter send?"),
        ("--coils 2 --port loop:// --format digits", 2, "format is called 'digits'"),
        ("--coils 2 --resume", 2, "no such file to go on with"),
        ("--coils 2 --format plain", 2, "--format plain without --port"),
        ("--coils 2 --format ?", 2, "what does the meter send?"),
        ("--coils 2 --port socket://localhost --format plain", 2, "socket://host:port"),
        ("--coils 2 --port /no/such --format digits14", 3, "there is no such port"),
        ("--coils 2 --port socket://127.0.0.1:9 --format plain", 3, "nobody answers there"),
        ("--coils 2 --port /no/such --format digits14 --baud 0", 2, "saw 0 baud"),
        ("--coils 2 --keep no/such/folder.csv", 4, "No such file or directory"),
        ("--coils 2 --keep .", 4, "cannot be read back"),
    ],
)
def test_what_cannot_be_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, line: str, code: int, expected: str
) -> None:
    """One message, its exit code, nothing on the output."""
    monkeypatch.chdir(tmp_path)
    ran = cli(*words(line))

    assert code == ran.code
    assert expected in ran.err
    assert "" == ran.out
    assert "Traceback" not in ran.err


def test_a_wrong_port_is_not_in_the_way(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After correcting the port the same command runs: no empty file stops it."""
    monkeypatch.chdir(tmp_path)
    wrong = cli(*words("--coils 2 --port /no/such --format digits14"))
    right = cli(*words("--coils 2"), stdin=b"0.2\n171\nquit\n")

    assert (3, 1) == (wrong.code, right.code)
    assert "No readings were kept" in wrong.err
    assert [("leads", "0.2"), ("coil 1", "171")] == kept(tmp_path / "head.csv")


def test_readings_are_not_written_over(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same command again asks for --resume."""
    monkeypatch.chdir(tmp_path)
    cli(*words("--coils 2"), stdin=b"0.2\n171\nquit\n")
    again = cli(*words("--coils 2"), stdin=b"0.3\n")
    other = cli(*words("--coils 4 --resume"), stdin=b"0.3\n")

    assert (4, 2) == (again.code, other.code)
    assert "go on with it (--resume)" in again.err
    assert "holds head 'head' of kind 'coils-2'" in other.err
    assert [("leads", "0.2"), ("coil 1", "171")] == kept(tmp_path / "head.csv")
