"""Photos of the heads of the bin: kept by their digest, shown without what cameras write."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from pathlib import Path

import pytest
from helpers import cli
from PIL import Image
from spares_helpers import document, measured, open_bin, put_heads, spares

from coilmeter.cli.folders import data_folder
from coilmeter.spares.noting import photo_file, whole_photo
from coilmeter.spares.place import place_of
from coilmeter.spares.reading import find_head, records_of
from coilmeter.values.bin import PhotoOf


@pytest.fixture
def filled(store: str) -> str:
    """Make a bin of one head."""
    with open_bin(store) as shelf:
        put_heads(shelf, measured("T-02", 180.5, 181.0))
    return store


def picture(path: Path, color: str = "red") -> Path:
    """Make a small photo with a place in it, as cameras write it."""
    image = Image.new("RGB", (40, 30), color)
    exif = Image.Exif()
    exif[0x010E] = "the shelf at home"
    image.save(path, exif=exif)
    return path


def test_a_photo_stays_with_its_head(filled: str, tmp_path: Path) -> None:
    """Copied under its digest, shown in the page without what the camera wrote."""
    path = picture(tmp_path / "face.jpg")
    spares(filled, "photo", "T-02", str(path), str(picture(tmp_path / "side.png", "blue")))
    data = path.read_bytes()
    path.unlink()
    record = document(filled, "show", "T-02")["record"]
    page = spares(filled, "show", "T-02", "--as", "html")
    folder = place_of(filled, data_folder() / "photos").photos
    with open_bin(filled) as shelf, shelf.read() as connection:
        photo = next(records_of(connection, [find_head(connection, "T-02").id])).photos[0]

    found = whole_photo(folder, photo)
    assert ["face.jpg", "side.png"] == [each["name"] for each in record["photos"]]
    assert found is not None
    assert data == found.read_bytes()
    assert 2 == page.count("data:image/jpeg;base64,")
    assert "the shelf at home" not in page
    assert [] == document(filled, "verify")["findings"]


def test_a_photo_that_is_gone_or_another_one(filled: str, tmp_path: Path) -> None:
    """Not on this bench is told, and no damage; another file under its name is damage."""
    spares(filled, "photo", "T-02", str(picture(tmp_path / "face.jpg")))
    folder = place_of(filled, data_folder() / "photos").photos
    (kept,) = folder.iterdir()
    kept.write_bytes(b"another")
    other = document(filled, "verify", code=4)["findings"]
    page = spares(filled, "show", "T-02", "--as", "html")
    kept.unlink()
    gone = document(filled, "verify", code=1)["findings"]

    assert [("photo", True)] == [(each["what"], each["damage"]) for each in other]
    assert [("photo", False)] == [(each["what"], each["damage"]) for each in gone]
    assert "data:image/jpeg" not in page
    assert "the photo face.jpg is not on this bench" in page


def test_the_same_photo_twice_is_one(filled: str, tmp_path: Path) -> None:
    """It is said, and counted once, under whatever name it comes."""
    path = picture(tmp_path / "face.jpg")
    again = tmp_path / "copy.jpg"
    again.write_bytes(path.read_bytes())
    spares(filled, "photo", "T-02", str(path))
    other = picture(tmp_path / "b.jpg", "blue")
    told = cli("spares", "photo", "T-02", str(again), str(other), "--store", filled).err

    assert "1 photo of" in told
    assert f"On record already, and not added again: {again}" in told
    assert 2 == len(document(filled, "show", "T-02")["record"]["photos"])


def test_photos_that_did_not_come_along_are_told(filled: str, tmp_path: Path) -> None:
    """An export says where its photos lie, and an import how many are not there."""
    spares(filled, "photo", "T-02", str(picture(tmp_path / "face.jpg")))
    file, other = tmp_path / "heads.jsonl", str(tmp_path / "second.sqlite")
    written = cli("spares", "export", "--out", str(file), "--store", filled).err
    folder = place_of(filled, data_folder() / "photos").photos
    told = " ".join(spares(other, "import", str(file)).split())
    again = " ".join(spares(other, "import", str(file)).split())

    assert f"The photos are in {folder}" in " ".join(written.split())
    assert "1 photo is named in the file and not in" in told
    assert "named in the file" not in again


def test_what_is_no_photo(filled: str, tmp_path: Path) -> None:
    """Refused by what is in it, whatever it is called; the good one beside it, too."""
    path = tmp_path / "face.jpg"
    path.write_text("not a picture")
    ran = cli(
        "spares",
        "photo",
        "T-02",
        str(picture(tmp_path / "a.png")),
        str(path),
        "--store",
        filled,
    )

    assert 2 == ran.code
    assert "not a picture" in ran.err
    assert [] == document(filled, "show", "T-02")["record"]["photos"]


def test_a_name_leads_nowhere(tmp_path: Path) -> None:
    """The file of a photo is found by its digest alone, which is nothing but hex digits."""
    photo = PhotoOf("", "", "../../etc/passwd", "0" * 64, 1)

    assert tmp_path / ("0" * 64) == photo_file(tmp_path, photo.sha256)
    assert whole_photo(tmp_path, photo) is None


def test_a_folder_that_cannot_be_made(filled: str, tmp_path: Path) -> None:
    """Exit code 4, and no photo is on record."""
    in_the_way = place_of(filled, data_folder() / "photos").photos
    in_the_way.parent.mkdir(parents=True, exist_ok=True)
    in_the_way.write_text("a file where the folder should be")
    photo = str(picture(tmp_path / "face.jpg"))
    ran = cli("spares", "photo", "T-02", photo, "--store", filled)

    assert 4 == ran.code
    assert "cannot be copied" in ran.err
    assert [] == document(filled, "show", "T-02")["record"]["photos"]
