"""Condition reports and labels of heads of the bin: everything that is kept, and no more."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
import math
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import pypdfium2
import pytest
import zxingcpp
from helpers import cli, rows
from impedance_helpers import HEADER, METER, SOUND, four, volts_csv
from pages import Outline, asked_by_the_page, browse, faults_of, needs_chromium, needs_java
from PIL import Image
from spares_helpers import document, measured, open_bin, put, put_heads, sheet, spares

from coilmeter.cli.bin_impedance import SCHEMA
from coilmeter.spares.noting import keep_impedance
from coilmeter.spares.reading import find_head
from coilmeter.values.bin import ImpedanceOf

FOUR: Final = "four-channel-rp"
HOSTILE: Final = "<script>alert(1)</script>\"'&\u202e=1+1"
SAID: Final = ("--meter", METER, "--temperature", "22")
NINTH: Final = HEADER + volts_csv({"9": SOUND})
MOVED: Final = (
    "readings=200; duration_s=20; rate_hz=10; least_ohm=299.8; median_ohm=300; "
    "most_ohm=304.2; jump_limit_ohm=0.9; dropouts={dropouts}"
)


def flexings() -> str:
    """Write what flexing showed of two coils of head A."""
    lines = ["head,kind,coil,reading,purpose,time,flex"]
    for coil, word, dropouts in (("1", "steady", 0), ("2", "intermittent", 3)):
        figures = MOVED.format(dropouts=dropouts)
        time = f"2026-03-01T12:0{coil}:00Z"
        lines.append(f'A,{FOUR},{coil},300,free,{time},"{word}; {figures}"')
    return "\n".join(lines) + "\n"


@pytest.fixture
def filled(store: str, tmp_path: Path) -> str:
    """Make a bin of a head of which all is known that can be, and of two plain ones."""
    readings, volts, photo = (tmp_path / name for name in ("A.csv", "A-ac.csv", "face.jpg"))
    ohms = (300.1, 302.0, 297.0, 300.4)
    first = measured("A", *ohms, kind=FOUR)
    again = measured("A", 300.2, 302.1, 330.0, 300.5, kind=FOUR, day="2026-04-01")
    plain = (measured("B", 180.5, 181.0), measured("C", 182.0, None))
    for text in (sheet(first, *plain), flexings(), sheet(again)):
        readings.write_text(text)
        spares(store, "add", str(readings), *SAID, "--lead", "nulled")
    shorted = SOUND.with_shorted(0.01)
    volts.write_text(HEADER + volts_csv(four(SOUND, SOUND, shorted, SOUND)))
    exif = Image.Exif()
    exif[0x010E] = "the shelf at home"
    Image.new("RGB", (1600, 1200), "gray").save(photo, exif=exif)
    spares(store, "impedance", "A", str(volts), *SAID)
    said = ("--face", "visible flat", "--marking", "M-4", "--place", "loose", "--tape-tested")
    spares(store, "note", "A", HOSTILE, *said)
    spares(store, "photo", "A", str(photo))
    spares(store, "use", "A", "--why", "in the left deck")
    return store


def test_a_report_tells_all_that_is_kept(filled: str) -> None:
    """Verdict, coils, AC volts, flexing, face, marking, photo, status, and what changed."""
    page = Outline(spares(filled, "report", "A", code=1))
    record = document(filled, "show", "A", code=1)["record"]
    drawn = [each for tag, each in page.tags if tag == "svg"]

    for expected in (
        record["id"],
        "visible flat",
        "M-4",
        "loose",
        HOSTILE.replace("\u202e", "?"),
        "used, in the left deck",
        "intermittent when moved",
        "shorted turns suspected in coil 3",
        "Measured again",
        "changed",
    ):
        assert expected in page.text
    assert ["Flexing", "Inductance and Q"] == [
        title for title in ("Flexing", "Inductance and Q") if title in page.texts
    ]
    assert 4 == len(drawn)
    assert all(each["role"] == "img" and each["aria-label"] for each in drawn)
    assert any("coil 2 intermittent, 3 x open" in str(each["aria-label"]) for each in drawn)
    assert "(A.csv)" in page.text
    assert "Playing, recording and erasing a tape." not in page.texts
    assert "script" not in {tag for tag, _ in page.tags}


def test_impedance_over_frequency_is_drawn_where_it_was_read(
    filled: str, tmp_path: Path
) -> None:
    """At several tones; what is heard with the drawing is the model by plain algebra."""
    path = tmp_path / "A-tones.csv"
    tones = (volts_csv(four(*[SOUND] * 4), hertz=hertz) for hertz in (1e3, 1e4))
    path.write_text(HEADER + "".join(tones))
    before = Outline(spares(filled, "report", "A", code=1))
    spares(filled, "impedance", "A", str(path), *SAID)
    after = Outline(spares(filled, "report", "A", code=1))
    (heard,) = (
        str(each["aria-label"])
        for tag, each in after.tags
        if tag == "svg" and "over frequency" in str(each["aria-label"])
    )
    at_10k = abs(complex(300.0, 2 * math.pi * 1e4 * 0.1))

    assert "Impedance" not in before.texts
    assert "Impedance" in after.texts
    kohms = re.findall(r"([0-9.]+) kohm and [0-9]+ degrees at 10 kHz", heard)
    assert [pytest.approx(at_10k / 1e3, rel=0.02)] * 4 == [float(each) for each in kohms]


def test_nothing_of_the_camera_is_in_it(filled: str) -> None:
    """The photo is, made small."""
    text = spares(filled, "report", "A", code=1)
    pictures = [each for tag, each in Outline(text).tags if tag == "img"]

    assert ["1200"] == [each["width"] for each in pictures]
    assert str(pictures[0]["src"]).startswith("data:image/jpeg;base64,")
    assert "the shelf at home" not in text


def test_show_as_a_page_is_the_same_report(filled: str) -> None:
    """Two ways to one page."""
    shown = spares(filled, "show", "A", "--as", "html", code=1)

    assert spares(filled, "report", "A", code=1) == shown


def test_several_heads_are_a_sheet_each(filled: str, tmp_path: Path) -> None:
    """In the order that was asked for, each once, by name or code; the worst decides."""
    code = document(filled, "show", "B")["record"]["code"]
    out = tmp_path / "page.html"
    one = cli("spares", "report", "B", "--store", filled, "--out", str(out))
    text = spares(filled, "report", "C", code, "B", code=1)

    assert (0, "") == (one.code, one.out)
    assert 1 == out.read_text().count("<article>")
    assert 2 == text.count("<article>")
    assert text.index("<h1>C</h1>") < text.index("<h1>B</h1>")


@pytest.fixture
def empty(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in an empty folder."""
    folder = tmp_path / "empty"
    folder.mkdir()
    monkeypatch.chdir(folder)
    return folder


