"""Files of proofs with numbers that no computer's float can hold."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
from pathlib import Path

import pytest
from helpers import cli
from proof_typed import proof

from coilmeter.cli.folders import DATA
from coilmeter.sources.proofs import keep_proof, parse_proof, proof_document, read_proofs

HUGE = 10**400


def spoilt(place: str) -> str:
    """Write a proof with a whole number in it that is too large."""
    document = json.loads(proof_document(proof()))
    *way, last = place.split(".")
    table = document
    for step in way:
        table = table[int(step) if step.isdigit() else step]
    assert last in table
    table[last] = HUGE
    return json.dumps(document)


PLACES = [
    "null_ohm",
    "open_range_ohm",
    "thermal_ohm",
    "checks.0.e_n",
    "checks.0.range_ohm",
    "checks.0.resistor.ohm",
    "checks.0.taken.count",
    "checks.0.taken.mean_ohm",
]


@pytest.mark.parametrize("place", PLACES)
def test_a_number_too_large(tmp_path: Path, place: str) -> None:
    """The file is named with the number's place, and those beside it are read."""
    path = keep_proof(tmp_path, proof())
    bad = tmp_path / "bad.json"
    bad.write_text(spoilt(place), encoding="utf-8")
    found, strange = read_proofs(tmp_path)
    name = place.rpartition(".")[2]

    assert 1 == len(found)
    assert [f"{bad}: passed over: {name} is larger than any number can be here"] == strange
    assert path.exists()


def test_infinity_in_disguise() -> None:
    """A power of ten beyond what can be held is read as infinite by JSON, and refused here."""
    text = proof_document(proof()).replace('"null_ohm": ', '"null_ohm": 1e999, "was": ', 1)

    with pytest.raises(ValueError, match="null_ohm is larger"):
        parse_proof(text)


def test_commands_go_on_beside_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What reads proofs names the file, and does its work."""
    monkeypatch.setenv(DATA, str(tmp_path))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "proofs").mkdir()
    (tmp_path / "proofs" / "bad.json").write_text(spoilt("null_ohm"), encoding="utf-8")
    listed = cli("meter", "proofs")
    checked = cli("check", "--coils", "1", "--lead", "nulled", "--no-bin", "--keep", "k.csv")

    assert (0, 1) == (listed.code, checked.code)
    assert "null_ohm is larger" in " ".join(listed.out.split())
    assert "bad.json: passed over: null_ohm is larger" in checked.err
