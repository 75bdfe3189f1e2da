"""What is said of a proof: before it is made, as it ages, and in notes of readings."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final
from unittest import mock

import pytest
from helpers import one_head, settings, shipped
from proof_typed import KNOWN, METER, proof

from coilmeter.cli import proofs
from coilmeter.cli.proofs import trust, with_null_of_proof
from coilmeter.cli.proving_judged import ProofJob
from coilmeter.compute.proof_notes import proof_lines, proof_note
from coilmeter.errors import InputError
from coilmeter.sources.proofs import keep_proof
from coilmeter.values.proofs import KnownResistor, Outcome


@pytest.mark.parametrize(
    ("resistor", "words"),
    [
        (KNOWN, []),
        (KnownResistor("220 ohm 5%", 220.0, 0.05), ["! 220 ohm 5% proves nothing"]),
        (KnownResistor("90 Mohm 1%", 90e6, 0.01), ["past the ranges"]),
        (None, ["! no --resistor"]),
    ],
)
def test_what_cannot_be_proved_is_said_before(
    resistor: KnownResistor | None, words: list[str]
) -> None:
    """Nobody spends two minutes for nothing."""
    job = ProofJob(shipped().meter(METER), () if resistor is None else (resistor,))
    said = job.foreseen()

    assert len(words) == len(said)
    assert all(word in line for word, line in zip(words, said, strict=True))


@pytest.fixture
def now() -> Iterator[datetime]:
    """Stop the clock of the calendar."""
    today = datetime(2026, 11, 25, 12, tzinfo=UTC)
    with mock.patch.object(proofs, "datetime", wraps=datetime) as clock:
        clock.now.return_value = today
        yield today


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (0.2, "proof of today (2026-11-25) with 220 ohm 1% accepted on the 400 ohm range"),
        (1.2, "proof of yesterday (2026-11-24)"),
        (3.0, "proof of 3 days ago (2026-11-22)"),
        (91.0, "that is long ago, prove it: coilmeter meter prove"),
    ],
)
def test_how_old_it_is(proofs_folder: Path, now: datetime, days: float, words: str) -> None:
    """In the first line that is said."""
    keep_proof(proofs_folder, proof(made=(now - timedelta(days=days)).isoformat()))
    found = trust(settings(meter=METER), None, "")

    assert words in found.lines[0]
    assert METER == found.settings.meter
    assert found.verified


@pytest.mark.usefixtures("proofs_folder")
@pytest.mark.parametrize(
    ("meter", "judged_by", "words"),
    [
        (METER, f"{METER} (not proved)", f"! {METER} is not proved here"),
        (f"{METER} (not proved)", f"{METER} (not proved)", f"! {METER} is not proved here"),
        ("unstated", "unstated", "! no meter is named, and none proved"),
    ],
)
def test_without_a_proof(meter: str, judged_by: str, words: str) -> None:
    """The default counts; of a meter that nobody named it does anyway."""
    found = trust(settings(meter=meter), None, "")

    assert judged_by == found.settings.meter
    assert words in found.lines[0]
    assert not found.verified


def test_the_null_of_a_proof(proofs_folder: Path) -> None:
    """With its uncertainty and the last digits of the meter, as text that a file can hold."""
    keep_proof(proofs_folder, proof())
    found = with_null_of_proof(trust(settings(meter=METER), None, ""))
    half = math.sqrt(3) * math.hypot(0.1 / math.sqrt(3) / math.sqrt(2), 5 * 0.1 / math.sqrt(3))

    assert f"0.2000 +/- {half:.4f} ohm" == found.settings.lead
    assert "the same leads and plugs" in found.lines[-1]


def test_no_null_without_a_proof(proofs_folder: Path) -> None:
    """One that was refused is none either."""
    keep_proof(proofs_folder, proof(outcome=Outcome.REFUSED))
    with pytest.raises(InputError, match="no accepted proof of handheld-4000"):
        with_null_of_proof(trust(settings(meter=METER), None, ""))


DAY: Final = "2026-11-22T10:00:00+00:00"


@pytest.mark.parametrize(
    ("outcome", "time", "line"),
    [
        (Outcome.ACCEPTED, "2026-11-25T10:00:00+00:00", "m was proved on 2026-11-22."),
        (Outcome.ACCEPTED, "", "m was proved on 2026-11-22."),
        (Outcome.ACCEPTED, "2027-02-20T10:00:00+00:00", "m was proved on 2026-11-22."),
        (
            Outcome.ACCEPTED,
            "2027-02-21T10:00:00+00:00",
            "m was proved on 2026-11-22, 91 days before these readings: prove it again.",
        ),
        (
            Outcome.REFUSED,
            "",
            (
                "The proof of m on 2026-11-22 refused it: do not trust these readings before "
                "another one accepts it."
            ),
        ),
        (Outcome.UNDECIDED, "x", "The proof of m on 2026-11-22 decided nothing."),
    ],
)
def test_what_notes_say_later(outcome: Outcome, time: str, line: str) -> None:
    """Without a clock and without the proof; once, however many readings there are."""
    note = f"low battery; {proof_note(outcome, DAY)}"

    assert [line] == list(proof_lines([("m (not proved)", note, time)] * 3))
    assert [] == list(proof_lines([("m", "meter proved tomorrow", time)]))


@pytest.mark.parametrize("day", ["2026-13-45", "9999-99-99"])
def test_a_note_with_no_such_day(day: str) -> None:
    """Written by hand, it is repeated and nothing is computed from it."""
    (line,) = proof_lines([("", f"meter proved {day}", DAY)])

    assert f"the meter was proved on {day}." == line


def test_judging_a_file_says_it_again() -> None:
    """The note of a reading is enough."""
    head = one_head(
        "coil,reading,meter,time,note\n"
        f"1,171.0,{METER},2026-11-25T10:00:00+00:00,meter proved 2026-11-22\n"
    )

    assert f"{METER} was proved on 2026-11-22." in head.cautions
