"""`coilmeter meter prove`, typed: what is doubted, kept, left out, and told at the end."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from pathlib import Path

import pytest
from helpers import cli, shipped
from walk_helpers import ohms_of

from coilmeter.cli.folders import DATA
from coilmeter.cli.proving_judged import ProofJob, judged
from coilmeter.sources.proofs import latest_proof
from coilmeter.values.proofs import Outcome

RESISTOR = ("--resistor", "220 ohm 1%")


@pytest.fixture(autouse=True)
def own_data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keep proofs in a folder of the test."""
    monkeypatch.setenv(DATA, str(tmp_path / "data"))
    return tmp_path / "data" / "proofs"


@pytest.mark.parametrize("second", [b"500 ohm", b"keep"])
def test_a_bad_meter_is_recorded_when_typed(own_data: Path, second: bytes) -> None:
    """Far from the nominal value twice, or kept, it is refused; the prompt says how."""
    typed = b"0.2 ohm\n0.2 ohm\nOL 40 Mohm\n500 ohm\n" + second + b"\n"
    ran = cli("meter", "prove", "--meter", "handheld-4000", *RESISTOR, stdin=typed)
    proof = latest_proof(own_data, "handheld-4000", "typed", "typed")

    assert 1 == ran.code
    assert "another resistor? Clean the clips" in ran.err
    assert "the same twice counts; or keep" in ran.err
    assert proof is not None
    assert Outcome.REFUSED == proof.outcome


def test_a_reading_that_was_asked_about_is_not_lost(own_data: Path) -> None:
    """The input ends before it was confirmed: undecided, with what was read and why."""
    typed = b"0.2 ohm\n0.2 ohm\nOL 40 Mohm\n235.0 ohm\n"
    ran = cli("meter", "prove", "--meter", "handheld-4000", *RESISTOR, stdin=typed)
    proof = latest_proof(own_data, "handheld-4000", "typed", "typed")
    why = "" if proof is None else " ".join(proof.why)

    assert 1 == ran.code
    assert "220 ohm 1% read 235 ohm once" in why
    assert "no known resistor was read" not in why


def test_leads_typed_at_the_end() -> None:
    """Skipped at first, warned about at once, asked for again: the resistor still counts."""
    typed = b"skip\n0.2 ohm\nOL 40 Mohm\n220.6 ohm\n0.2 ohm\n"
    ran = cli("meter", "prove", "--meter", "handheld-4000", *RESISTOR, stdin=typed)

    assert 0 == ran.code
    assert "without the leads together nothing is proved" in ran.err
    assert "[5/5] clip the two clips together" in ran.err
    assert "accepted" in ran.out


def test_without_leads_what_was_read_is_told() -> None:
    """Nothing can be proved by it, and it is not lost."""
    typed = b"skip\nskip\nskip\n220.6 ohm\nskip\n"
    ran = cli("meter", "prove", "--meter", "handheld-4000", *RESISTOR, stdin=typed)

    assert 2 == ran.code
    assert "read so far: 220 ohm 1% 220.6 ohm" in ran.err


def test_open_leads_that_read_ohms_are_not_open() -> None:
    """Kept by a key, such a reading decides nothing of what the meter says of open leads."""
    job = ProofJob(shipped().meter("handheld-4000"), ())
    walk = job.walk()
    walk.type("0.2 ohm")
    walk.type("0.2 ohm")
    walk.keep_it()
    for tenth in range(80):
        walk.feed(tenth / 10, ohms_of(12e6, 1e4))
    proof = judged(job, walk)

    assert not proof.open_read
    assert "open leads read 12 Mohm and not OL" in " ".join(proof.why)
