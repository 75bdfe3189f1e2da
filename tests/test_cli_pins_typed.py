"""`coilmeter pins` typed: the prompt, how the field is described, and what is refused."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from helpers import cli
from pin_meters import head
from pin_typed import HEADER, METER, SOUND, answered, document, pins

from coilmeter.catalog import load_catalog
from coilmeter.cli.pinning_field import described_field, field_of_kind
from coilmeter.sources.keeper import SheetKeeper
from coilmeter.sources.sheet import read_sheet
from coilmeter.values import Purpose


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in a folder that holds the list of a sound head."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "list.csv").write_text(SOUND, encoding="utf-8")
    return tmp_path


def test_typed_to_the_end(folder: Path) -> None:
    """A scrambled head, pair by pair: the map, the file, and the head judged from it."""
    bench = head("1-4 184", "2-8 185", "3-5 186", "6-7 183")
    line = "--pins 8 --head K-7 --meter handheld-4000 --lead 0.2 --save k-kind --as json"
    ran = answered(bench, line, folder / "config")
    kept = read_sheet(folder / "K-7-pins.csv").rows
    judged = cli("judge", "K-7-pins.csv", "--as", "json", config=folder / "config")
    (verdict,) = json.loads(judged.out)["heads"]

    assert 0 == ran.code
    assert "certain" == document(ran)["status"]
    assert 18 == sum(row.purpose is Purpose.FREE for row in kept)
    assert "18 readings are kept in K-7-pins.csv." in ran.err
    assert "Judge what was read: coilmeter judge K-7-pins.csv" in ran.err
    assert ("k-kind", "matched") == (verdict["kind"], verdict["grade"])
    assert ["A", "B", "C", "D"] == [coil["coil"] for coil in verdict["coils"]]


def test_the_same_map_from_the_kept_file(folder: Path) -> None:
    """What a walk has kept is a list like any other, saved rows included."""
    bench = head("1-2 184", "3-4 185")
    line = f"--pins 4 --head K {METER} --save two-of-k"
    answered(bench, line, folder / "config")
    found = document(pins(f"--from K-pins.csv {METER} --as json"))

    assert ("certain", 5) == (found["status"], found["readings"])
    assert [184.0, 185.0] == pytest.approx([coil["resistance_ohm"] for coil in found["coils"]])


@pytest.mark.usefixtures("folder")
def test_going_on_where_it_was_left() -> None:
    """The end of the input keeps everything, and --resume asks for the rest only."""
    line = "--pins 4 --head R --meter handheld-4000 --lead 0.2"
    first = pins(line, "OL 40 Mohm", "184.2")
    second = pins(f"{line} --resume", "map", "OL 40 Mohm", "quit")
    without = pins(line)

    assert "2 readings are kept in R-pins.csv. Go on with the same command" in first.err
    assert "[3] " in second.err
    assert "taken  1-2" not in second.err
    assert "3 readings are kept in R-pins.csv" in second.err
    assert 4 == without.code
    assert "there is something in it already" in without.err


@pytest.mark.usefixtures("folder")
def test_a_line_that_was_cut_off() -> None:
    """A reading half written is taken out, and said."""
    line = "--pins 4 --head R --meter handheld-4000 --lead 0.2"
    pins(line, "OL 40 Mohm")
    with Path("R-pins.csv").open("a", encoding="utf-8") as file:
        file.write("R,,,,1-3,free,18")
    ran = pins(f"{line} --resume")

    assert "The last line of the file had no end and was taken out" in ran.err


@pytest.mark.usefixtures("folder")
def test_words_at_the_prompt() -> None:
    """Help, the field, skipping, going back, a pair by its name, and what is no reading."""
    ran = pins(
        "--pins 4 --no-case --head W --meter handheld-4000 --lead 0.2",
        *("help", "map", "nonsense", "OL", "40 Mohm", "skip", "184.2", "2-1", "OL 40 Mohm"),
        *("redo", "OL 40 Mohm", "back", "keep", "quit"),
    )

    assert 2 == ran.err.count("a pair, such as 3-6, takes that one again")
    assert "saw 'nonsense'" in ran.err
    assert "OL on which range?" in ran.err
    assert "skipped 3-4" in ran.err or "skipped " in ran.err
    assert ran.err.count("taken  1-2") >= 2
    assert 1 == ran.code


@pytest.mark.usefixtures("folder")
def test_nothing_typed() -> None:
    """Nothing was read, nothing is mapped; exit 1."""
    ran = pins("--pins 4 --lead 0.2", "quit")

    assert 1 == ran.code
    assert "No readings were kept." in ran.err
    assert "nothing to map" in ran.err
    assert "" == ran.out


@pytest.mark.usefixtures("folder")
def test_a_lead_null_is_asked_for() -> None:
    """Where nothing is said of the leads, the clips come together first."""
    ran = pins("--pins 2 --no-case --head L --meter handheld-4000", "0.3", "184.3")

    assert "[1] leads: the two clips together" in ran.err
    assert "184.00 ohm" in ran.out or "184.0 ohm" in ran.out


@pytest.mark.usefixtures("folder")
def test_no_isolation_is_no_certain_map() -> None:
    """What was not read is open, and said."""
    ran = answered(head("1-2 184", "3-4 185"), f"--pins 4 --no-isolation --head N {METER}")

    assert 1 == ran.code
    assert 2 == ran.err.count("taken  ")
    assert "OPEN: head N" in ran.out


@pytest.mark.usefixtures("folder")
def test_bands_and_open_coils_that_a_person_names() -> None:
    """By letter or pins; names that fit nothing are left out with a word."""
    Path("e.csv").write_text(
        f"{HEADER}H,1-2,184,\nH,3-4,OL 40 Mohm,\nH,1-3,OL 40 Mohm,\nH,1-4,OL 40 Mohm,\n"
        "H,5-6,10.5,\nH,1-5,OL 40 Mohm,\nH,3-5,OL 40 Mohm,\nH,4-5,OL 40 Mohm,\n",
        encoding="utf-8",
    )
    said = "--band A=rp-cassette --band 6-5=erase --band Z=erase --open 3-4 --open 1-2"
    ran = pins(f"--from e.csv {METER} {said} --save with-open --as json")
    found = document(ran)
    kind = load_catalog([Path("config/catalog.toml")]).kind("with-open")

    assert [("rp", "rp-cassette"), ("unknown", "any"), ("erase", "erase")] == [
        (coil["role"], coil["band"]) for coil in found["coils"]
    ]
    assert "! --band Z=erase: there is no coil Z in this map" in ran.err
    assert "! --open 1-2: these pins conduct; left out." in ran.err
    assert ("3", "4") == kind.coils[1].pins


REFUSED = [
    ("", "which pins has the head?"),
    ("--pins 1", "expected a number from 2 to 16"),
    ("--pins 17", "expected a number from 2 to 16"),
    ("--pins '1 1'", "saw 1 twice"),
    ("--pins '1 case'", "'case' as the name of a pin"),
    ("--pins 'a-b c'", "'a-b' as the name of a pin"),
    ("--pins 8 --rows 9", "expected a whole number from 1 to 8"),
    ("--pins 8 --layout '1 2'", "--layout with --pins or --rows"),
    ("--layout '1'", "saw 1 pins, expected 2 to 16"),
    ("--pins 4 --prior likely", "expected one of neighbours, uniform"),
    ("--pins 4 --kind nothing", "no head kind is called 'nothing'"),
    ("--pins 3 --kind two-channel-rp", "has 4, and the field has not"),
    ("--pins 4 --band nothing", "no band is called 'nothing'"),
    ("--pins 4 --open 1-1", "expected two of the pins 1, 2, 3, 4"),
    ("--pins 4 --open 1-9", "expected two of the pins 1, 2, 3, 4"),
    ("--pins 4 --save two-channel-rp", "there is a head kind called 'two-channel-rp'"),
    ("--pins 4 --save ''", "which pins"),
    ("--pins 4 --speak", "--speak without --port"),
    ("--pins 4 --baud 9600", "--baud without --port"),
    ("--pins 4 --resume", "there is no such file to go on with"),
    ("--from list.csv --resume", "--resume with --from"),
    ("--from list.csv --port x", "--port with --from"),
    ("--from nothing.csv", "nothing.csv: cannot be read"),
    ("--from list.csv --head Z", "there is no head 'Z' in it"),
    ("--from two.csv", "2 heads are in it, and one is mapped at a time"),
    ("--from nulls.csv", "no reading of two pins"),
    ("--from wrong.csv", "wrong.csv:2: reading: saw 'x', expected"),
    ("--from wrong.csv --pins 4", "nothing was mapped"),
    ("--from list.csv --layout '1 2 3'", "pins: saw '1-4'"),
]


@pytest.mark.parametrize(("line", "expected"), REFUSED)
def test_what_is_refused(folder: Path, line: str, expected: str) -> None:
    """Exit 2, what was seen, what was expected; no traceback, and no file made."""
    Path("two.csv").write_text(f"{HEADER}A,1-2,184,\nB,1-2,184,\n", encoding="utf-8")
    Path("nulls.csv").write_text(
        "head,pins,purpose,reading\nA,,lead-null,0.2\n", encoding="utf-8"
    )
    Path("wrong.csv").write_text(f"{HEADER}A,1-1,x,\n", encoding="utf-8")
    if line == "--pins 4 --save ''":
        line = "--save ''"
    before = sorted(folder.iterdir())
    ran = pins(line)

    assert 2 == ran.code
    assert expected in ran.err
    assert "" == ran.out
    assert before == sorted(folder.iterdir())


@pytest.mark.usefixtures("folder")
def test_a_list_without_a_head_is_named_by_the_option() -> None:
    """The file has no column of heads, and would be called after itself."""
    Path("plain.csv").write_text("pins,reading\n1-2,184\n", encoding="utf-8")
    found = [document(pins(f"--from plain.csv {more} --as json")) for more in ("", "--head Z")]

    assert ["plain", "Z"] == [each["head"] for each in found]


@pytest.mark.parametrize(
    ("words", "rows"),
    [
        (("8", "", ""), (("1", "2"), ("3", "4"), ("5", "6"), ("7", "8"))),
        (("8", "2", ""), (("1", "2", "3", "4"), ("5", "6", "7", "8"))),
        (("5", "2", ""), (("1", "2", "3"), ("4", "5", ""))),
        (("3", "", ""), (("1", "2", "3"),)),
        (("5", "", ""), (("1", "2", "3", "4", "5"),)),
        (("1, 2 R", "", ""), (("1", "2", "R"),)),
        (("", "", "1 2 / 3 . / 4 R+"), (("1", "2"), ("3", ""), ("4", "R+"))),
    ],
)
def test_fields(words: tuple[str, str, str], rows: tuple[tuple[str, ...], ...]) -> None:
    """Counts, names, rows, and a layout with holes."""
    assert rows == described_field(*words, case=True).rows


def test_field_of_a_kind() -> None:
    """A row a coil; pins of a common return in one row."""
    kinds = load_catalog().kinds

    assert (("1", "2"), ("3", "4")) == field_of_kind(kinds["two-channel-rp"]).rows
    assert (("1", "R", "2"),) == field_of_kind(kinds["two-channel-rp-common"]).rows


@pytest.mark.skipif(os.name != "posix", reason="locks of POSIX systems")
@pytest.mark.usefixtures("folder")
def test_two_runs_cannot_write_one_file() -> None:
    """The second ends with 4."""
    with SheetKeeper(Path("head-pins.csv")):
        ran = pins("--pins 4 --lead 0.2")

    assert 4 == ran.code
    assert "another run is writing this file now" in ran.err
