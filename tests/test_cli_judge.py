"""`coilmeter judge`, end to end."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from helpers import Ran, cli

EIGHT = """\
head,kind,coil,purpose,reading,range,note
K-07,four-channel-rp,1,coil,212.4,400 ohm,
K-07,four-channel-rp,2,coil,OL 40 Mohm,,
K-07,four-channel-rp,3,coil,4k7,,
K-07,four-channel-rp,4,coil,silent,,
K-07,four-channel-rp,1-2,coil-to-coil,beep 5 ohm,,
K-07,four-channel-rp,1,coil-to-case,OL,auto,
K-07,four-channel-rp,2,coil-to-case,4.0 Mohm,,
K-07,,,lead-null,0.2,,clips together
"""
"""Eight rows that hold every kind of evidence."""

SOUND = """\
coil,purpose,reading
1,,171.0
2,,172.0
1-2,coil-to-coil,OL 40 Mohm
1,coil-to-case,OL 40 Mohm
2,coil-to-case,OL 40 Mohm
"""
TWO = ("--kind", "two-channel-rp", "--meter", "handheld-4000")
BAND = (
    '[bands.{}]\nshorted_below = "1 ohm"\nlow = "{}"\nhigh = "300 ohm"\nopen_above = "4 kohm"\n'
)


def judge(folder: Path, text: str | bytes, *words: str, name: str = "p.csv") -> Ran:
    """Judge one file of that text, beside others the test may have written."""
    path = folder / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return cli("judge", str(path), *words)


def written(folder: Path, name: str, text: str) -> Path:
    """Write a file and give its path."""
    path = folder / name
    path.write_text(text, "utf-8")
    return path


def test_eight_rows_as_json(tmp_path: Path) -> None:
    """Every kind of evidence, judged as designed, in the document that is a contract."""
    ran = judge(tmp_path, EIGHT, "--as", "json", "--meter", "handheld-4000")
    document = json.loads(ran.out)
    (head,) = document["heads"]
    coils = {coil["coil"]: coil for coil in head["coils"]}
    paths = {(path["from"], path["to"]): path for path in head["isolation"]}

    assert (1, "") == (ran.code, ran.err)
    assert ("coilmeter/1", 0.95, "handheld-4000") == (
        document["schema"],
        document["confidence"],
        document["meter"]["name"],
    )
    assert ("K-07", "four-channel-rp", "partial") == (head["head"], head["kind"], head["grade"])
    assert {"1": "intact", "2": "open", "3": "high", "4": "undecided"} == {
        name: coil["verdict"] for name, coil in coils.items()
    }
    assert {"1": "value", "2": "above", "3": "value", "4": "above"} == {
        name: coil["evidence"] for name, coil in coils.items()
    }
    assert 212.2 == pytest.approx(coils["1"]["resistance_20c_ohm"])
    assert "plain ohms" in coils["4"]["next"]
    assert "bridged" == paths["1", "2"]["verdict"]
    assert ("isolated", 4e7) == (
        paths["1", "case"]["verdict"],
        paths["1", "case"]["bound_ohm"],
    )
    assert ("undecided", ["doubtful"]) == (
        paths["2", "case"]["verdict"],
        paths["2", "case"]["between"],
    )
    assert "missing" == paths["3", "case"]["verdict"]


def test_eight_rows_as_csv(tmp_path: Path) -> None:
    """The same verdicts, one line a coil and path."""
    ran = judge(tmp_path, EIGHT, "--as", "csv", "--meter", "handheld-4000")
    records = list(csv.DictReader(io.StringIO(ran.out)))

    assert ["intact", "open", "high", "undecided"] == [
        record["verdict"] for record in records if record["what"] == "coil"
    ]
    assert {("1", "2", "bridged"), ("1", "case", "isolated")} <= {
        (record["from"], record["to"], record["verdict"]) for record in records
    }


@pytest.mark.parametrize("shape", ["table", "markdown"])
def test_eight_rows_as_text(tmp_path: Path, shape: str) -> None:
    """The same verdicts for a person."""
    ran = judge(tmp_path, EIGHT, "--as", shape, "--meter", "handheld-4000", "--budget")

    for word in ("PARTIAL: head K", "intact", "open", "high", "undecided", "bridged", "Next:"):
        assert word in ran.out
    assert "more than 40 Mohm" in ran.out
    assert "coil: u in ohm" in ran.out
    assert "" == ran.err


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (SOUND, 0),
        (SOUND.replace("172.0", "OL 40 Mohm"), 1),
        (SOUND.replace("172.0", "90"), 1),
        (SOUND.replace("172.0", "silent"), 1),
        (SOUND.replace("172.0", "120"), 1),
        (SOUND.replace("1,coil-to-case,OL 40 Mohm\n", ""), 1),
        (SOUND.replace("172.0", "x"), 2),
    ],
)
def test_exit_codes(tmp_path: Path, text: str, code: int) -> None:
    """0 all sound, 1 something faulty or undecided, 2 bad input."""
    ran = judge(tmp_path, text, *TWO)

    assert code == ran.code
    assert (code == 2) == (ran.out == "")


def test_standard_input_and_patterns(tmp_path: Path) -> None:
    """A dash, a pattern and a name in one run; the default head is the file's name."""
    for name in ("a.csv", "b.csv"):
        written(tmp_path, name, SOUND)
    words = ("judge", "-", str(tmp_path / "?.csv"), *TWO, "--as", "json")
    ran = cli(*words, stdin=SOUND.encode())

    assert 0 == ran.code
    assert ["1", "a", "b"] == [head["head"] for head in json.loads(ran.out)["heads"]]


