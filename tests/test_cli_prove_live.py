"""`coilmeter meter prove` over a real connection: accepted, refused, or not decided."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
import math
from contextlib import ExitStack
from functools import partial
from pathlib import Path
from typing import Any
from unittest import mock

import pytest
from helpers import Ran, cli, shipped
from proof_typed import RESISTOR
from simulated_checks import do, needs_pty, station_with

from coilmeter.cli.proof_screen import ProofLines
from coilmeter.sources.port import MeterStream
from coilmeter.sources.proofs import read_proofs
from coilmeter.sources.servers import serve
from coilmeter.sources.simulated import Hands, Move
from coilmeter.sources.simulated_made import sound_head
from coilmeter.values.proofs import Outcome
from coilmeter.walks.proving_told import Part, ProofAgain, ProofBegun, ProofEvent, ProofLift

OHM = 220.0

LIFT = Move(0.4, Hands.lift)


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
def test_a_good_meter_is_accepted(form: str, *, pty: bool, proofs_folder: Path) -> None:
    """Over a real connection, without a key; and the proof is kept."""
    ran = prove(form, pty=pty)
    found = document(ran)
    (kept,), strange = read_proofs(proofs_folder)

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
