"""Proofs on disk, damaged or not; and what later readings and reports say of them."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import errno
import json
import math
import os
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final
from unittest import mock

import pytest
from helpers import cli, one_head, settings, shipped
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from coilmeter.cli import proofs
from coilmeter.cli.folders import DATA
from coilmeter.cli.proofs import trust, with_null_of_proof
from coilmeter.cli.proving_judged import ProofJob, judged
from coilmeter.compute.proof_notes import proof_lines, proof_note
from coilmeter.errors import InputError, StoreError
from coilmeter.sources.port_identity import UsbIdentity
from coilmeter.sources.proofs import keep_proof, latest_proof, port_key, read_proofs
from coilmeter.sources.sheet import read_sheet
from coilmeter.values.proofs import KnownResistor, MeterProof, Outcome

METER: Final = "handheld-4000"
KNOWN: Final = KnownResistor("220 ohm 1%", 220.0, 0.01)
SOME_JSON: Final = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=9),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=9), inner),
    max_leaves=8,
)


def proof(*typed: str, **changes: Any) -> MeterProof:
    """Prove a meter, typed."""
    job = ProofJob(shipped().meter(METER), (KNOWN,))
    walk = job.walk()
    for text in typed or ("0.2 ohm", "0.2 ohm", "OL 40 Mohm", "220.6 ohm"):
        walk.type(text)
    return replace(judged(job, walk), **changes)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keep proofs in a folder of the test."""
    monkeypatch.setenv(DATA, str(tmp_path / "data"))
    return tmp_path / "data" / "proofs"


def test_what_is_read_back_is_what_was_kept(folder: Path) -> None:
    """All of it, and nothing is left beside it."""
    there = proof()
    path = keep_proof(folder, there)

    assert ([there], []) == read_proofs(folder)
    assert [path] == list(folder.iterdir())
    assert "coilmeter-proof/1" == json.loads(path.read_text())["schema"]


def test_no_proof_is_ever_written_over(folder: Path) -> None:
    """A hundred of one moment are a hundred files."""
    there = proof()
    for _ in range(100):
        keep_proof(folder, there)

    assert 100 == len(list(folder.iterdir()))


def test_the_latest_of_a_meter_and_port_counts(folder: Path) -> None:
    """By when it was made, whatever the zone it was written in."""
    keep_proof(folder, proof(made="2026-11-25T12:00:00+02:00", outcome=Outcome.REFUSED))
    keep_proof(folder, proof(made="2026-11-25T11:00:00+00:00"))
    keep_proof(folder, proof(made="2026-11-26T11:00:00+00:00", meter="other"))
    found = latest_proof(folder, METER, "typed", "typed")

    assert found is not None
    assert Outcome.ACCEPTED is found.outcome


@given(st.data())
@hypothesis_settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_change_of_a_file_is_read_or_named(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """Whatever stands in the place of a value, nothing worse happens than a line about it."""
    folder = tmp_path_factory.mktemp("proofs")
    path = keep_proof(folder, proof())
    document = json.loads(path.read_text())
    table = data.draw(st.sampled_from([document, document["checks"][0]]))
    table[data.draw(st.sampled_from(sorted(table)))] = data.draw(SOME_JSON)
    path.write_text(json.dumps(document))
    found, strange = read_proofs(folder)

    assert 1 == len(found) + len(strange)
    assert all(math.isfinite(each.null_ohm) for each in found)
    assert all(str(path) in line for line in strange)


@given(cut=st.integers(0, 200), junk=st.binary(max_size=20))
@hypothesis_settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_cut_or_torn_file_is_named(
    tmp_path_factory: pytest.TempPathFactory, cut: int, junk: bytes
) -> None:
    """A file that ends too early, or goes on as something else, is no proof."""
    folder = tmp_path_factory.mktemp("proofs")
    path = keep_proof(folder, proof())
    path.write_bytes(path.read_bytes()[:cut] + junk)

    found, strange = read_proofs(folder)

    assert [] == found
    assert 1 == len(strange)


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"\xff\xfe", "damaged, or no JSON"),
        (b"[" * 100_000, "damaged, or no JSON"),
        (b"{}", "schema is missing"),
        (b'{"schema": "other"}', "no proof"),
        (b'{"schema": "coilmeter-proof/9"}', "of a later version of this program"),
        (b'{"schema": "coilmeter-proof/1", "made": "2026-11-25"}', "without a time zone"),
        (b'{"schema": "coilmeter-proof/1", "made": NaN}', "NaN in the place of a number"),
    ],
)
def test_why_a_file_is_passed_over(folder: Path, content: bytes, why: str) -> None:
    """In a few words."""
    folder.mkdir(parents=True)
    (folder / "odd.json").write_bytes(content)
    _, (line,) = read_proofs(folder)

    assert why in line


def test_an_overload_past_the_highest_range_is_kept_with_its_end(folder: Path) -> None:
    """No file may hold an infinity."""
    keep_proof(folder, proof("0.2 ohm", "0.2 ohm", "OL auto", "220.6 ohm"))
    (found,), _ = read_proofs(folder)

    assert 40e6 == found.open_range_ohm


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


def test_a_folder_in_the_place_of_a_file(folder: Path) -> None:
    """It is named like any other."""
    (folder / "odd.json").mkdir(parents=True)
    _, (line,) = read_proofs(folder)

    assert "cannot be read" in line