def test_a_real_process(tmp_path: Path) -> None:
    """The tool as a person runs it, through a pipe, with nothing of this process."""
    words = [sys.executable, "-m", "coilmeter", "judge", "-", *TWO, "--as", "json"]
    ran = subprocess.run(
        words, input=EIGHT.encode(), capture_output=True, cwd=tmp_path, check=False, timeout=120
    )

    assert (1, b"") == (ran.returncode, ran.stderr)
    assert "partial" == json.loads(ran.stdout)["heads"][0]["grade"]


@pytest.mark.parametrize("shape", ["table", "csv", "markdown"])
def test_a_terminal_that_knows_ascii_only(tmp_path: Path, shape: str) -> None:
    """A name with an umlaut does not stop the results on a plain terminal."""
    path = written(tmp_path, "p.csv", "head,coil,reading\nK\u00f6pfe,1,171.0\n")
    ran = subprocess.run(
        [sys.executable, "-m", "coilmeter", "judge", str(path), "--as", shape],
        capture_output=True,
        env=os.environ | {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"},
        check=False,
        timeout=120,
    )

    assert b"Traceback" not in ran.stderr
    assert 1 == ran.returncode
    assert b"intact" in ran.stdout


def test_out_is_written_whole(tmp_path: Path) -> None:
    """The results go to the file, none to the screen, and no half file is left."""
    out = written(tmp_path, "out.csv", "old")
    ran = judge(tmp_path, SOUND, *TWO, "--as", "csv", "--out", str(out))

    assert (0, "") == (ran.code, ran.out)
    assert out.read_text("utf-8").startswith("head,kind,grade")
    assert ["out.csv", "p.csv"] == sorted(path.name for path in tmp_path.iterdir())


def test_out_is_untouched_when_anything_fails(tmp_path: Path) -> None:
    """Bad input leaves an older file as it was."""
    out = written(tmp_path, "out.csv", "old")
    ran = judge(tmp_path, "coil,reading\n1,x\n", "--out", str(out))

    assert (2, "old") == (ran.code, out.read_text("utf-8"))


def test_options_reach_the_judge(tmp_path: Path) -> None:
    """Kind, band, meter, leads, temperature, confidence and isolation all count."""
    text = "coil,reading\n1,5.3\n1-case,2 Mohm\n"
    words = ["--band", "erase", "--meter", "bench-6-digit", "--lead", "0.2 +/- 0.02 ohm"]
    words += ["--temperature", "30 +/- 1", "--confidence", "0.9", "--leaking-below", "5 Mohm"]
    document = json.loads(judge(tmp_path, text, *words, "--as", "json").out)
    coil = document["heads"][0]["coils"][0]

    assert 5.1 / 1.0393 == pytest.approx(coil["resistance_20c_ohm"])
    assert ("erase", "bench-6-digit", 0.9) == (
        coil["band"],
        coil["meter"],
        document["confidence"],
    )
    assert "leaking" == document["heads"][0]["isolation"][0]["verdict"]


def test_a_users_catalog_overrides(tmp_path: Path) -> None:
    """A band of the user's of a shipped name is the one that counts; several files add up."""
    mine = written(tmp_path, "mine.toml", BAND.format("rp-cassette", "200 ohm"))
    more = written(tmp_path, "more.toml", BAND.format("extra", "2 ohm"))
    shipped = judge(tmp_path, "coil,role,reading\n1,rp,171\n", "--as", "csv")
    own = judge(
        tmp_path,
        "coil,role,reading\n1,rp,171\n",
        *("--as", "csv", "--catalog", str(mine), "--catalog", str(more)),
    )
    extra = judge(
        tmp_path,
        "coil,role,reading\n1,rp,171\n",
        *("--as", "json", "--catalog", str(more), "--band", "extra"),
    )

    assert ",intact," in shipped.out
    assert ",low," in own.out
    assert '"band": "extra"' in extra.out


def test_a_catalog_from_the_environment(tmp_path: Path) -> None:
    """The environment names a file for every run."""
    mine = written(tmp_path, "mine.toml", BAND.format("rp-cassette", "200 ohm"))
    path = written(tmp_path, "p.csv", "coil,role,reading\n1,rp,171\n")
    ran = cli("judge", str(path), "--as", "csv", catalog=mine)

    assert ",low," in ran.out


def test_help_of_the_command() -> None:
    """Every option has a line of help."""
    ran = cli("judge", "--help")

    assert 0 == ran.code
    for word in ("--kind", "--band", "--meter", "--lead", "--temperature", "--confidence"):
        assert word in ran.out
