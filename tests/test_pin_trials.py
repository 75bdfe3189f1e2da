"""False bridges and missed leaks at the meter's own uncertainty: few, and counted.

Each head has its own gains, null, counts and contacts, evenly within what the meter states.
The larger runs are in tests/benchmarks/pins.py, their rates in docs/performance.md.
"""

from __future__ import annotations

import pytest
from pin_trials import Said, Trials

HEADS = 250
FEW = 0.01


@pytest.mark.parametrize("meter", ["handheld-4000", "bench-6-digit"])
def test_false_bridges(meter: str) -> None:
    """Of sound heads of five sorts, fewer than one in a hundred are called bridged."""
    said = Trials(meter, seed=1).sound(HEADS)

    assert said[Said.FAULTY] < FEW * HEADS
    assert said[Said.OPEN] < 2 * FEW * HEADS


@pytest.mark.parametrize("meter", ["handheld-4000", "bench-6-digit"])
def test_missed_leaks(meter: str) -> None:
    """Of heads with a leak, fewer than one in a hundred are called sound."""
    said = Trials(meter, seed=2).leaking(HEADS)

    assert said[Said.SOUND] < FEW * HEADS
    assert said[Said.OPEN] < 5 * FEW * HEADS


def test_a_coarse_meter_says_so() -> None:
    """Where the meter's floor is larger than a coil, maps stay open and are not guessed.

    The lowest range of this bench meter is 10 kohm, with a printed limit of 35 ohm.
    """
    said = Trials("bench-5-digit", seed=3).sound(100)

    assert said[Said.OPEN] > 10
    assert said[Said.FAULTY] <= 1
