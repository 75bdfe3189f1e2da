"""The condition report: what it owes a buyer, in a page that stands by itself."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import html
import json
import re
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from helpers import cli
from pages import Outline, asked_by_the_page, browse, faults_of, needs_chromium, needs_java

from coilmeter.report.listing import Listing, listing_csv, listing_json, listing_page
from coilmeter.report.page import NEVER_BY_OHMS

HEADER = "head,kind,coil,purpose,reading,temperature,time\n"
ROWS = f"""{HEADER}shelf-3,four-channel-rp,1,,186.3 ohm,22 +/- 1,2026-11-20T10:00:00+00:00
shelf-3,four-channel-rp,2,,OL 40 Mohm,22 +/- 1,
shelf-3,four-channel-rp,3,,149.4 ohm,22 +/- 1,
shelf-3,four-channel-rp,4,,187.1 ohm,22 +/- 1,
shelf-3,four-channel-rp,1,coil-to-case,OL 40 Mohm,,
shelf-3,four-channel-rp,4,coil-to-case,220.7 kohm,,2026-11-21T09:00:00+00:00
shelf-3,four-channel-rp,1-2,coil-to-coil,OL 40 Mohm,,
shelf-3,four-channel-rp,,lead-null,0.2 ohm,,
"""
HOSTILE = "<script>alert(1)</script>\"'&\u202e=1+1"


@pytest.fixture
def rows(tmp_path: Path) -> Path:
    """Write the readings of a head with every sort of finding."""
    path = tmp_path / "rows.csv"
    path.write_text(ROWS, encoding="utf-8")
    return path


def report(rows: Path, *words: str) -> str:
    """Write a report to standard output."""
    ran = cli("report", str(rows), "--meter", "handheld-4000", *words)
    assert ran.code in {0, 1}, ran.err
    return ran.out


def test_a_report_says_what_a_buyer_is_owed(rows: Path) -> None:
    """Marking, pins, each coil as read and at 20 degC, isolation, meter, day, temperature."""
    text = Outline(
        report(rows, "--marking", "R-8", "--face", "polished", "--place", "loose",
               "--demagnetised", "--note", "one pin straightened")
    ).text  # fmt: skip

    for owed in (
        "marking R-8",
        "pins 8 and the case",
        "loose or fitted loose",
        "face, looked at polished",
        "demagnetised yes",
        "tape-tested not stated",
        "note one pin straightened",
        "1 record/playback 1-2 186.3 ohm 184.6 +/- 2.1 ohm intact",
        "open (more than 40 Mohm)",
        "mismatched -19.",
        "off the median of the 3 coils measured",
        "4 to case",
        "leaking",
        "meter handheld-4000; hand-held, 4000 count",
        "proof of the meter none on record",
        "leads 0.20 ohm with the clips together, taken off",
        "temperature 22 +/- 1 degC",
        "taken 2026-11-20 to 2026-11-21, 8 readings",
        "95 % probability",
        "Isolation not read: 2 to 3, 3 to 4, 2 to case, 3 to case.",
    ):
        assert owed in text


def test_flexing_is_drawn_where_it_was_done(tmp_path: Path) -> None:
    """How far each coil strayed, in words for those who hear the page; none, no drawing."""
    path = tmp_path / "rows.csv"
    figures = "least_ohm=170.8; median_ohm=171; most_ohm=175.2; jump_limit_ohm=0.9; dropouts=3"
    path.write_text(
        "head,coil,reading,purpose,flex\nA,1,171 ohm,coil,\nA,2,172 ohm,coil,\n"
        f'A,1,171,free,"intermittent; {figures}"\nA,2,172,free,steady\n'
    )
    drawn = [
        str(attributes["aria-label"])
        for tag, attributes in Outline(report(path)).tags
        if tag == "svg"
    ]
    path.write_text("head,coil,reading\nA,1,171 ohm\nA,2,172 ohm\n")
    plain = Outline(report(path))

    assert (
        "Readings of each coil as its joint was moved: coil 1 intermittent, 3 x open, "
        "170.8 ohm to 175.2 ohm"
    ) in drawn
    assert "Flexing" not in plain.texts


def test_the_accuracy_that_a_meter_states_is_told(rows: Path, tmp_path: Path) -> None:
    """Of the ranges that were used (handheld-4000 as in the reference data), or of none."""
    path = tmp_path / "ranges.csv"
    path.write_text("coil,reading,range\n1,171.3,400 ohm\n2,OL,40 Mohm\n")
    of_ranges = Outline(report(path)).text
    unstated = Outline(cli("report", str(rows)).out).text

    assert "states +/- 0.8 % + 0.5 ohm on the 400 ohm range, 1.2 % + 100 kohm" in of_ranges
    assert "400 ohm, 40 Mohm" in of_ranges
    assert "states no ranges: 1 % + 5 counts taken for it" in unstated


def test_drawings_on_one_page_do_not_share_ids(tmp_path: Path) -> None:
    """Not those of two heads that read alike, either; what refers to one finds it."""
    path = tmp_path / "two.csv"
    path.write_text("head,coil,reading\nA,1,171 ohm\nB,1,171 ohm\n")
    page = report(path)
    ids = [str(each["id"]) for _, each in Outline(page).tags if each.get("id")]
    referred = set(re.findall(r'(?:url\(#|href="#)([^)"]+)', page))

    assert len(set(ids)) == len(ids) > 0
    assert referred <= set(ids)


def test_a_report_says_what_was_not_tested(rows: Path) -> None:
    """What was done is left out of the list, and nothing else."""
    bare = Outline(report(rows)).text
    done = Outline(report(rows, "--face", "polished", "--demagnetised", "--tape-tested")).text

    assert all(line in bare for line in NEVER_BY_OHMS)
    assert "The face of the head: nobody looked" in bare
    assert "Playing, recording and erasing a tape." in bare
    assert NEVER_BY_OHMS[2] not in done
    assert "Playing, recording" not in done
    assert "nobody looked" not in done
    assert NEVER_BY_OHMS[1] in done


@pytest.mark.parametrize("word", ["as new", "refurbished", "like new", "reconditioned"])
def test_words_that_are_reserved_are_not_used(rows: Path, word: str) -> None:
    """IEC 62309 and BS 8887 keep such words for more than a bench reading."""
    assert word not in report(rows).lower()


def test_a_page_stands_by_itself(rows: Path) -> None:
    """Nothing in it is loaded from elsewhere, and its policy forbids it."""
    page = report(rows)
    outline = Outline(page)
    sources = [
        value
        for _, attributes in outline.tags
        for name, value in attributes.items()
        if name in {"src", "href", "srcset", "data", "action"}
        and not (value or "").startswith("#")
    ]

    assert [] == sources
    assert {"script", "iframe", "object", "link", "form"} & {
        tag for tag, _ in outline.tags
    } == set()
    assert "default-src 'none'" in page
    assert "@import" not in page
    assert "url(" not in re.sub(r"url\(#\w+\)", "", page)


def test_tables_and_drawings_are_named(rows: Path) -> None:
    """Whoever hears the page is told what each table and drawing is."""
    tags = Outline(report(rows)).tags
    names = [tag for tag, _ in tags]
    drawings = [attributes for tag, attributes in tags if tag == "svg"]

    assert 2 == names.count("table") == names.count("caption")
    assert {"col", "row"} == {a["scope"] for tag, a in tags if tag == "th"}
    assert 2 == len(drawings)
    assert all(each["role"] == "img" and each["aria-label"] for each in drawings)
    assert ("html", {"lang": "en"}) in tags


def test_hostile_texts_stay_texts(tmp_path: Path) -> None:
    """Names from a file, and what a person said, are never part of the page's own code."""
    path = tmp_path / "hostile.csv"
    name = f'"{HOSTILE.replace(chr(34), chr(34) * 2)}"'
    path.write_text(f"head,coil,reading,temperature\n{name},1,171 ohm,21\n", encoding="utf-8")
    page = report(path, "--marking", HOSTILE, "--note", HOSTILE)
    outline = Outline(page)

    assert "script" not in {tag for tag, _ in outline.tags}
    assert "\u202e" not in page
    assert HOSTILE.replace("\u202e", "?") in html.unescape(page)


