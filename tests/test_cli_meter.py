"""`coilmeter meter`: proved by typing, proofs, formats and ports listed, readings watched."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest
from helpers import cli, shipped
from proof_typed import RESISTOR, TYPED
from simulated_checks import do, station_with
from walk_processes import command, surroundings

from coilmeter.sources.proofs import latest_proof
from coilmeter.sources.servers import serve
from coilmeter.sources.simulated_made import sound_head
from coilmeter.wire import formats


def test_typed(proofs_folder: Path) -> None:
    """A meter without a data output is proved as well; what is wrong is asked again."""
    ran = cli(
        *("meter", "prove", "--meter", "handheld-4000", *RESISTOR),
        stdin=b"nonsense\n" + TYPED.replace(b"OL", b"5 ohm\nOL"),
    )
    proof = latest_proof(proofs_folder, "handheld-4000", "typed", "typed")

    assert 0 == ran.code
    assert "accepted" in ran.out
    assert "saw 'nonsense'" in ran.err
    assert "OL, which open leads read" in ran.err
    assert proof is not None
    assert 40e6 == proof.open_range_ohm


@pytest.mark.parametrize(
    ("typed", "code", "message"),
    [
        (b"", 2, "shorted leads were not read"),
        (b"0.2 ohm\nskip\nskip\nskip\n", 1, "open leads were not read"),
        (b"-3.0 ohm\n-3.0 ohm\nquit\n", 1, "below zero"),
        (b"-3.0 ohm\nquit\n", 2, "shorted leads were not read"),
    ],
)
def test_typed_and_ended_early(typed: bytes, code: int, message: str) -> None:
    """What was taken is judged, and nothing more is said."""
    ran = cli("meter", "prove", "--meter", "handheld-4000", *RESISTOR, stdin=typed)

    assert code == ran.code
    assert message in (ran.out + ran.err).replace("\n", " ")


def test_what_is_no_resistor() -> None:
    """Its tolerance is part of it."""
    ran = cli("meter", "prove", "--meter", "handheld-4000", "--resistor", "220 ohm")

    assert 2 == ran.code
    assert "--resistor" in ran.err


@pytest.mark.parametrize(
    "content",
    ["", "{", "[]", '{"schema": "coilmeter-proof/2"}', '{"schema": "coilmeter-proof/1"}'],
)
def test_files_that_are_no_proofs_are_named(proofs_folder: Path, content: str) -> None:
    """Damaged, foreign or later ones stop nothing."""
    cli("meter", "prove", "--meter", "handheld-4000", *RESISTOR, stdin=TYPED)
    (proofs_folder / "odd.json").write_text(content)
    ran = cli("meter", "proofs")

    assert 0 == ran.code
    assert "handheld-4000" in ran.out
    assert "odd.json" in ran.out.replace("\n", "")


def test_no_proofs_yet() -> None:
    """It says how to make one."""
    assert "coilmeter meter prove" in cli("meter", "proofs").out


def test_a_proof_that_cannot_be_kept(proofs_folder: Path) -> None:
    """Exit code 4, and the reason."""
    proofs_folder.parent.mkdir()
    proofs_folder.write_text("in the way")
    ran = cli("meter", "prove", "--meter", "handheld-4000", *RESISTOR, stdin=TYPED)

    assert 4 == ran.code
    assert "could not be written" in ran.err


def test_formats_are_all_listed() -> None:
    """From discovery, with what each cannot carry."""
    listed = json.loads(cli("meter", "formats", "--as", "json").out)["formats"]
    by_name = {each["format"]: each for each in listed}

    assert set(formats()) == set(by_name)
    assert "hold" in by_name["prompt"]["flags_not_carried"]
    assert by_name["block11"]["lookalikes"]
    assert not by_name["segments14"]["verified"]
    assert by_name["scpi"]["query"]


def test_ports(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is plugged in; and what to check where nothing is."""

    class Port:
        """A port as the system describes it."""

        device, description, vid, pid, serial_number = "/dev/none", "n/a", 0x1A86, 0x7523, None

    monkeypatch.setattr("coilmeter.sources.port_errors.list_ports.comports", lambda: [Port])
    there = cli("meter", "ports")
    monkeypatch.setattr("coilmeter.sources.port_errors.list_ports.comports", list)
    nothing = cli("meter", "ports")

    assert (0, 3) == (there.code, nothing.code)
    assert "1a86:7523" in there.out
    assert "no serial port is plugged in" in nothing.out


@pytest.mark.parametrize(
    ("form", "words", "code", "expected"),
    [
        ("digits14", ("--format", "digits14", "--count", "5"), 0, "5 readings"),
        ("digits14", (), 2, "These formats fit: digits14 ("),
        ("block11", ("--format", "digits14"), 3, "none is a frame of digits14"),
    ],
)
def test_watch(
    tmp_path: Path, form: str, words: tuple[str, ...], code: int, expected: str
) -> None:
    """Readings with their bytes; without a format those that fit are listed, none is chosen."""
    kind = shipped().kind("one-channel-rp")
    station = station_with(sound_head(kind, shipped().bands), form, rate_hz=1.0)
    do(station, "clip 1 2")
    with station, serve(station.wire, station.port()):
        ran = subprocess.run(
            command("meter", "watch", "--port", station.port().where, *words),
            capture_output=True,
            text=True,
            timeout=40,
            check=False,
            cwd=tmp_path,
            env=surroundings(tmp_path) | {"COLUMNS": "200"},
        )
    text = " ".join((ran.stdout + ran.stderr).split())

    assert code == ran.returncode
    assert expected in text
