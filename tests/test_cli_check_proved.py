"""`coilmeter check` with a meter that is proved, or is not: what counts, and what is said."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from helpers import cli
from proof_typed import METER, RESISTOR, TYPED, proof

from coilmeter.sources.proofs import keep_proof, latest_proof, read_proofs
from coilmeter.sources.sheet import read_sheet
from coilmeter.values.proofs import Outcome

ROWS = b"0.2\n171.2\n171.4\nOL 40 Mohm\n"


def typed_check(folder: Path, *words: str) -> dict[str, Any]:
    """Check a head of two coils, typed."""
    ran = cli(
        *("check", "--kind", "two-channel-rp-no-case", "--meter", "handheld-4000"),
        *("--temperature", "20 +/- 0.1", "--as", "json", "--no-bin"),
        *("--keep", str(folder / "rows.csv"), *words),
        stdin=ROWS,
    )
    return {"said": ran.err, **json.loads(ran.out)}


def test_a_check_without_a_proof_takes_the_default_and_says_so(tmp_path: Path) -> None:
    """Wider, with a caution, and the same when the file is judged again."""
    found = typed_check(tmp_path)
    again = json.loads(cli("judge", str(tmp_path / "rows.csv"), "--as", "json").out)
    (head,), (same,) = found["heads"], again["heads"]

    assert "handheld-4000 is not proved here" in found["said"]
    assert "handheld-4000 (not proved)" == found["meter"]["name"]
    assert any("is not proved" in caution for caution in head["cautions"])
    assert None is found["meter"]["proof"]
    assert [c["resistance_20c_ohm"] for c in head["coils"]] == [
        c["resistance_20c_ohm"] for c in same["coils"]
    ]
    assert head["coils"][0]["u_ohm"] > 171 * 0.01 / math.sqrt(3)


def test_a_check_uses_the_proof_and_says_its_age(tmp_path: Path) -> None:
    """Stated accuracy, and a sentence for the report."""
    cli("meter", "prove", "--meter", "handheld-4000", *RESISTOR, stdin=TYPED)
    found = typed_check(tmp_path)

    assert "proof of today" in found["said"]
    assert "not proved" not in found["said"]
    assert "handheld-4000" == found["meter"]["name"]
    assert "accepted" in found["meter"]["proof"]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"made": "2025-01-01T00:00:00+00:00"}, "that is long ago"),
        ({"outcome": Outcome.REFUSED}, "DO NOT TRUST IT"),
        ({"outcome": Outcome.UNDECIDED}, "nothing is proved"),
    ],
)
def test_an_old_or_failed_proof(
    tmp_path: Path, proofs_folder: Path, change: dict[str, Any], words: str
) -> None:
    """The latest counts, and what is wrong with it is said first."""
    cli("meter", "prove", "--meter", "handheld-4000", *RESISTOR, stdin=TYPED)
    (kept,), _ = read_proofs(proofs_folder)
    for path in proofs_folder.iterdir():
        path.unlink()
    keep_proof(proofs_folder, replace(kept, **change))

    assert words in " ".join(typed_check(tmp_path)["said"].split())


def test_a_proof_of_another_meter_or_port_is_none(proofs_folder: Path) -> None:
    """It is the meter in hand that must be proved."""
    cli("meter", "prove", "--meter", "handheld-4000", *RESISTOR, stdin=TYPED)

    assert None is latest_proof(proofs_folder, "handheld-2000", "typed", "typed")
    assert None is latest_proof(proofs_folder, "handheld-4000", "digits14", "typed")
    assert None is latest_proof(proofs_folder, "handheld-4000", "typed", "/dev/ttyUSB0")


def checked(tmp_path: Path, *words: str) -> Any:
    """Check a head of one coil, typed."""
    return cli(
        *("check", "--kind", "one-erase", "--no-isolation", "--meter", METER, "--no-bin"),
        *("--keep", str(tmp_path / "rows.csv"), *words),
        stdin=b"10.4\n" if words[:1] == ("--lead",) else b"0.2\n10.4\n",
    )


def test_a_check_with_the_null_of_the_proof(proofs_folder: Path, tmp_path: Path) -> None:
    """No step for the leads; the rows carry the null, and the day of the proof."""
    keep_proof(proofs_folder, proof())
    ran = checked(tmp_path, "--lead", "proved")
    (row,) = read_sheet(tmp_path / "rows.csv").rows

    assert "\n1 reading, 2 clip moves\n" in ran.err
    assert row.lead.startswith("0.2000 +/- 0.5")
    assert row.note.startswith("meter proved 20")
    assert "was proved on" in ran.out


def test_a_check_without_that_null(tmp_path: Path, proofs_folder: Path) -> None:
    """There is no proof: nothing is measured and no file is made."""
    ran = checked(tmp_path, "--lead", "proved")

    assert 2 == ran.code
    assert "no accepted proof" in ran.err
    assert not (tmp_path / "rows.csv").exists()
    assert not proofs_folder.exists()


@pytest.mark.parametrize("shape", ["table", "markdown", "json", "html"])
def test_every_shape_says_it(proofs_folder: Path, tmp_path: Path, shape: str) -> None:
    """When it was proved, or that it was not; and a report of the file later on, too."""
    without = checked(tmp_path, "--as", shape)
    (tmp_path / "rows.csv").unlink()
    keep_proof(proofs_folder, proof(made="2026-11-22T12:00:00+00:00"))
    proved = checked(tmp_path, "--as", shape)
    report = cli("report", str(tmp_path / "rows.csv"))

    assert "not proved" in without.out
    assert "not proved" not in proved.out
    assert "2026-11-22" in proved.out
    assert "was proved on 2026-11-22" in report.out


def test_a_refused_meter_stays_marked(proofs_folder: Path, tmp_path: Path) -> None:
    """Its readings say so wherever they are judged."""
    keep_proof(proofs_folder, proof(made="2026-11-22T12:00:00+00:00", outcome=Outcome.REFUSED))
    ran = checked(tmp_path)
    again = cli("judge", str(tmp_path / "rows.csv"))
    told = " ".join(again.out.split())

    assert "DO NOT TRUST IT" in ran.err
    assert "The proof of handheld-4000 on 2026-11-22 refused it" in told
    assert ran.out == again.out


def test_a_sitting_of_two_halves(proofs_folder: Path, tmp_path: Path) -> None:
    """Begun without a proof and gone on with one: each reading is judged by its own."""
    words = ("--kind", "two-channel-rp-no-case", "--lead", "nulled", "--meter", METER)
    place = ("--no-bin", "--keep", str(tmp_path / "rows.csv"), "--as", "json")
    cli("check", *words, *place, stdin=b"171.2\n")
    keep_proof(proofs_folder, proof())
    ran = cli("check", *words, *place, "--resume", stdin=b"171.4\nOL 40 Mohm\n")
    coils = json.loads(ran.out)["heads"][0]["coils"]

    assert [f"{METER} (not proved)", METER] == [coil["meter"] for coil in coils]
    assert coils[0]["u_ohm"] > coils[1]["u_ohm"]
