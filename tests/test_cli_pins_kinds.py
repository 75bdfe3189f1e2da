"""`coilmeter pins` and head kinds: tested, contradicted, and saved from a map."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import shlex
from pathlib import Path

import pytest
from helpers import cli
from pin_meters import head
from pin_typed import HEADER, METER, SOUND, answered, document, pins

from coilmeter.catalog import load_catalog


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in a folder that holds the list of a sound head."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "list.csv").write_text(SOUND, encoding="utf-8")
    return tmp_path


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
def test_an_open_coil_does_not_refute_its_kind() -> None:
    """Its pins are read against all others, and then it is open: a fault, no other kind."""
    bench = head("1-2 184", "3-4 185").with_open("2")
    ran = answered(bench, f"--kind two-channel-rp --head T {METER}")
    found = document(answered(bench, f"--kind two-channel-rp --head U --as json {METER}"))

    assert 1 == ran.code
    assert ran.out.startswith("CERTAIN: head T")
    assert "B  3-4  open" in ran.out
    assert "Coil 2 of two-channel-rp is open: 3-4 reads OL past 40 Mohm" in ran.out
    assert [] == found["against_kind"]
    assert [{"coil": "2", "pins": ["3", "4"], "certain": True}] == found["open_of_kind"]


@pytest.mark.usefixtures("folder")
def test_a_coil_that_may_be_wired_otherwise_is_not_called_open() -> None:
    """Its pins were not read against all others: both are said, and which pair decides."""
    text = f"{HEADER}S-1,1-2,OL 40 Mohm,\nS-1,3-4,184,\nS-1,1-3,OL 40 Mohm,\n"
    Path("few.csv").write_text(text, encoding="utf-8")
    ran = pins(f"--from few.csv {METER} --kind two-channel-rp")
    told = " ".join(ran.out.split())

    assert 1 == ran.code
    assert ran.out.startswith("OPEN: head S-1")
    assert "Coil 1 of two-channel-rp is open, or the head is wired otherwise: 1-2 reads" in told


@pytest.mark.usefixtures("folder")
def test_check_and_spares_take_a_saved_map() -> None:
    """A head is checked by the kind that was saved, judged, and found in the bin as of it."""
    config = Path("config")
    pins(f"--from list.csv {METER} --save mine --band rp-cassette")
    typed = b"0.2\n184.0\nOL 40 Mohm\n186.0\nOL 40 Mohm\nOL 40 Mohm\n"
    line = "check --kind mine --head twin --meter handheld-4000 --temperature 20"
    checked = cli(*shlex.split(line), stdin=typed, config=config)
    listed = cli("spares", "list", "--kind", "mine", config=config)

    assert 0 == checked.code
    assert "coil B: pin 2 and pin 3" in checked.err
    assert "MATCHED: head twin, mine, 2 x record/playback" in checked.out
    assert "twin" in listed.out


@pytest.mark.usefixtures("folder")
def test_a_check_of_a_head_that_is_wired_otherwise() -> None:
    """All coils read OL: they may all be open, or the kind is not that of the head."""
    typed = b"0.2\n" + b"OL 40 Mohm\n" * 5
    line = "check --kind two-channel-rp --head odd --meter handheld-4000 --temperature 20"
    ran = cli(*shlex.split(line), stdin=typed)
    told = " ".join(ran.out.split())

    assert 1 == ran.code
    assert "All 2 coils are open, or the head is not wired as two-channel-rp says" in told
