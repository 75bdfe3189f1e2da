"""Hostile text in every field that a person or a file can fill: kept, shown, never obeyed."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import csv
import io
import json
import unicodedata
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, Final

import pytest
from helpers import cli, rows
from spares_helpers import document, exported, measured, open_bin, put, sheet, spares

from coilmeter.spares.importing import import_lines
from coilmeter.spares.store import Bin

TEXTS: Final = {
    "html": "<script>alert(1)</script><img src=x onerror=alert(2)>",
    "attribute": "\"><svg onload=alert(1)> ' onmouseover=",
    "formula": '=HYPERLINK("evil","click")',
    "command": "@SUM(1+1)*cmd|' /C calc'!A0",
    "minus": "-2+3+cmd|' /C calc'!A0",
    "escape": "\x1b]0;owned\x07\x1b[31mred\x1b[2J",
    "newline": "one\ntwo\r\nthree\ttab",
    "right to left": "\u202etxt.exe\u2066 \u200b\u061c",
    "traversal": "../../../../etc/passwd",
    "windows": "C:\\Windows\\system32\\..\\x:y|z",
    "sql": "'); DROP TABLE heads; --",
    "like": "100%_\\",
    "format": "%s %n {0} {name.__class__} $(id) `id`",
    "markdown": "[x](javascript:alert(1)) | **b** `c` <b>",
    "unicode": "Kopf \u2126 \U0001f600 e\u0301",
    "option": "--store",
}
SHOWN: Final = ("table", "markdown", "csv", "html")


def named(text: str) -> str:
    """Cut a text to the length of a name."""
    return text[:100]


def bin_with(store: str, text: str) -> Bin:
    """Make a bin with one head that has a text in every field that takes any."""
    shelf = open_bin(store)
    taken = rows(sheet(measured("T", 180.0, 181.0)))
    put(shelf, named(text), taken)
    name = shelf_code(store)
    words = ("--marking", text, "--place", "loose", "--", name, text)
    ran = cli("spares", "note", "--store", store, *words)
    used = cli("spares", "use", "--store", store, f"--why={text}", name)
    if ran.code or used.code:
        raise AssertionError(ran.err + used.err)
    return shelf


def shelf_code(store: str) -> str:
    """Give the code of the only head."""
    (head,) = document(store, "list")["heads"]
    return str(head["code"])


@pytest.mark.parametrize("what", TEXTS)
def test_it_comes_back_as_it_was(store: str, what: str) -> None:
    """Through JSON, and through another bin: not a character is another one."""
    text = TEXTS[what]
    with bin_with(store, text) as shelf:
        record = document(store, "show", shelf_code(store))["record"]
        lines = exported(shelf)
    with Bin.empty() as other:
        with other.write() as connection:
            import_lines(connection, lines, "x")
        again = exported(other)

    assert named(text) == record["name"]
    assert [(text, text)] == [(note["marking"], note["text"]) for note in record["notes"]]
    assert text == record["events"][0]["reason"]
    assert lines[1:] == again[1:]


@pytest.mark.parametrize("shape", SHOWN)
@pytest.mark.parametrize("what", TEXTS)
def test_it_is_shown_and_does_nothing(store: str, what: str, shape: str) -> None:
    """No control character reaches a terminal, no formula a spreadsheet, no mark-up a page."""
    with bin_with(store, TEXTS[what]):
        code = shelf_code(store)
    words = [("list",), ("list", "--status", "used"), ("show", code), ("history", code)]
    for each in words:
        check(shape, spares(store, *each, "--as", shape, code=None))


@pytest.mark.parametrize("what", TEXTS)
def test_it_is_handed_on_and_does_nothing(store: str, what: str, tmp_path: Path) -> None:
    """Neither in a report, nor on a label, nor in the words of a learnt band."""
    with bin_with(store, TEXTS[what]):
        code = shelf_code(store)
    svg, pdf = tmp_path / "label.svg", tmp_path / "label.pdf"
    check("html", spares(store, "report", code, "--label", str(svg), code=None))
    spares(store, "label", code, "--out", str(pdf))
    learn = ("bands", "learn", "--from-bin", f"--text={TEXTS[what]}", "--store", store)
    learnt = cli(*learn)

    assert b"<script" not in svg.read_bytes().lower()
    assert {svg, pdf} == {each for each in tmp_path.iterdir() if "label" in each.name}
    assert 2 == learnt.code
    check("table", learnt.err)


def check(shape: str, out: str) -> None:
    """Refuse an output that would be obeyed by what reads it."""
    if shape == "csv":
        cells = [cell for line in csv.reader(io.StringIO(out)) for cell in line]
        numbers = [cell for cell in cells if is_number(cell)]
        bad = [
            cell
            for cell in cells
            if cell.startswith(("=", "+", "-", "@", "\t", "\r")) and cell not in numbers
        ]
        assert [] == bad
        return
    odd = {
        char
        for char in out
        if unicodedata.category(char) in {"Cc", "Cf", "Zl", "Zp"} and char != "\n"
    }
    assert set() == odd
    if shape == "html":
        page = Page()
        page.feed(out)

        assert [] == page.active


class Page(HTMLParser):
    """Reads a page, and remembers what in it would do something by itself."""

    def __init__(self) -> None:
        super().__init__()
        self.active: list[object] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Look at one element."""
        wrong = [
            name
            for name, value in attrs
            if name.startswith("on")
            or (name in {"src", "href"} and not (value or "").startswith(("data:image/", "#")))
        ]
        if wrong or tag in {"script", "iframe", "object", "embed", "base", "form"}:
            self.active.append((tag, attrs))