@pytest.mark.parametrize(
    ("words", "code", "message"),
    [
        (("report", "nobody"), 2, "no head in the bin is 'nobody'"),
        (("report", "B", "--case", "attic"), 2, "no case is called 'attic'"),
        (("report", "B", "D"), 2, "D cannot be judged"),
        (("label", "B", "C", "--out", "x.svg"), 2, "name a FILE.pdf"),
        (("label", "B", "--out", "x.png"), 2, "FILE.svg or FILE.pdf"),
        (("report", "B", "--out", "no/such/folder.html"), 4, "no/such"),
    ],
)
def test_what_cannot_be_reported(
    filled: str, empty: Path, words: Sequence[str], code: int, message: str
) -> None:
    """Said, and no file is written."""
    with open_bin(filled) as shelf:
        put(shelf, "D", rows("coil,reading\n1,171\n"), kind="gone")
    ran = cli("spares", *words, "--store", filled)

    assert code == ran.code
    assert message in ran.err
    assert [] == list(empty.iterdir())


def test_the_chain_of_a_case_stands_behind_the_head(filled: str, empty: Path) -> None:
    """As in the report from files: drawn, with its case named."""
    case = ("--case", "attic")
    cli("chain", "--fault", "erase", "--track", "2", *case, "--saw", "look=pass")
    page = spares(filled, "report", "B", *case, code=None)

    assert "Case attic, opened" in page
    assert "data:image/svg+xml;base64," in page
    assert [] == list(empty.iterdir())


def test_labels_are_read_by_another_program(filled: str, tmp_path: Path) -> None:
    """A sheet a head: the id of its record (ISO/IEC 18004), and its code in letters."""
    out, beside = tmp_path / "labels.pdf", tmp_path / "beside.pdf"
    spares(filled, "label", "A", "B", "--out", str(out))
    spares(filled, "report", "A", "B", "--label", str(beside), code=1)
    records = [document(filled, "show", name, code=None)["record"] for name in ("A", "B")]
    sheets: Any = pypdfium2.PdfDocument(out)
    read = [zxingcpp.read_barcodes(each.render(scale=300 / 72).to_pil()) for each in sheets]
    letters = [each.get_textpage().get_text_bounded() for each in sheets]

    assert [record["id"] for record in records] == [found[0].text for found in read]
    for record, text in zip(records, letters, strict=True):
        assert f"{record['code'][:4]}-{record['code'][4:]}" in text
    assert out.read_bytes() == beside.read_bytes()


