"""`coilmeter flex`: files that are none, and options that cannot be."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from pathlib import Path

import pytest
from flex_logs import LOOSE, flex, log_of
from helpers import cli


@pytest.fixture
def loose(tmp_path: Path) -> str:
    """Log a coil that is open twice."""
    return log_of(tmp_path / "loose.rawlog", *LOOSE)


HEADER = "time,at_s,function,value,unit,overload,resolution,full_scale,flags,display\n"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "no raw log, and no CSV of readings (no column at_s, function, value"),
        ("coil,reading\n1,171\n", "no raw log, and no CSV of readings"),
        (HEADER + ",x,resistance,171,ohm,0,,,,\n", ":2: at_s: saw 'x', expected zero or more"),
        (HEADER + ",1,resistance,x,ohm,0,,,,\n", ":2: value: saw 'x', expected a number"),
        (HEADER + ",1,resistance,nan,ohm,0,,,,\n", ":2: value: saw 'nan'"),
        (HEADER + ",1,resistance,,ohm,0,,,,\n", ":2: value: saw ''"),
        (HEADER + ",1,warmth,1,ohm,0,,,,\n", ":2: function: saw 'warmth'"),
        (HEADER + ",1,resistance,171,kohm,0,,,,\n", ":2: unit: saw 'kohm', expected ohm"),
        (HEADER + ",1,resistance,1,ohm,2,,,,\n", ":2: overload: saw '2', expected 0 or 1"),
        (HEADER + ",1,resistance,1,ohm,0,,,loud,\n", ":2: flags: saw 'loud'"),
        (HEADER + ",1,resistance,1,ohm,0,-1,,,\n", ":2: resolution: saw '-1'"),
        (HEADER + "noon,1,resistance,1,ohm,0,,,,\n", ":2: time: saw 'noon', expected RFC 3339"),
        (HEADER + "1,2\n", ":2: cells: saw '2 cells', expected 10"),
        (HEADER + '"\n', "line: saw"),
        (
            HEADER + ",2,resistance,1,ohm,0,,,,\n\n,1,resistance,1,ohm,0,,,,\n",
            ":4: at_s: saw '1', expected times that never go back",
        ),
        (HEADER, "0 readings, and no contact"),
    ],
)
def test_a_file_that_is_none(tmp_path: Path, text: str, expected: str) -> None:
    """Every mistake with its line; nothing is judged."""
    path = tmp_path / "a.csv"
    path.write_text(text)
    ran = flex("--from", str(path))

    assert 2 == ran.code
    assert expected in ran.err
    assert "" == ran.out
    assert "Traceback" not in ran.err


def test_bytes_that_are_no_text(tmp_path: Path) -> None:
    """A picture is not taken for a CSV."""
    path = tmp_path / "a.csv"
    path.write_bytes(b"at_s,\xff\xfe")
    ran = flex("--from", str(path))

    assert 2 == ran.code
    assert "is not UTF-8 text" in ran.err


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    """Its name is said, and what it should be."""
    ran = flex("--from", str(tmp_path / "a.rawlog"))

    assert 2 == ran.code
    assert "cannot be read" in ran.err


PORT = ("--port", "socket://127.0.0.1:9", "--format", "plain")


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ([], "where do the readings come from?"),
        ([*PORT, "--from", "LOG"], "both --port and --from"),
        (["--from", "LOG", "--baud", "9600"], "--baud without --port"),
        (["--from", "LOG", "--log", "b.rawlog"], "--log without --port"),
        (["--from", "LOG", "--wait", "ever"], "--wait without --port"),
        (["--from", "LOG", "--speak"], "--speak without --port"),
        (["--from", "LOG", "--plot", "a.pdf"], "expected a name that ends in .svg or .png"),
        (["--from", "LOG", "--out", "LOG"], "is to be written, and is"),
        (["--from", "LOG", "--long-ol", "maybe"], "expected one of ask, lifted, open"),
        (["--from", "LOG", "--for", "soon"], "--for: saw 'soon'"),
        (["--from", "LOG", "--keep", "a.csv"], "--keep a.csv without --coil"),
        (["--from", "LOG", "--kind", "none"], "no head kind is called 'none'"),
        (["--from", "LOG", "--meter", "none"], "no meter is called 'none'"),
        (["--from", "LOG", "--kind", "two-channel-rp", "--coil", "9"], "is called '9'"),
        (["--from", "LOG", "--from", "LOG"], "part 1 of the log"),
        (["--from", "LOG", "--head", "#"], "as the name of the head"),
        (["--port", "x", "--format", "?"], "what does the meter send?"),
        ([*PORT, "--for", "7s"], "watched for less than 8 s cannot be called steady"),
        ([*PORT, "--dtr"], "a network connection has no control lines"),
    ],
)
def test_options_that_cannot_be(loose: str, words: list[str], expected: str) -> None:
    """What was seen and what would do, before anything is made."""
    ran = flex(*(loose if word == "LOG" else word for word in words))

    assert 2 == ran.code
    assert expected in ran.err
    assert "" == ran.out


def test_a_csv_has_no_parts(tmp_path: Path, loose: str) -> None:
    """Only a raw log is split."""
    table = tmp_path / "a.csv"
    cli("replay", loose, "--csv", str(table))
    ran = flex("--from", str(table), "--from", loose)

    assert 2 == ran.code
    assert "only a raw log has several parts" in ran.err
