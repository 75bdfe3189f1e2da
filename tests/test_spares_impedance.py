"""Inductances and proofs of meters that stay with the heads of the bin."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Final

import pytest
from helpers import cli, shipped
from spares_helpers import counts, document, exported, measured, open_bin, put_heads, spares

from coilmeter.cli.folders import data_folder
from coilmeter.cli.proving_judged import ProofJob, judged
from coilmeter.sources.proofs import keep_proof, proof_document
from coilmeter.spares.adding import ProofOf
from coilmeter.spares.identity import ID
from coilmeter.spares.importing import import_lines
from coilmeter.spares.reading import find_head, records_of
from coilmeter.spares.store import Bin
from coilmeter.values.bin import Sitting
from coilmeter.values.proofs import KnownResistor, MeterProof

METER: Final = "handheld-4000"
VOLTS: Final = """coil,frequency,v_total,v_resistor,v_coil,resistor,time
1,10 kHz,124.7 mV,101.1 mV,64.3 mV,9.98 kohm +/- 1 %,2026-04-01T10:00:00Z
2,10 kHz,124.7 mV,100.4 mV,65.2 mV,9.98 kohm +/- 1 %,2026-04-01T10:05:00Z
"""


@pytest.fixture
def filled(store: str) -> str:
    """Make a bin of two heads."""
    with open_bin(store) as shelf:
        put_heads(shelf, measured("A", 300.1, 302.0), measured("B", 300.0, 301.0))
    return store


def test_inductances_stay_with_a_head(filled: str, tmp_path: Path) -> None:
    """Those that `impedance` finds, with the whole file that they came from."""
    path = tmp_path / "A-ac.csv"
    path.write_text(VOLTS)
    said = ("--meter", METER, "--temperature", "22")
    kept = document(filled, "impedance", "A", str(path), *said)
    plain = cli("impedance", str(path), "--kind", "two-channel-rp", *said, "--as", "json")
    expected = [each["inductance_h"] for each in json.loads(plain.out)["impedances"]]
    with open_bin(filled) as shelf, shelf.read() as connection:
        found = next(records_of(connection, [find_head(connection, "A").id])).impedances

    assert expected == [each["inductance_henry"] for each in kept["inductances"]]
    assert expected == [each.inductance_henry for each in found]
    assert ["1", "2"] == [each.coil for each in found]
    assert [10_000.0] * 2 == [each.frequency_hz for each in found]
    assert "2026-04-01T10:00:00.000+00:00" == found[0].time
    assert VOLTS == json.loads(found[0].document)["text"]
    assert "inductance at 10 kHz: coil 1 " in spares(filled, "show", "A")


def test_the_same_volts_twice(filled: str, tmp_path: Path) -> None:
    """Nothing is added; the file of another day is."""
    path, other = tmp_path / "A-ac.csv", tmp_path / "later.csv"
    path.write_text(VOLTS)
    other.write_text(VOLTS.replace("2026-04", "2026-05"))
    spares(filled, "impedance", "A", str(path))
    again = document(filled, "impedance", "A", str(path))
    later = document(filled, "impedance", "A", str(path), str(other))

    assert (0, 2) == (len(again["inductances"]), again["known"])
    assert (2, 2) == (len(later["inductances"]), later["known"])


@pytest.mark.parametrize(
    "spoilt",
    [
        VOLTS.replace("100.4 mV", "10.0 mV"),
        VOLTS.replace("100.4 mV", ""),
    ],
    ids=["no circuit", "half of it"],
)
def test_a_coil_that_could_not_be_used_is_no_sound_one(
    filled: str, tmp_path: Path, spoilt: str
) -> None:
    """It is told, and the head is to be rechecked, as `judge` says of the same file."""
    path = tmp_path / "A-ac.csv"
    path.write_text(spoilt)
    added = spares(filled, "impedance", "A", str(path), "--meter", METER, code=1)
    head = document(filled, "show", "A", code=1)["heads"][0]
    path.write_text(VOLTS.replace("2026-04", "2026-05"))
    spares(filled, "impedance", "A", str(path), "--meter", METER)
    mended = document(filled, "show", "A")["heads"][0]

    assert "is left out" in " ".join(added.split())
    assert "recheck" == head["grade"]
    assert "AC volts of coil 2 could not be used" in head["grade_reason"]
    assert "matched" == mended["grade"]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (VOLTS.replace("\n1,", "\n9,"), "nothing was added"),
        ("coil,reading\n1,171\n", "nothing was added"),
        (
            "head," + VOLTS.replace("\n1,", "\nX,1,").replace("\n2,", "\nY,2,"),
            "is of 2 heads: 'X', 'Y'",
        ),
        ("", "there is nothing in it"),
    ],
)
def test_volts_that_cannot_be_kept(
    filled: str, tmp_path: Path, text: str, expected: str
) -> None:
    """A coil that the head has not, a file of something else or of two heads."""
    path = tmp_path / "A-ac.csv"
    path.write_text(text)
    ran = cli("spares", "impedance", "A", str(path), "--store", filled)
    missing = cli("spares", "impedance", "A", str(tmp_path / "no.csv"), "--store", filled)

    assert (2, 2) == (ran.code, missing.code)
    assert expected in ran.err
    with open_bin(filled) as shelf:
        assert 0 == counts(shelf)["impedances"]


def proof(made: str = "2026-03-01T09:00:00+00:00") -> MeterProof:
    """Prove a meter, typed."""
    job = ProofJob(shipped().meter(METER), (KnownResistor("220 ohm 1%", 220.0, 0.01),))
    walk = job.walk()
    for text in ("0.2 ohm", "0.2 ohm", "OL 40 Mohm", "220.6 ohm"):
        walk.type(text)
    return replace(judged(job, walk), made=made)


def check(store: str, folder: Path, name: str) -> None:
    """Check a head, typed, with the proved meter."""
    words = ("--head", name, "--coils", "1", "--meter", METER, "--keep", str(folder / name))
    ran = cli("check", *words, "--store", store, stdin=b"0.2\n171.3\nOL 40 Mohm\n")
    if ran.code:
        raise AssertionError(ran.err)


def sittings(store: str, name: str) -> tuple[Sitting, ...]:
    """Read the sittings of a head."""
    with open_bin(store) as shelf, shelf.read() as connection:
        return next(records_of(connection, [find_head(connection, name).id])).sittings


def test_the_proof_of_the_meter_goes_with_the_readings(store: str, tmp_path: Path) -> None:
    """Whole, as it is on disk, and once for all the heads that were read with it."""
    made = proof()
    keep_proof(data_folder() / "proofs", made)
    for name in ("A", "B"):
        check(store, tmp_path, name)
    with open_bin(store) as shelf:
        number = counts(shelf)["proofs"]
        lines = exported(shelf)
    with Bin.empty() as other:
        for _ in range(2):
            with other.write() as connection:
                import_lines(connection, lines, "x")
        copied = counts(other)["proofs"]
    shown = document(store, "show", "A")["record"]["sittings"][0]["meter_proof"]

    assert [proof_document(made)] == [each.proof for each in sittings(store, "A")]
    assert (1, 1) == (number, copied)
    assert "accepted" == shown["outcome"]
    assert "with a proof of the meter" in spares(store, "show", "B")


def test_without_a_proof_none_is_claimed(store: str, tmp_path: Path) -> None:
    """The sitting has none, and nothing is said of one."""
    check(store, tmp_path, "A")

    assert [""] == [each.proof for each in sittings(store, "A")]
    assert "proof of the meter" not in spares(store, "show", "A").partition("Record")[2]


def test_a_proof_has_one_id_everywhere() -> None:
    """It follows from the time and the content: two benches that have it, have one record."""
    made = "2026-03-01T09:00:00+00:00"
    first = ProofOf(METER, made, "{}")

    assert first.id == ProofOf(METER, made, "{}").id
    assert first.id != ProofOf(METER, made, "[]").id
    assert first.id[:10] != ProofOf(METER, "2026-03-02T09:00:00+00:00", "{}").id[:10]
    assert ID.fullmatch(first.id)


def test_a_document_that_is_no_json_is_shown_as_it_is(store: str, tmp_path: Path) -> None:
    """Another program may have written it: it is opaque."""
    keep_proof(data_folder() / "proofs", proof())
    check(store, tmp_path, "A")
    with open_bin(store) as shelf:
        lines = exported(shelf)
    place = next(n for n, line in enumerate(lines) if line.startswith(b'{"proof"'))
    changed = json.loads(lines[place])
    changed["proof"]["document"] = "no JSON"
    lines[place] = json.dumps(changed).encode() + b"\n"
    path, other = tmp_path / "heads.jsonl", str(tmp_path / "other.sqlite")
    path.write_bytes(b"".join(lines))
    spares(other, "import", str(path))
    shown = document(other, "show", "A")["record"]["sittings"][0]["meter_proof"]

    assert "no JSON" == shown
