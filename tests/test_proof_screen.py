"""The big screen of a proof: what to do, the value, and what was taken."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import io

from rich.console import Console
from walk_helpers import ohms_of

from coilmeter.cli.proof_screen import ProofBench, proof_sentence
from coilmeter.values.proofs import Taken
from coilmeter.walks.proving_told import (
    AskDisplay,
    Part,
    ProofAdvice,
    ProofAgain,
    ProofBack,
    ProofBegun,
    ProofDone,
    ProofLift,
    ProofStep,
    ProofTaken,
)


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