def is_number(cell: str) -> bool:
    """Whether a cell is a number."""
    try:
        float(cell)
    except ValueError:
        return False
    return True


@pytest.mark.parametrize("what", TEXTS)
def test_it_is_found_by_its_own_text(store: str, what: str) -> None:
    """As a text that is looked for, it is nothing but text."""
    text = TEXTS[what]
    with bin_with(store, text):
        found = [
            len(document(store, "list", f"--text={each}")["heads"])
            for each in (text, "no such text %")
        ]

    assert [1, 0] == found


@pytest.mark.parametrize("what", TEXTS)
def test_as_a_reference_it_names_its_head_or_nothing(store: str, what: str) -> None:
    """A name with whatever in it is a name; of another text nothing is found."""
    text = named(TEXTS[what])
    with bin_with(store, text):
        ran = cli("spares", "show", "--store", store, "--", text)
        other = cli("spares", "show", "--store", store, "--", f"{text}!")

    assert (0, 2) == (ran.code, other.code)
    assert "Traceback" not in ran.err + other.err
    assert not {char for char in other.err if unicodedata.category(char) == "Cc"} - {"\n"}


def megabyte(what: str) -> dict[str, Any]:
    """Give a head with a text of a megabyte in one field."""
    with Bin.empty() as shelf:
        put(shelf, "T", rows(sheet(measured("T", 180.0))))
        head: dict[str, Any] = json.loads(exported(shelf)[1])["head"]
    head.pop("evidence")
    long = "x" * 1_000_000
    places: dict[str, Any] = {
        "name": head,
        "kind": head,
        "reading": head["sittings"][0]["readings"][0],
        "note": head["sittings"][0]["readings"][0],
        "source": head["sittings"][0],
    }
    places[what][what] = long
    return head


@pytest.mark.parametrize("what", ["name", "kind", "reading", "note", "source"])
def test_a_megabyte_in_a_field(store: str, what: str) -> None:
    """Refused by line and place, with a message that is short itself."""
    lines = b'{"schema":"coilmeter-bin/1"}\n'
    lines += (
        json.dumps({"head": megabyte(what)}).encode() + b'\n{"end":{"heads":1,"proofs":0}}\n'
    )
    ran = cli("spares", "import", "-", "--store", store, stdin=lines)

    assert 2 == ran.code
    assert f".{what}: saw 'xxx" in ran.err
    assert len(ran.err) < 1000


def test_a_megabyte_on_the_command_line(store: str, tmp_path: Path) -> None:
    """As name, note, reason, text, reference, place: one message each, no fault."""
    with open_bin(store) as shelf:
        put(shelf, "T", rows(sheet(measured("T", 180.0))))
    long = "x" * 1_000_000
    bench = tmp_path / "bench.csv"
    bench.write_text(f"head,coil,reading\n{long},1,171\n")
    codes = []
    for words in (
        ("show", long),
        ("note", "T", long),
        ("use", "T", "--why", long),
        ("add", str(bench)),
        ("import", long),
        ("backup", long),
    ):
        ran = cli("spares", *words, "--store", store)
        codes.append(ran.code)
        assert "fault of this program" not in ran.err
        assert "Traceback" not in ran.err
    far = cli("spares", "list", "--store", long)

    assert {2, 4} >= {*codes, far.code}
    assert 2 == cli("spares", "list", "--text", long, "--store", store).code


def test_a_store_with_hostile_names(tmp_path: Path) -> None:
    """A file of any name that the system allows is a bin like any other."""
    for number, text in enumerate(
        ("bin ?#%&.sqlite", "=1+1", "a;b'c\"d", "\u202ebin", "100%s")
    ):
        store = str(tmp_path / str(number) / text)
        Path(store).parent.mkdir()
        spares(store, "add", "-", stdin=sheet(measured("T", 180.0, 181.0)).encode())

        assert Path(store).is_file()
        assert [] == document(store, "verify")["findings"]
