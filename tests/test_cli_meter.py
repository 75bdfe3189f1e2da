"""`coilmeter meter`: proved over a real connection, typed, listed, watched; `check` after."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import io
import json
import math
import subprocess
from contextlib import ExitStack
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any
from unittest import mock

import pytest
from helpers import Ran, cli, shipped
from rich.console import Console
from simulated_checks import do, needs_pty, station_with
from walk_helpers import ohms_of
from walk_processes import command, surroundings

from coilmeter.cli.folders import DATA
from coilmeter.cli.proof_screen import ProofBench, ProofLines, proof_sentence
from coilmeter.sources.port import MeterStream
from coilmeter.sources.proofs import keep_proof, latest_proof, read_proofs
from coilmeter.sources.servers import serve
from coilmeter.sources.simulated import Hands, Move
from coilmeter.sources.simulated_made import sound_head
from coilmeter.values.proofs import Outcome, Taken
from coilmeter.walks.proving_told import (
    AskDisplay,
    Part,
    ProofAdvice,
    ProofAgain,
    ProofBack,
    ProofBegun,
    ProofDone,
    ProofEvent,
    ProofLift,
    ProofStep,
    ProofTaken,
)
from coilmeter.wire import formats

OHM = 220.0
RESISTOR = ("--resistor", "220 ohm 1%")
LIFT = Move(0.4, Hands.lift)
TYPED = b"0.2 ohm\n0.2 ohm\nOL 40 Mohm\n220.6 ohm\n"


@pytest.fixture(autouse=True)
def own_data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keep proofs in a folder of the test."""
    monkeypatch.setenv(DATA, str(tmp_path / "data"))
    return tmp_path / "data" / "proofs"


def prove(form: str, *faults: str, pty: bool = False, words: tuple[str, ...] = RESISTOR) -> Ran:
    """Prove a simulated meter: someone does what is asked for, and the clock runs fast."""
    kind = shipped().kind("one-channel-rp")
    head = sound_head(kind, shipped().bands).with_resistance("1", OHM).at_temperature(20.0)
    station = station_with(head, form, pty=pty)
    do(station, *faults)

    class Person(ProofLines):
        """Does what is asked."""

        def happened(self, event: ProofEvent) -> None:
            """Do it, after showing it."""
            super().happened(event)
            match event:
                case ProofBegun(step=step) if step.part is Part.RESISTOR:
                    station.move(LIFT, Move(1.5, lambda hands: hands.clip("1", "2")))
                case ProofBegun(step=step) if step.part is not Part.OPEN:
                    station.move(LIFT, Move(1.5, Hands.short_leads))
                case ProofAgain(step=step):
                    self.happened(ProofBegun(step, 0, 0))
                case ProofBegun() | ProofLift():
                    station.move(LIFT)
                case _:
                    pass

    with ExitStack() as stack:
        stack.enter_context(station)
        stack.enter_context(serve(station.wire, station.port()))
        for name, thing in (
            ("proving.RealClock", lambda: station.clock),
            ("connection.MeterStream", partial(MeterStream, silent_after=math.inf)),
            ("proving.make_proof_screen", Person),
        ):
            stack.enter_context(mock.patch(f"coilmeter.cli.{name}", thing))
        return cli(
            *("meter", "prove", "--meter", station.model.name, "--as", "json"),
            *("--port", station.port().where, "--format", form),
            *words,
        )


def document(ran: Ran) -> dict[str, Any]:
    """Read the JSON of a proof."""
    assert ran.out, ran.err
    return dict(json.loads(ran.out))


@pytest.mark.parametrize(
    ("form", "pty"),
    [pytest.param("digits14", True, marks=needs_pty), ("scpi", False), ("stx16", False)],
)
def test_a_good_meter_is_accepted(form: str, *, pty: bool, own_data: Path) -> None:
    """Over a real connection, without a key; and the proof is kept."""
    ran = prove(form, pty=pty)
    found = document(ran)
    (kept,), strange = read_proofs(own_data)

    assert (0, "accepted") == (ran.code, found["outcome"])
    assert Outcome.ACCEPTED is kept.outcome
    assert [] == strange
    assert 0.0 < kept.null_ohm < 1.0
    assert kept.checks[0].taken.count >= 10
    assert kept.checks[0].taken.raw


@pytest.mark.parametrize("form", ["digits14", "plain"])
def test_a_gain_error_of_three_per_cent_is_refused(form: str) -> None:
    """With the figure that disagrees."""
    ran = prove(form, "gain 3%")

    assert (1, "refused") == (ran.code, document(ran)["outcome"])
    assert any("more than both explain" in why for why in document(ran)["why"])


def test_a_resistor_too_wide_decides_nothing() -> None:
    """It says which would."""
    ran = prove("digits14", words=("--resistor", "220 ohm 10%"))

    assert (1, "undecided") == (ran.code, document(ran)["outcome"])
    assert any("or less" in why for why in document(ran)["why"])