def test_a_full_disk_leaves_nothing_behind(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Neither half a proof nor the beginning of one."""

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(StoreError, match="No space left"):
        keep_proof(folder, proof())

    assert [] == list(folder.iterdir())


CABLE: Final = UsbIdentity(0x1A86, 0x7523, "", "1-2")


@pytest.mark.parametrize(
    ("identity", "key"),
    [
        (None, "/dev/ttyUSB0"),
        (CABLE, "usb 1a86:7523 at 1-2"),
        (replace(CABLE, serial="A7"), "usb 1a86:7523 serial A7"),
        (replace(CABLE, serial="0001", shared=True), "usb 1a86:7523 at 1-2"),
        (replace(CABLE, location=""), "usb 1a86:7523 at /dev/ttyUSB0"),
    ],
)
def test_how_a_port_is_known_again(
    identity: UsbIdentity | None, key: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By a serial number of its own, else by where it is plugged in."""
    monkeypatch.setattr("coilmeter.sources.proofs.identity_of", lambda _: identity)

    assert key == port_key("/dev/ttyUSB0")
    assert "typed" == port_key("")


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
def test_how_old_it_is(folder: Path, now: datetime, days: float, words: str) -> None:
    """In the first line that is said."""
    keep_proof(folder, proof(made=(now - timedelta(days=days)).isoformat()))
    found = trust(settings(meter=METER), None, "")

    assert words in found.lines[0]
    assert METER == found.settings.meter
    assert found.verified


@pytest.mark.usefixtures("folder")
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


def test_the_null_of_a_proof(folder: Path) -> None:
    """With its uncertainty and the last digits of the meter, as text that a file can hold."""
    keep_proof(folder, proof())
    found = with_null_of_proof(trust(settings(meter=METER), None, ""))
    half = math.sqrt(3) * math.hypot(0.1 / math.sqrt(3) / math.sqrt(2), 5 * 0.1 / math.sqrt(3))

    assert f"0.2000 +/- {half:.4f} ohm" == found.settings.lead
    assert "the same leads and plugs" in found.lines[-1]


def test_no_null_without_a_proof(folder: Path) -> None:
    """One that was refused is none either."""
    keep_proof(folder, proof(outcome=Outcome.REFUSED))
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


def checked(tmp_path: Path, *words: str) -> Any:
    """Check a head of one coil, typed."""
    return cli(
        *("check", "--kind", "one-erase", "--no-isolation", "--meter", METER, "--no-bin"),
        *("--keep", str(tmp_path / "rows.csv"), *words),
        stdin=b"10.4\n" if words[:1] == ("--lead",) else b"0.2\n10.4\n",
    )


def test_a_check_with_the_null_of_the_proof(folder: Path, tmp_path: Path) -> None:
    """No step for the leads; the rows carry the null, and the day of the proof."""
    keep_proof(folder, proof())
    ran = checked(tmp_path, "--lead", "proved")
    (row,) = read_sheet(tmp_path / "rows.csv").rows

    assert "\n1 reading, 2 clip moves\n" in ran.err
    assert row.lead.startswith("0.2000 +/- 0.5")
    assert row.note.startswith("meter proved 20")
    assert "was proved on" in ran.out


def test_a_check_without_that_null(tmp_path: Path, folder: Path) -> None:
    """There is no proof: nothing is measured and no file is made."""
    ran = checked(tmp_path, "--lead", "proved")

    assert 2 == ran.code
    assert "no accepted proof" in ran.err
    assert not (tmp_path / "rows.csv").exists()
    assert not folder.exists()


@pytest.mark.parametrize("shape", ["table", "markdown", "json", "html"])
def test_every_shape_says_it(folder: Path, tmp_path: Path, shape: str) -> None:
    """When it was proved, or that it was not; and a report of the file later on, too."""
    without = checked(tmp_path, "--as", shape)
    (tmp_path / "rows.csv").unlink()
    keep_proof(folder, proof(made="2026-11-22T12:00:00+00:00"))
    proved = checked(tmp_path, "--as", shape)
    report = cli("report", str(tmp_path / "rows.csv"))

    assert "not proved" in without.out
    assert "not proved" not in proved.out
    assert "2026-11-22" in proved.out
    assert "was proved on 2026-11-22" in report.out


def test_a_refused_meter_stays_marked(folder: Path, tmp_path: Path) -> None:
    """Its readings say so wherever they are judged."""
    keep_proof(folder, proof(made="2026-11-22T12:00:00+00:00", outcome=Outcome.REFUSED))
    ran = checked(tmp_path)
    again = cli("judge", str(tmp_path / "rows.csv"))
    told = " ".join(again.out.split())

    assert "DO NOT TRUST IT" in ran.err
    assert "The proof of handheld-4000 on 2026-11-22 refused it" in told
    assert ran.out == again.out


def test_a_sitting_of_two_halves(folder: Path, tmp_path: Path) -> None:
    """Begun without a proof and gone on with one: each reading is judged by its own."""
    words = ("--kind", "two-channel-rp-no-case", "--lead", "nulled", "--meter", METER)
    place = ("--no-bin", "--keep", str(tmp_path / "rows.csv"), "--as", "json")
    cli("check", *words, *place, stdin=b"171.2\n")
    keep_proof(folder, proof())
    ran = cli("check", *words, *place, "--resume", stdin=b"171.4\nOL 40 Mohm\n")
    coils = json.loads(ran.out)["heads"][0]["coils"]

    assert [f"{METER} (not proved)", METER] == [coil["meter"] for coil in coils]
    assert coils[0]["u_ohm"] > coils[1]["u_ohm"]
