"""Walks over coils, fed at exact times: what the clips read, and how often."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import pytest
from walk_helpers import OL, Tape, names, ohms_of, steps_of, walk_over

from coilmeter.values import numbered_kind

TIP = ohms_of(0.2)

COIL = ohms_of(171.3)
OTHER = ohms_of(172.9)

RATES = pytest.mark.parametrize("rate_hz", [2.0, 3.0, 5.0, 10.0])


def tape(coils: int = 3, *, rate_hz: float = 10.0, lead_null: bool = False) -> Tape:
    """Make a walk over so many coils and nothing else, and let the clips be in the air."""
    steps = steps_of(numbered_kind(coils), lead_null=lead_null)
    made = Tape(walk_over(steps), rate_hz)
    made.play(1.0, OL)
    return made


def asked(rate_hz: float = 10.0) -> Tape:
    """Make a walk that has just asked whether the clips touch."""
    made = tape(rate_hz=rate_hz)
    made.play(4.0, OL)
    assert ["AskBridge"] == names(made.events)
    return made