def test_without_a_resistor_accuracy_is_not_proved() -> None:
    """Leads alone say nothing of it."""
    ran = prove("digits14", words=())

    assert (1, "undecided") == (ran.code, document(ran)["outcome"])


@pytest.mark.parametrize(
    ("answer", "outcome"), [(b"y\n", "accepted"), (b"n\n", "refused"), (b"", "undecided")]
)
def test_a_format_from_memory_asks_for_the_display(
    answer: bytes, outcome: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only a person sees whether the bytes mean what the display shows."""
    said = answer.decode().strip() or None
    asked: list[str] = []

    def answering(question: str) -> str | None:
        asked.append(question)
        return said

    monkeypatch.setattr("coilmeter.cli.proving.ask", answering)
    ran = prove("segments14")

    assert outcome == document(ran)["outcome"]
    assert "not verified" in ran.err
    assert (1 if said == "n" else 2) == len(asked)


def test_typed(own_data: Path) -> None:
    """A meter without a data output is proved as well; what is wrong is asked again."""
    ran = cli(
        *("meter", "prove", "--meter", "handheld-4000", *RESISTOR),
        stdin=b"nonsense\n" + TYPED.replace(b"OL", b"5 ohm\nOL"),
    )
    proof = latest_proof(own_data, "handheld-4000", "typed", "typed")

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
    tmp_path: Path, own_data: Path, change: dict[str, Any], words: str
) -> None:
    """The latest counts, and what is wrong with it is said first."""
    cli("meter", "prove", "--meter", "handheld-4000", *RESISTOR, stdin=TYPED)
    (proof,), _ = read_proofs(own_data)
    for path in own_data.iterdir():
        path.unlink()
    keep_proof(own_data, replace(proof, **change))

    assert words in " ".join(typed_check(tmp_path)["said"].split())


def test_a_proof_of_another_meter_or_port_is_none(own_data: Path) -> None:
    """It is the meter in hand that must be proved."""
    cli("meter", "prove", "--meter", "handheld-4000", *RESISTOR, stdin=TYPED)

    assert None is latest_proof(own_data, "handheld-2000", "typed", "typed")
    assert None is latest_proof(own_data, "handheld-4000", "digits14", "typed")
    assert None is latest_proof(own_data, "handheld-4000", "typed", "/dev/ttyUSB0")


@pytest.mark.parametrize(
    "content",
    ["", "{", "[]", '{"schema": "coilmeter-proof/2"}', '{"schema": "coilmeter-proof/1"}'],
)
def test_files_that_are_no_proofs_are_named(own_data: Path, content: str) -> None:
    """Damaged, foreign or later ones stop nothing."""
    cli("meter", "prove", "--meter", "handheld-4000", *RESISTOR, stdin=TYPED)
    (own_data / "odd.json").write_text(content)
    ran = cli("meter", "proofs")

    assert 0 == ran.code
    assert "handheld-4000" in ran.out
    assert "odd.json" in ran.out.replace("\n", "")


def test_no_proofs_yet() -> None:
    """It says how to make one."""
    assert "coilmeter meter prove" in cli("meter", "proofs").out


def test_a_proof_that_cannot_be_kept(own_data: Path) -> None:
    """Exit code 4, and the reason."""
    own_data.parent.mkdir()
    own_data.write_text("in the way")
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


def test_the_big_screen_of_a_proof() -> None:
    """What to do, the value, the advice, the keys; and what was taken stays."""
    file = io.StringIO()
    console = Console(file=file, force_terminal=True, width=80, height=30, _environ={})
    step = ProofStep(Part.SHORT)
    with ProofBench(console) as screen:
        screen.happened(ProofBegun(step, 1, 3))
        screen.reading(ohms_of(0.2), lifting=False)
        screen.happened(ProofAdvice("something"))
        screen.happened(ProofTaken(step, Taken(0.2, 0.01, 12)))
        screen.happened(AskDisplay(step, Taken(0.2, 0.01, 12)))
        screen.happened(ProofLift())
        screen.reading(ohms_of(0.2), lifting=True)
        screen.reading(ohms_of(0.2), lifting=False)
        screen.happened(ProofAgain(step, "too much", Taken(0.9)))
        screen.happened(ProofBack(ProofTaken(step, Taken(0.2, 0.01, 12))))
        screen.happened(ProofTaken(ProofStep(Part.OPEN), None, 40e6))
        screen.happened(ProofDone())
    drawn = file.getvalue()
    left = drawn[drawn.rindex("r the one before again") :]

    assert "\a\a\a" in drawn
    assert "y it shows the same" in drawn
    assert "too much. Lift, clean the clips" in drawn
    assert "leads together  0.2 ohm, 12 readings" in drawn
    assert "taken  leads together" not in left
    assert "taken back  leads together" in left
    assert "OL past 40 Mohm" in drawn
    assert "done" == proof_sentence(ProofDone())
