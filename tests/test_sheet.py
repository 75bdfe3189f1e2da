"""Readings files: what a person may write, and what is told of every mistake in them."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import io
import math
from pathlib import Path

import pytest
from helpers import rows

from coilmeter.errors import InputError
from coilmeter.sources.sheet import (
    COLUMNS,
    Sheet,
    parse_sheet,
    read_sheet,
    read_sheets,
    rows_of,
)
from coilmeter.sources.sheet_row import STANDARD_INPUT
from coilmeter.values import CASE, FlexEvidence, FlexFigures, Purpose, Role, Stability

LEAST = b"coil,reading\n1,212.4\n"


def told(text: str | bytes) -> list[str]:
    """Give every mistake of a file as text."""
    data = text.encode() if isinstance(text, str) else text
    return [str(mistake) for mistake in parse_sheet(data, "bench.csv").mistakes]


def refused(data: bytes, name: str = "bench.csv") -> str:
    """Give the message with which a whole file is refused."""
    with pytest.raises(InputError) as caught:
        parse_sheet(data, name)
    return str(caught.value)


def test_the_least_file() -> None:
    """Two columns; the head takes the name of the file."""
    (row,) = parse_sheet(LEAST, "shelf/K-07.csv").rows

    assert ("K-07", "1", 212.4, 2) == (row.head, row.coil, row.reading.ohm, row.line)
    assert ("", None, None, 1, 0.0) == (
        row.kind,
        row.role,
        row.range_ohm,
        row.count,
        row.scatter_ohm,
    )


def test_every_column() -> None:
    """All columns, in an order of their own, with capitals and blanks in the header."""
    text = (
        " Note , raw,proof,scatter,count,time,temperature,lead,meter,range,reading,purpose,"
        "pins,role,coil,kind,HEAD,Flex\n"
        'fresh,0A,key,"0,2 ohm",5,2026-03-01T14:05:00Z,23,nulled,m,400 ohm,"212,4",COIL,'
        " 1 - 2 ,rp,1,k,K-07,noisy; jumps=4\n"
    )
    (row,) = rows(text)

    header = text.partition("\n")[0].lower().split(",")

    assert sorted(COLUMNS) == sorted(name.strip() for name in header)
    assert ("K-07", "k", "1", ("1", "2")) == (row.head, row.kind, row.coil, row.pins)
    assert (Role.RECORD_PLAYBACK, Purpose.COIL) == (row.role, row.purpose)
    assert (212.4, 400.0, 5, 0.2) == (
        row.reading.ohm,
        row.range_ohm,
        row.count,
        row.scatter_ohm,
    )
    assert ("m", "nulled", "23") == (row.meter, row.lead, row.temperature)
    assert ("2026-03-01T14:05:00Z", "fresh", "key", "0A") == (
        row.time,
        row.note,
        row.proof,
        row.raw,
    )
    assert FlexEvidence(Stability.NOISY, FlexFigures(jumps=4)) == row.flex


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_line_ends_and_byte_order_mark(end: bytes, mark: bytes) -> None:
    """Files of all systems read alike, with the right line numbers."""
    data = mark + LEAST.replace(b"\n", end) + b"# done" + end + b"2,x" + end
    sheet = parse_sheet(data, "bench.csv")

    assert ["1"] == [row.coil for row in sheet.rows if not row.broken]
    assert [4] == [mistake.line for mistake in sheet.mistakes]


@pytest.mark.parametrize(
    "between",
    [
        "",
        "\n",
        ",\n",
        "# a comment\n",
        '# a "quoted, one\n',
        "   # indented, too\n",
        "  \n",
        " , \n",
    ],
)
def test_blank_lines_and_comments(between: str) -> None:
    """Blank lines, also of blanks only, and comments are skipped wherever they stand."""
    found = rows(f"{between}coil,reading\n{between}1,212.4\n{between}2,210.1\n")

    assert ["1", "2"] == [row.coil for row in found]


@pytest.mark.parametrize("comment", ['#,"left open', '# on,"K-07', '#"'])
def test_a_quote_in_a_comment_swallows_no_reading(comment: str) -> None:
    """A quote that a comment opens does not hide the readings under it."""
    found = rows(f"coil,reading\n1,212.4\n{comment}\n2,210.1\n3,211.0\n")

    assert ["1", "2", "3"] == [row.coil for row in found]


def test_a_quote_left_open_is_told() -> None:
    """A cell whose quote never closes would swallow the rest: the line is told."""
    mistakes = told('coil,reading,note\n1,212.4,"left open\n2,210.1,\n3,211.0,\n')

    assert mistakes
    assert "bench.csv:2" in mistakes[0]


@pytest.mark.parametrize(
    ("line", "place"),
    [
        ("1,x,,,,,,,,", "reading: saw 'x', expected one reading"),
        ("1,,,,,,,,,", "reading: saw '', expected one reading"),
        ("1,nan,,,,,,,,", "reading: saw 'nan'"),
        ("1,5 V,,,,,,,,", "reading: saw '5 V'"),
        ("1,4m7,,,,,,,,", "reading: saw '4m7', expected ohm, kohm or Mohm ('m' means milli"),
        (",5,,,,,,,,", "coil: saw neither a coil nor pins"),
        ("1,5,guess,,,,,,,", "purpose: saw 'guess', expected one of: coil, coil-to-coil"),
        ("1,5,,boss,,,,,,", "role: saw 'boss', expected one of: rp, record/playback"),
        ("1,5,,,7,,,,,", "pins: saw '7', expected two different pins"),
        ("1,5,,,7-7,,,,,", "pins: saw '7-7', expected two different pins"),
        ("1,5,,,1-2-3,,,,,", "pins: saw '1-2-3', expected two different pins"),
        ("1,5,,,,x,,,,", "range: saw 'x', expected the end of a range"),
        ("1,5,,,,OL,,,,", "range: saw 'OL', expected the end of a range"),
        ("1,5,,,,-400,,,,", "range: saw '-400', expected the end of a range"),
        ("1,5,,,,0,,,,", "range: saw '0', expected the end of a range"),
        ("1,5,,,,1e305 Mohm,,,,", "range: saw '1e305 Mohm'"),
        ("1,5,,,,,noon,,,", "time: saw 'noon', expected RFC 3339"),
        ("1,5,,,,,,0,,", "count: saw '0', expected how many readings"),
        ("1,5,,,,,,x,,", "count: saw 'x', expected how many readings"),
        ("1,5,,,,,,\u00b2,,", "count: saw '²', expected how many readings"),
        ("1,5,,,,,,2,-1,", "scatter: saw '-1', expected a standard deviation"),
        ("1,5,,,,,,2,x,", "scatter: saw 'x', expected a standard deviation"),
        ("1,5,,,,,,2,OL,", "scatter: saw 'OL', expected a standard deviation"),
        ("1,5,,,,,,2,beep,", "scatter: saw 'beep', expected a standard deviation"),
        ("1,5,coil-to-coil,,,,,,,", "coil: saw '1', expected two coils"),
        ("1-1,5,coil-to-coil,,,,,,,", "coil: saw '1-1', expected two coils"),
        ("1,5,,,,,,,", "cells: saw 9 cells, expected 10"),
        ("1,1,2 kohm,,,,,,,,", "cells: saw 11 cells, expected 10"),
    ],
)
def test_mistakes_of_one_row(line: str, place: str) -> None:
    """Each mistake tells file, line, column, what was seen and what was expected."""
    mistakes = told(f"coil,reading,purpose,role,pins,range,time,count,scatter,note\n{line}\n")

    assert [f"bench.csv:2: {place}"] == [mistake[: len(place) + 13] for mistake in mistakes]


def test_all_mistakes_together() -> None:
    """Every mistake of a file in one go, several of one row included."""
    mistakes = told(
        "coil,reading,role,pins,time\n1,x,boss,7,noon\n2,5,,,\n3,-,,1-2,\n,5,,,never\n"
    )

    assert [2, 2, 2, 2, 4, 5, 5] == [int(m.split(":")[1]) for m in mistakes]


@pytest.mark.parametrize(
    ("header", "place"),
    [
        ("coil,resistance", "saw 'resistance', expected a column of: head, kind"),
        ("coil", "saw no column 'reading'"),
        ("reading", "saw neither 'coil' nor 'pins'"),
        ("coil,reading,Reading", "saw 'reading' twice, expected each column once"),
        ("coil,reading,", "saw '', expected a column of"),
    ],
)
def test_mistakes_of_the_header(header: str, place: str) -> None:
    """Missing, unknown and doubled columns."""
    mistakes = told(f"{header}\n1,5\n")

    assert any(mistake.startswith(f"bench.csv:1: header: {place}") for mistake in mistakes)


def test_semicolons_are_told_apart() -> None:
    """A spreadsheet that writes a decimal comma writes semicolons: the message says so."""
    mistakes = told("coil;reading\n1;212,4\n")

    assert "comma" in " ".join(mistakes)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "there is nothing in it"),
        (b"\n\n# only a comment\n", "there is nothing in it"),
        (b"\xef\xbb\xbf", "there is nothing in it"),
        (b"coil,reading\n", "a header, and no reading under it"),
        (b"coil,reading\n\n#\n", "a header, and no reading under it"),
        ("coil,reading\n1,5\n".encode("utf-16"), "this is not text (byte 4 is zero)"),
        (b"\x7fELF\0\0\0", "this is not text (byte 5 is zero)"),
        (b"coil,reading\n1,5 \xb5ohm\n", ":2: byte 0xb5 is not UTF-8 text"),
    ],
)
def test_files_that_are_no_readings_file(data: bytes, words: str) -> None:
    """Empty, binary, of another encoding: refused with what to do."""
    message = refused(data)

    assert f"bench.csv: {words}" in message or f"bench.csv{words}" in message
    assert "next:" in message


def test_a_line_that_is_no_csv_is_a_mistake_of_its_own() -> None:
    """A cell past what a CSV reader takes is told with its line, beside other mistakes."""
    sheet = parse_sheet(b"coil,reading\n1,x\n1," + b"5" * 200_000 + b"\n", "bench.csv")
    lines = [(mistake.line, mistake.place) for mistake in sheet.mistakes]

    assert [(2, "reading"), (3, "line")] == sorted(lines)


def test_an_empty_file_may_be_fine() -> None:
    """A journal that was only begun holds a header and no reading."""
    sheet = parse_sheet(b"coil,reading\n", "bench.csv", empty_is_fine=True)

    assert Sheet([], []) == sheet


def test_long_cells() -> None:
    """A cell of more than 10 000 characters is no note of a person."""
    (mistake,) = told("coil,reading,note\n1,5," + "x" * 10_001 + "\n")

    assert "more than 10 000 characters" in mistake
    assert 200 > len(mistake)


@pytest.mark.parametrize(
    ("coil", "purpose", "sides"),
    [
        ("1", "", ("1", "")),
        ("1", "coil-to-case", ("1", CASE)),
        ("1-case", "", ("1", CASE)),
        ("1 to Case", "", ("1", CASE)),
        ("1/case", "coil-to-case", ("1", CASE)),
        ("1-2", "coil-to-coil", ("1", "2")),
        ("1 to 2", "coil-to-coil", ("1", "2")),
        ("L / R", "coil-to-coil", ("L", "R")),
        ("L R", "coil-to-coil", ("L", "R")),
        ("showcase", "", ("showcase", "")),
    ],
)
def test_sides(coil: str, purpose: str, sides: tuple[str, str]) -> None:
    """One coil, two coils, a coil and the case, as people write them."""
    (row,) = rows(f"coil,reading,purpose\n{coil},OL 40 Mohm,{purpose}\n")

    assert sides == (row.coil, row.other)


@pytest.mark.parametrize("text", ["1-2", "1 - 2", "1/2", "1:2", "1 to 2", "1 2", '"1,2"'])
def test_pins(text: str) -> None:
    """Two pins, however they are set apart."""
    (row,) = rows(f"pins,reading\n{text},5\n")

    assert ("1", "2") == row.pins


def test_ranges() -> None:
    """The end of a range, or a meter that ranges by itself."""
    found = rows("coil,reading,range\n1,OL,40M\n2,OL,Auto\n3,OL,\n4,5,4k\n")

    assert [4e7, math.inf, None, 4e3] == [row.range_ohm for row in found]


def test_a_null_needs_no_coil_and_may_be_in_milliohm() -> None:
    """A lead null belongs to a head, or to the whole file."""
    found = rows("coil,reading,purpose,head\n,150 mohm,lead-null,\n,0.2,lead-null,K-07\n")

    assert [("", 0.15), ("K-07", 0.2)] == [(row.head, row.reading.ohm) for row in found]


def test_files_and_patterns(tmp_path: Path) -> None:
    """Names, patterns, and a dash for standard input, in the order given."""
    for name in ("b.csv", "a.csv", "c [1].csv"):
        (tmp_path / name).write_bytes(LEAST)
    names = ["-", str(tmp_path / "?.csv"), str(tmp_path / "c [1].csv")]
    found, mistakes = rows_of(read_sheets(names, io.BytesIO(LEAST)))

    assert ["1", "a", "b", "c [1]"] == [row.head for row in found]
    assert [] == mistakes
    assert STANDARD_INPUT == found[0].path


def test_files_that_are_not_there(tmp_path: Path) -> None:
    """A missing file, a folder, a pattern that fits none, a name no system allows."""
    for name, words in (
        (str(tmp_path / "none.csv"), "cannot be read"),
        (str(tmp_path), "cannot be read"),
        (str(tmp_path / "*.csv"), "no file fits this pattern"),
        ("x" * 300, "cannot be read"),
    ):
        with pytest.raises(InputError) as caught:
            list(read_sheets([name], io.BytesIO()))

        assert words in str(caught.value)
        assert "next:" in str(caught.value)


def test_mistakes_of_several_files_come_together(tmp_path: Path) -> None:
    """The first file's mistakes do not hide the second's."""
    for name in ("a.csv", "b.csv"):
        (tmp_path / name).write_text("coil,reading\n1,x\n", "utf-8")
    sheets = [read_sheet(tmp_path / name) for name in ("a.csv", "b.csv")]
    found, mistakes = rows_of(sheets)

    assert [] == [row for row in found if not row.broken]
    assert ["a.csv", "b.csv"] == [Path(mistake.path).name for mistake in mistakes]
