"""The simulated meter is proved before it judges anything, as a real one should be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from coilmeter.cli.proving_judged import ProofJob, judged
from coilmeter.compute.settings import Settings
from coilmeter.sources.port import MeterStream
from coilmeter.sources.port_events import TimedReading
from coilmeter.sources.simulated import Hands, Move, SimulatedHead
from coilmeter.sources.simulated_person import Attendant
from coilmeter.units import format_ohm
from coilmeter.values import numbered_kind
from coilmeter.values.proofs import KnownResistor, MeterProof, Outcome
from coilmeter.values.unproved import SUFFIX
from coilmeter.walks.proving_told import Part, ProofBegun, ProofEvent, ProofLift

RESISTOR: Final = KnownResistor("220 ohm 1 %", 220.0, 0.01)
TRUE_OHM: Final = 220.7
"""What it really has, within its tolerance."""

_IN_THE_AIR: Final = 5
"""So many readings of OL one after the other mean that the clips are lifted."""


def resistor_on_the_bench() -> SimulatedHead:
    """Put a resistor on the bench, as a head of one coil."""
    return SimulatedHead.of_kind(numbered_kind(1), {"1": TRUE_OHM})


def prove_first(
    settings: Settings, stream: MeterStream, attendant: Attendant
) -> tuple[Settings, MeterProof]:
    """Prove the meter that is open, with a resistor on the bench.

    Returns
    -------
    tuple
        Settings with the meter to judge by, and what was found.  No file is written.

    """
    job = ProofJob(settings.meters[settings.meter], (RESISTOR,))
    walk = job.walk()
    _obey(walk.start(), attendant)
    while not walk.finished:
        for item in stream.poll():
            if isinstance(item, TimedReading):
                _obey(walk.feed(item.at, item.reading), attendant)
    _let_go(stream, attendant)
    proof = judged(job, walk)
    if proof.outcome is not Outcome.ACCEPTED:
        settings = replace(settings, meter=f"{settings.meter}{SUFFIX}")
    return settings, proof


def proof_story(proof: MeterProof) -> str:
    """Tell what was found, without a day: each demonstration proves its meter anew."""
    read = [check.resistor.ohm + check.deviation_ohm for check in proof.checks]
    return (
        f"First the meter was proved: leads of {format_ohm(proof.null_ohm, 0.01)}, "
        f"{RESISTOR.text} read as {format_ohm(read[0], 0.1)}; {proof.meter} is {proof.outcome}."
    )


def _let_go(stream: MeterStream, attendant: Attendant) -> None:
    """Lift the clips, and wait until the meter shows that: what follows begins in the air."""
    attendant.order([Move(0.0, Hands.lift)])
    open_run = 0
    while open_run < _IN_THE_AIR:
        for item in stream.poll():
            if isinstance(item, TimedReading):
                open_run = open_run + 1 if item.reading.overload else 0


def _obey(events: Sequence[ProofEvent], attendant: Attendant) -> None:
    """Have done what a walk asks for."""
    for event in events:
        if isinstance(event, ProofBegun):
            attendant.order(_moves(event.step.part))
        elif isinstance(event, ProofLift):
            attendant.order([Move(0.2, Hands.lift)])


def _moves(part: Part) -> list[Move]:
    lift = Move(0.2, Hands.lift)
    if part is Part.OPEN:
        return [lift]
    if part is Part.RESISTOR:
        return [lift, Move(1.0, lambda hands: hands.clip("1", "2"))]
    return [lift, Move(1.0, Hands.short_leads)]