@needs_java
def test_the_page_keeps_the_standard(filled: str, tmp_path: Path) -> None:
    """The checker of the standard's own community finds no fault in it."""
    page = tmp_path / "page.html"
    page.write_text(spares(filled, "report", "A", "B", code=1), encoding="utf-8")

    assert "" == faults_of(page)


@needs_chromium
def test_all_of_a_head_fits_on_one_sheet(filled: str, tmp_path: Path) -> None:
    """With drawings, photo and history it is one page of A4, and asks nobody for anything."""
    page, paper, log = (tmp_path / name for name in ("page.html", "page.pdf", "net.json"))
    page.write_text(spares(filled, "report", "A", code=1), encoding="utf-8")
    browse(page, f"--print-to-pdf={paper}", "--no-pdf-header-footer", f"--log-net-log={log}")
    sheets: Any = pypdfium2.PdfDocument(paper)

    assert 1 == len(sheets)
    assert (595, 842) == tuple(map(round, sheets.get_page_size(0)))
    assert set() == asked_by_the_page(log)


def test_ac_volts_count_everywhere(filled: str, empty: Path) -> None:
    """The verdict of the bin is that of `judge --impedance` on the same evidence.

    It is the same in the list, which the search for donors rests on.
    """
    path, volts = empty / "D.csv", empty / "D-ac.csv"
    taken = measured("D", 300.1, 302.0, 297.0, 300.4, kind=FOUR)
    path.write_text(sheet(taken))
    shorted = SOUND.with_shorted(0.01)
    volts.write_text(HEADER + volts_csv(four(SOUND, SOUND, shorted, SOUND), head="D"))
    spares(filled, "add", str(path), *SAID)
    by_ohms = document(filled, "show", "D")["heads"][0]
    spares(filled, "impedance", "D", str(volts), *SAID)
    shown = document(filled, "show", "D", code=1)["heads"][0]
    words = ("judge", path.name, "--impedance", volts.name, *SAID, "--as", "json")
    (judged,) = json.loads(cli(*words).out)["heads"]
    listed = {each["name"]: each for each in document(filled, "list")["heads"]}

    assert ("matched", "unmatched") == (by_ohms["grade"], shown["grade"])
    assert judged["coils"] == shown["coils"]
    assert judged["grade_reason"] == shown["grade_reason"] == listed["D"]["reason"]
    assert "unmatched" == listed["D"]["grade"]


def test_a_coil_with_shorted_turns_is_replaced_as_it_was(store: str, tmp_path: Path) -> None:
    """The donor has the inductance of its sound siblings, and no suspicion against it."""
    models = {
        "broken": (SOUND, SOUND, SOUND.with_shorted(0.01), SOUND),
        "donor": (SOUND,) * 4,
        "like-the-short": (SOUND.with_shorted(0.01),) * 4,
        "suspect": (SOUND, SOUND.with_shorted(0.01), SOUND, SOUND),
    }
    with open_bin(store) as shelf:
        put_heads(shelf, *(measured(name, *[300.0] * 4, kind=FOUR) for name in models))
    for name, coils in models.items():
        path = tmp_path / f"{name}.csv"
        path.write_text(HEADER + volts_csv(four(*coils), head=name))
        spares(store, "impedance", name, str(path), *SAID)
    words = ("find", "broken", "--grade", "matched", "--grade", "unmatched")
    offers = document(store, *words, "--grade", "recheck")["offers"]

    assert ["donor", "like-the-short"] == [each["name"] for each in offers]
    assert 0.0 == pytest.approx(offers[0]["inductance_deviation"], abs=1e-3)


@pytest.mark.parametrize(
    ("coil", "kept", "why"),
    [
        ("1", "another program's", "no file of AC volts that this program kept"),
        ("1", json.dumps({"schema": SCHEMA, "text": "coil,tone\n1,1 kHz\n"}), "'tone'"),
        ("9", json.dumps({"schema": SCHEMA, "text": NINTH}), "saw '9'"),
    ],
)
def test_ac_volts_that_do_not_fit_are_said(filled: str, coil: str, kept: str, why: str) -> None:
    """The verdict from ohms stands, and among the cautions is why it says no more."""
    found = ImpedanceOf("", coil, "", 10_000.0, 0.1, 0.001, kept)
    before = document(filled, "show", "B")["heads"][0]
    with open_bin(filled) as shelf, shelf.write() as connection:
        keep_impedance(connection, find_head(connection, "B"), found)
    after = document(filled, "show", "B")["heads"][0]
    (said,) = set(after["cautions"]) - set(before["cautions"])

    assert before["grade"] == after["grade"] == "matched"
    assert "say nothing of its verdict" in said
    assert why in said
