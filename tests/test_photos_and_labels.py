"""Photos rid of what they tell of their maker, and labels that can be read again."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
import zxingcpp
from helpers import cli, one_head
from PIL import Image

from coilmeter.errors import InputError, StoreError
from coilmeter.report.label import (
    HEIGHT_MM,
    WIDTH_MM,
    Labelled,
    label,
    label_lines,
    label_sheets,
)
from coilmeter.report.photos import LONGEST_SIDE, load_photo

ROWS = "coil,reading\n1,186.3 ohm\n2,OL 40 Mohm\n3,149.4 ohm\n4,187.1 ohm\n"
WHERE = "N 48 51"
TURNED = 6
"""Orientation of EXIF: the top of the picture is on its right."""


def photo(path: Path, size: tuple[int, int] = (1600, 800), form: str = "JPEG") -> Path:
    """Take a photo with place, maker and orientation in it."""
    exif = Image.Exif()
    exif[0x0112] = TURNED
    exif[0x010F] = WHERE
    Image.new("RGB", size, (120, 80, 40)).save(path, form, exif=exif)
    return path


def test_a_photo_loses_its_metadata_and_stands_upright(tmp_path: Path) -> None:
    """What is left is the picture, turned, and no larger than a page needs."""
    path = photo(tmp_path / "a.jpg")
    found = load_photo(path)
    picture = Image.open(io.BytesIO(found.data))

    assert WHERE.encode() in path.read_bytes()
    assert WHERE.encode() not in found.data
    assert {} == dict(picture.getexif())
    assert (LONGEST_SIDE // 2, LONGEST_SIDE) == picture.size == (found.width, found.height)
    assert found.uri.startswith("data:image/jpeg;base64,")


@pytest.mark.parametrize("form", ["PNG", "WEBP"])
def test_other_pictures_are_taken(tmp_path: Path, form: str) -> None:
    """A small one keeps its size."""
    found = load_photo(photo(tmp_path / "a", (40, 20), form))

    assert (20, 40) == (found.width, found.height)


@pytest.mark.parametrize(
    "content",
    [b"", b"<svg/>", b"GIF89a" + bytes(40), b"\xff\xd8\xff\xe0" + bytes(20)],
    ids=["empty", "drawing", "other", "cut"],
)
def test_what_is_no_photo_is_refused(tmp_path: Path, content: bytes) -> None:
    """By what is in it, whatever its name says."""
    path = tmp_path / "a.jpg"
    path.write_bytes(content)

    with pytest.raises(InputError, match="not a picture"):
        load_photo(path)


def test_a_picture_that_would_fill_the_memory_is_refused(tmp_path: Path) -> None:
    """Few bytes can stand for very many pixels."""
    path = tmp_path / "large.png"
    Image.new("1", (14_000, 14_000)).save(path)

    with pytest.raises(InputError, match="not a picture"):
        load_photo(path)


def test_a_file_too_large_is_refused(tmp_path: Path) -> None:
    """Before it is read."""
    path = tmp_path / "a.jpg"
    with path.open("wb") as file:
        file.truncate(60_000_000)

    with pytest.raises(InputError, match="60 MB"):
        load_photo(path)


def test_a_photo_that_is_not_there(tmp_path: Path) -> None:
    """Its name is said."""
    with pytest.raises(StoreError, match=r"none\.jpg"):
        load_photo(tmp_path / "none.jpg")


def test_a_photo_in_a_report(tmp_path: Path) -> None:
    """It is in the page itself, with a text in its place."""
    rows = tmp_path / "rows.csv"
    rows.write_text(ROWS, encoding="utf-8")
    ran = cli("report", str(rows), "--photo", str(photo(tmp_path / "face.jpg")))
    refused = cli("report", str(rows), "--photo", str(rows))

    assert 'alt="Photo of the head: face.jpg"' in ran.out
    assert "data:image/jpeg;base64," in ran.out
    assert WHERE not in ran.out
    assert (2, True) == (refused.code, "not a picture" in refused.err)


def test_lines_of_a_label() -> None:
    """Name, grade, the coils in two lines, day and id."""
    lines = label_lines(one_head(ROWS), "B7Q2", "2026-11-20")

    assert 5 == len(lines)
    assert "2 open" in lines[2]
    assert "2026-11-20 B7Q2" == lines[-1]


def test_the_code_of_a_label_is_read_by_another_program(tmp_path: Path) -> None:
    """Drawn, printed at 300 dpi, and read again: the id and nothing else (ISO/IEC 18004)."""
    path = tmp_path / "label.pdf"
    path.write_bytes(label_sheets([Labelled(one_head(ROWS), "01J-HEAD-77")]))
    document: Any = pypdfium2.PdfDocument(path)
    width, height = document.get_page_size(0)
    picture = document[0].render(scale=300 / 72).to_pil()
    read = zxingcpp.read_barcodes(picture)

    assert ["01J-HEAD-77"] == [each.text for each in read]
    assert WIDTH_MM == pytest.approx(width / 72 * 25.4, abs=0.1)
    assert HEIGHT_MM == pytest.approx(height / 72 * 25.4, abs=0.1)


@pytest.mark.parametrize("name", ["label.svg", "label.PDF"])
def test_a_label_to_a_file(tmp_path: Path, name: str) -> None:
    """The same evidence gives the same bytes."""
    rows, out = tmp_path / "rows.csv", tmp_path / name
    rows.write_text(ROWS, encoding="utf-8")
    words = ("report", str(rows), "--out", str(tmp_path / "p.html"), "--label", str(out))
    first = (cli(*words).code, out.read_bytes())
    second = (cli(*words).code, out.read_bytes())

    assert first == second
    assert 1 == first[0]
    assert first[1].startswith((b"<?xml", b"%PDF"))


@pytest.mark.parametrize(
    ("name", "rows", "message"),
    [
        ("label.png", ROWS, "FILE.svg or FILE.pdf"),
        ("label.svg", "head,coil,reading\nA,1,171 ohm\nB,1,172 ohm\n", "one label for 2"),
    ],
)
def test_no_label(tmp_path: Path, name: str, rows: str, message: str) -> None:
    """Of another sort, or of two heads."""
    path = tmp_path / "rows.csv"
    path.write_text(rows, encoding="utf-8")
    ran = cli("report", str(path), "--label", str(tmp_path / name))

    assert 2 == ran.code
    assert message in ran.err


def test_hostile_names_on_a_label() -> None:
    """Formulas of the drawing library are letters here."""
    hostile = one_head(f"head,coil,reading\n$\\frac{{1}}{{0}}$ {'x' * 80},1,171 ohm\n")
    drawn = label(Labelled(hostile, "id"))

    assert drawn.startswith(b"<?xml")
    assert all(len(line) <= 60 for line in label_lines(hostile, "id"))


def test_nothing_of_a_label_is_cut_off(tmp_path: Path) -> None:
    """With the longest id, name and kind, paper is left at every edge of a sheet."""
    longest = one_head(f"head,coil,reading\n{'W' * 60},1,171 ohm\n")
    sheets = label_sheets([Labelled(longest, "01M89PD6EWZZDAE8ZASF3B78G6", "2026-11-20")] * 2)
    path = tmp_path / "labels.pdf"
    path.write_bytes(sheets)
    document: Any = pypdfium2.PdfDocument(path)
    edges = set()
    for sheet in range(len(document)):
        picture = document[sheet].render(scale=300 / 72).to_pil().convert("L")
        right, bottom = picture.width - 1, picture.height - 1
        for box in (
            (0, 0, right, 1),
            (0, bottom, right, bottom + 1),
            (0, 0, 1, bottom),
            (right, 0, right + 1, bottom),
        ):
            edges.add(picture.crop(box).getextrema())

    assert 2 == len(document)
    assert {(255, 255)} == edges
