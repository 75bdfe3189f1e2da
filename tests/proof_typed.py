"""Proofs of a meter that are typed, at the command and at its walk."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

from helpers import shipped

from coilmeter.cli.proving_judged import ProofJob, judged
from coilmeter.values.proofs import KnownResistor, MeterProof

RESISTOR = ("--resistor", "220 ohm 1%")

TYPED = b"0.2 ohm\n0.2 ohm\nOL 40 Mohm\n220.6 ohm\n"

METER: Final = "handheld-4000"
KNOWN: Final = KnownResistor("220 ohm 1%", 220.0, 0.01)


def proof(*typed: str, **changes: Any) -> MeterProof:
    """Prove a meter, typed."""
    job = ProofJob(shipped().meter(METER), (KNOWN,))
    walk = job.walk()
    for text in typed or ("0.2 ohm", "0.2 ohm", "OL 40 Mohm", "220.6 ohm"):
        walk.type(text)
    return replace(judged(job, walk), **changes)