def test_several_heads_are_a_sheet_each(tmp_path: Path) -> None:
    """Each with its own readings; what is said of one head cannot be said of two."""
    path = tmp_path / "two.csv"
    path.write_text("head,coil,reading\nA,1,171 ohm\nB,1,172 ohm\n", encoding="utf-8")
    outline = Outline(report(path))
    refused = cli("report", str(path), "--face", "polished")

    assert 2 == [tag for tag, _ in outline.tags].count("article")
    assert 2 == outline.text.count("taken not stated")
    assert 2 == refused.code
    assert "one head at a time" in refused.err


def test_judge_writes_the_same_page(rows: Path, tmp_path: Path) -> None:
    """A shape of its results like the others, in a file or on standard output."""
    out = tmp_path / "page.html"
    ran = cli("judge", str(rows), "--meter", "handheld-4000", "--as", "html", "--out", str(out))

    assert 1 == ran.code
    assert report(rows) == out.read_text(encoding="utf-8")


def test_a_head_of_which_little_is_known(tmp_path: Path) -> None:
    """No kind, no value: no drawing, and no word made up."""
    path = tmp_path / "little.csv"
    path.write_text("coil,reading\n1,OL\n", encoding="utf-8")
    outline = Outline(report(path))

    assert "svg" not in {tag for tag, _ in outline.tags}
    assert "pins not stated" in outline.text


