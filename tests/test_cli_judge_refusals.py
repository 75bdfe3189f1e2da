"""What `coilmeter judge` refuses, and that it never breaks."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from pathlib import Path

import pytest
from helpers import Ran, cli
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from strategies import sheets

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


@pytest.mark.parametrize("where", ["missing/out.csv", "folder", ".", "..", "/", "x" * 300])
def test_out_that_cannot_be_written(
    tmp_path: Path, where: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No such folder, a folder in place of a file, a name no system allows: exit code 4."""
    (tmp_path / "folder").mkdir()
    monkeypatch.chdir(tmp_path)
    before = sorted(path.name for path in tmp_path.iterdir())
    ran = judge(tmp_path, SOUND, *TWO, "--out", where)

    assert 4 == ran.code
    assert "cannot be written" in ran.err
    assert "next: nothing was changed there" in ran.err
    assert sorted([*before, "p.csv"]) == sorted(path.name for path in tmp_path.iterdir())


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "there is nothing in it"),
        (b"coil,reading\n", "no reading under it"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "this is not text"),
        ("coil,reading\n1,5\n".encode("utf-16"), "this is not text"),
        (b"coil,reading\n1,5 \xb5ohm\n", "is not UTF-8 text"),
        (b"coil\n1\n", "no column 'reading'"),
        (b"coil,reading\n1,five\n", "p.csv:2: reading: saw 'five'"),
        (b"coil,reading\n1,5 V\n", "p.csv:2: reading: saw '5 V'"),
        (b"coil,reading\n1,nan\n", "p.csv:2: reading: saw 'nan'"),
        (b"coil,reading\n1,inf\n", "p.csv:2: reading: saw 'inf'"),
        (b"coil,reading\n1,-5\n", "p.csv:2: reading: saw '-5'"),
        (b"coil,reading\n1,4m7\n", "'m' means milli"),
        (b"coil,reading\n1,9**9**9\n", "p.csv:2: reading: saw '9**9**9'"),
        (b"coil,reading\n1,171\n1,172\n", "second time"),
        (b"coil,reading,kind\n1,171,nope\n", "saw 'nope', expected a head kind: "),
        (b"coil,reading,meter\n1,171,nope\n", "saw 'nope', expected a meter: "),
        (b"coil,reading,kind\n7,171,two-channel-rp\n", "saw '7', expected a coil of two-cha"),
        (b"coil,reading\n1,0e999\n", "saw '0e999'"),
        (b"coil,reading\n1,1e305 Mohm\n", "saw '1e305 Mohm'"),
        (b"coil,reading\n1,OL 1e305 Mohm\n", "saw 'OL 1e305 Mohm'"),
    ],
)
def test_bad_files(tmp_path: Path, data: bytes, words: str) -> None:
    """Each bad input: one message, exit code 2, nothing judged, no traceback."""
    for shape in ("table", "json"):
        ran = judge(tmp_path, data, "--as", shape)

        assert (2, "") == (ran.code, ran.out)
        assert words in ran.err
        assert "next:" in ran.err


def test_all_mistakes_of_all_files_together(tmp_path: Path) -> None:
    """Two files, three mistakes, one message."""
    first = written(tmp_path, "a.csv", "coil,reading\n1,x\n1,5\n1,5\n")
    second = written(tmp_path, "b.csv", "coil,reading,meter\n1,5,nope\n")
    ran = cli("judge", str(first), str(second))

    assert 2 == ran.code
    for words in ("a.csv:2: reading", "a.csv:4: coil", "b.csv:2: meter", "3 mistakes; nothing"):
        assert words in ran.err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--kind", "nope"), "no head kind is called 'nope'"),
        (("--band", "nope"), "no band is called 'nope'"),
        (("--meter", "nope"), "no meter is called 'nope'"),
        (("--lead", "nope"), "--lead"),
        (("--lead", "9 ohm"), "--lead"),
        (("--temperature", "hot"), "--temperature"),
        (("--leaking-below", "5"), "--leaking-below"),
        (("--leaking-below", "5 V"), "--leaking-below"),
        (("--leaking-below", "20 Mohm"), "leaks below 20 Mohm"),
        (("--confidence", "0.5"), "--confidence: saw 0.5"),
        (("--confidence", "2"), "--confidence"),
        (("--confidence", "nan"), "confidence"),
        (("--as", "pdf"), "--as"),
        (("--colour", "red"), "--colour"),
        (("--catalog", "nowhere.toml"), "nowhere.toml: cannot be read"),
    ],
)
def test_bad_options(tmp_path: Path, words: tuple[str, ...], told: str) -> None:
    """A wrong option is named in the message; exit code 2, nothing judged."""
    ran = judge(tmp_path, SOUND, *words)

    assert (2, "") == (ran.code, ran.out)
    assert told in ran.err


@pytest.mark.parametrize("name", ["none.csv", "*.none", "", "x" * 300, "x" * 300 + "*"])
def test_files_that_are_not_there(name: str) -> None:
    """A file or pattern that is not there, and names no system allows."""
    ran = cli("judge", name)

    assert (2, "") == (ran.code, ran.out)
    assert "next:" in ran.err


def test_inconsistent_limits_in_a_users_catalog(tmp_path: Path) -> None:
    """Limits out of order are told with their key path, all mistakes of the file together."""
    mine = written(
        tmp_path, "mine.toml", BAND.format("a", "400 ohm") + BAND.format("b", "0.5 ohm")
    )
    ran = judge(tmp_path, SOUND, "--catalog", str(mine))

    assert (2, "") == (ran.code, ran.out)
    for band in ("bands.a", "bands.b"):
        assert f"mine.toml: {band}: saw" in ran.err
    assert 2 == ran.err.count("shorted_below < low < high < open_above")


def test_hostile_names_in_an_error(tmp_path: Path) -> None:
    """Control and direction characters of a file do not reach the screen in a message."""
    text = "head,kind,coil,reading\n\x1b[31mH,\u202ekind,\x07,\x1b[2J\n\x1b[31mH,,\x9b1,5\n"
    for extra in ("", "\x1b[31mH,,\x9b1,5\n"):
        ran = judge(tmp_path, text + extra)

        assert [] == sorted({char for char in ran.err if not char.isprintable()} - {"\n"})


@given(st.binary(max_size=400))
@hypothesis_settings(max_examples=60, deadline=None)
def test_any_bytes_as_a_file(data: bytes) -> None:
    """Any bytes at all are judged or refused: exit codes 0, 1, 2 and no exception."""
    ran = cli("judge", "-", "--as", "json", stdin=data)

    assert ran.code in {0, 1, 2}


@given(
    sheets(),
    st.sampled_from(["", "two-channel-rp", "two-channel-rp-common"]),
    st.sampled_from(["json", "csv", "markdown", "table"]),
)
@hypothesis_settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
def test_any_sheet(data: bytes, kind: str, shape: str) -> None:
    """Any CSV with the right columns is judged or refused, in any shape."""
    words = ("--kind", kind) if kind else ()
    ran = cli("judge", "-", *words, "--as", shape, stdin=data)

    assert ran.code in {0, 1, 2}
    assert (ran.code == 2) == (ran.out == "")


def test_nothing_to_judge_is_told(tmp_path: Path) -> None:
    """A file of nulls and free readings only is no head that is all sound."""
    ran = judge(tmp_path, "coil,reading,purpose\n,0.2,lead-null\n3,171,free\n")

    assert (2, "") == (ran.code, ran.out)
    assert "no reading of a coil" in ran.err
