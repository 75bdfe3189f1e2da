"""What the page says its figures rest on: what the judge used, in words a buyer can read."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import base64
import re
from pathlib import Path

import pytest
from helpers import cli, one_head
from pages import Outline

from coilmeter.catalog import load_catalog
from coilmeter.report.basis_words import basis_words
from coilmeter.report.label import label_lines

ERASE = "head,kind,coil,reading{}\nE-7,one-erase,E,5.55 ohm{}\n"
KEY = re.compile(r"\b[JP]\d+\b|\b(?:pub|prac|rep|mem|der|own):|PROVENANCE")


def said(tmp_path: Path, cells: tuple[str, str], *words: str) -> dict[str, str]:
    """Terms of the section on how it was measured, of `judge` and of `report` alike."""
    path = tmp_path / "rows.csv"
    path.write_text(ERASE.format(*cells), encoding="utf-8")
    meter = () if "--meter" in words else ("--meter", "handheld-4000")
    ran = [
        cli("judge", str(path), *meter, *words, "--as", "html"),
        cli("report", str(path), *meter, *words),
    ]
    first, second = (lines_of(each.out) for each in ran)
    assert first == second
    return first


def lines_of(page: str) -> dict[str, str]:
    """Give the texts of the page's lists by their terms."""
    pairs = re.findall(r"<dt>(.*?)</dt>\s*<dd>(.*?)</dd>", page, re.DOTALL)
    return {Outline(term).text.strip(): Outline(text).text.strip() for term, text in pairs}


@pytest.mark.parametrize(
    ("cells", "words", "leads"),
    [
        (("", ""), ("--lead", "0.2 ohm"), "0.20 ohm, as stated, taken off"),
        (("", ""), ("--lead", "nulled"), "nulled by the meter"),
        (("", ""), ("--lead", "four-wire"), "four wires"),
        (("", ""), (), "not nulled"),
        ((",lead", ",0.3 ohm"), (), "0.30 ohm, as stated, taken off"),
    ],
)
def test_leads_are_those_of_the_judge(
    tmp_path: Path, cells: tuple[str, str], words: tuple[str, ...], leads: str
) -> None:
    """What was said on the command line counts as a cell of the file does."""
    assert said(tmp_path, cells, *words)["leads"].startswith(leads)


@pytest.mark.parametrize(
    ("cells", "words", "temperature"),
    [
        (("", ""), ("--temperature", "24"), "24 +/- 1 degC"),
        ((",temperature", ",23 +/- 2 degC"), (), "23 +/- 2 degC"),
        (("", ""), (), "not stated: taken as 20 +/- 5 degC"),
    ],
)
def test_the_temperature_is_that_of_the_judge(
    tmp_path: Path, cells: tuple[str, str], words: tuple[str, ...], temperature: str
) -> None:
    """With its half-width, and with one unit."""
    assert temperature == said(tmp_path, cells, *words)["temperature"]


def test_no_key_of_this_project_is_left_in_the_words() -> None:
    """Of no meter and no band that is shipped; and what a user wrote stays as it is."""
    catalog = load_catalog()
    shipped = [each.basis for each in catalog.meters.values()]
    shipped += [each.basis for each in catalog.bands.values()]
    own = "measured at plug J2 of 12 boards, pins P1 to P4 (own); mem of the shop"

    assert any(map(KEY.search, shipped))
    assert [] == [text for text in map(basis_words, shipped) if KEY.search(text)]
    assert own == basis_words(own)


def test_an_open_coil_is_drawn_broken(tmp_path: Path) -> None:
    """And says so to those who hear the page; a sound one is drawn whole."""
    path = tmp_path / "rows.csv"
    path.write_text(
        "kind,coil,reading,range\ntwo-channel-rp,1,171.3,400 ohm\ntwo-channel-rp,2,OL,40 Mohm\n"
    )
    page = Outline(cli("report", str(path), "--meter", "handheld-4000").out)
    wires = [
        attributes["class"]
        for tag, attributes in page.tags
        if tag == "path" and "wire" in str(attributes.get("class"))
    ]

    assert ["wire", "wire broken"] == wires
    assert "coil 2 open" in page.text
    assert "an open one broken" in page.text
    assert any(
        "coil 2 between pins 3 and 4, open" in str(attributes.get("aria-label"))
        for _, attributes in page.tags
    )


def test_a_label_names_its_head_once() -> None:
    """Where the record is called as the head is, the day stands alone."""
    rows = "head,coil,reading\nTCA-1,1,171 ohm\n"

    assert "2026-11-25" == label_lines(one_head(rows), "TCA-1", "2026-11-25")[-1]
    assert "2026-11-25 B7Q2" == label_lines(one_head(rows), "B7Q2", "2026-11-25")[-1]


def test_the_chain_of_a_case_has_a_sheet_of_its_own(tmp_path: Path) -> None:
    """Drawn as it stands, with what was seen; its styles reach nothing else of the page."""
    path, cases = tmp_path / "rows.csv", tmp_path / "cases.jsonl"
    path.write_text("head,kind,coil,reading\nA-1,two-channel-rp,2,OL 40 Mohm\n")
    keep = ("--case", "deck", "--keep", str(cases))
    fault = ("--fault", "playback", "--track", "2", "--working", "1")
    cli("chain", *fault, *keep, "--readings", str(path), "--saw", "look=pass")
    standing = Outline(cli("report", str(path), *keep).out)
    cli("chain", "--close", "coil-open", *keep)
    closed = Outline(cli("report", str(path), *keep).out)
    (picture,) = [attributes for tag, attributes in standing.tags if tag == "img"]
    drawn = base64.b64decode(str(picture["src"]).partition("base64,")[2]).decode()

    assert "suspect: " in str(picture["alt"])
    assert "fits ohms-at-head: fail" in drawn
    assert "Case deck, opened" in standing.text
    assert "ohms-at-head: fail (head A-1, coil 2)" in standing.text
    assert "It was coil open" in closed.text


def test_a_chain_that_cannot_be_drawn(tmp_path: Path) -> None:
    """A case that is none, and one case of several heads."""
    path, cases = tmp_path / "rows.csv", str(tmp_path / "cases.jsonl")
    path.write_text("head,coil,reading\nA,1,171\nB,1,172\n")
    several = cli("report", str(path), "--case", "deck", "--keep", cases)
    path.write_text("head,coil,reading\nA,1,171\n")
    unknown = cli("report", str(path), "--case", "deck", "--keep", cases)

    assert (2, "one case, with 2 heads" in several.err) == (several.code, True)
    assert (2, "no case is called 'deck'" in unknown.err) == (unknown.code, True)


def test_the_accuracy_is_that_of_the_range_it_was_judged_by(tmp_path: Path) -> None:
    """Where no cell names the range, too; and of no range that only another meter used."""
    path = tmp_path / "rows.csv"
    path.write_text(
        "head,kind,coil,reading,range,meter\n"
        "A,coils-2,1,1.863 kohm,,handheld-4000\nA,coils-2,2,187.00 ohm,,bench-6-digit\n"
    )
    told = re.findall(
        r"<dt>meter</dt>\s*<dd>(.*?)</dd>", cli("report", str(path)).out, re.DOTALL
    )

    assert 2 == len(told)
    assert "on the 4 kohm range" in told[0]
    assert "400 ohm range" not in told[0]
    assert "on the 10 kohm range" in told[1]