def test_coils_of_very_different_size_share_a_drawing(tmp_path: Path) -> None:
    """A record coil and an erase coil: the axis is one of decades."""
    path = tmp_path / "both.csv"
    path.write_text(
        "kind,coil,reading\ntwo-channel-rp-erase,1,171 ohm\ntwo-channel-rp-erase,E,3.2 ohm\n",
        encoding="utf-8",
    )

    assert "coil E" in Outline(report(path)).text


def test_a_common_pin_is_said_to_be_one(tmp_path: Path) -> None:
    """The return is drawn at each coil, and is one pin."""
    path = tmp_path / "common.csv"
    path.write_text("kind,coil,reading\nfour-channel-rp-common,1,171 ohm\n", encoding="utf-8")

    assert "is one and the same" in Outline(report(path)).text


def test_other_faces_are_refused(rows: Path) -> None:
    """Wear is told in words that a buyer can check."""
    ran = cli("report", str(rows), "--face", "mint")

    assert 2 == ran.code
    assert "'mint'" in ran.err
    assert "visible flat" in ran.err


@needs_java
def test_pages_keep_the_standard(rows: Path, tmp_path: Path) -> None:
    """The checker of the standard's own community finds no fault in a page or a list."""
    (tmp_path / "page.html").write_text(report(rows, "--note", HOSTILE), encoding="utf-8")
    (tmp_path / "list.html").write_text(cli("bands", "list", "--as", "html").out, "utf-8")

    assert "" == faults_of(*tmp_path.glob("*.html"))


@needs_chromium
def test_a_browser_prints_one_sheet_and_asks_nobody(rows: Path, tmp_path: Path) -> None:
    """One A4 page on paper, and no request but for the page itself."""
    page = tmp_path / "page.html"
    page.write_text(report(rows, "--face", "polished"), encoding="utf-8")
    paper, log = tmp_path / "page.pdf", tmp_path / "net.json"
    browse(page, f"--print-to-pdf={paper}", "--no-pdf-header-footer", f"--log-net-log={log}")
    document: Any = pypdfium2.PdfDocument(paper)
    width, height = document.get_page_size(0)

    assert 1 == len(document)
    assert (595, 842) == (round(width), round(height))
    assert set() == asked_by_the_page(log)


@needs_chromium
def test_a_request_of_a_page_would_be_seen(tmp_path: Path) -> None:
    """The watch over requests is not blind."""
    page, log = tmp_path / "page.html", tmp_path / "net.json"
    page.write_text("<img src='http://127.0.0.1:9/dot.png' alt=''>", encoding="utf-8")
    browse(page, f"--print-to-pdf={tmp_path / 'page.pdf'}", f"--log-net-log={log}")

    assert {"http://127.0.0.1:9/dot.png"} == asked_by_the_page(log)


LIST = Listing(
    "things",
    ("thing", "how much"),
    [("=1+1", "2 ohm"), (HOSTILE, "")],
    ("thing", "ohm", "sure", "tags"),
    [("=1+1", 2.0, True, ["a", "b"]), (HOSTILE, None, False, [])],
    notes=("a <note>",),
    facts=(("of", "all"),),
)


def test_lists_in_every_shape() -> None:
    """Unknown is empty or null, formulas are quoted, texts stay texts."""
    rows = listing_csv(LIST).splitlines()
    document = json.loads(listing_json(LIST))
    page = Outline(listing_page(LIST))

    assert "'=1+1,2.0,yes,a b" == rows[1]
    assert {"schema", "of", "things", "notes"} == set(document)
    assert None is document["things"][1]["ohm"]
    assert "script" not in {tag for tag, _ in page.tags}
    assert "a <note>" in page.text


def test_an_empty_list_says_so() -> None:
    """No table without rows."""
    empty = Listing("things", ("a",), [], ("a",), [], nothing="no thing there")

    assert "no thing there" in Outline(listing_page(empty)).text
