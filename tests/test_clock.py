"""The clocks that sources are given."""

from __future__ import annotations

import time

import pytest

from coilmeter.sources.clock import FastClock, RealClock


def test_the_real_clock_is_the_monotonic_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """Time is the machine's, and a negative sleep is none."""
    slept: list[float] = []
    monkeypatch.setattr(time, "monotonic", lambda: 12.5)
    monkeypatch.setattr(time, "sleep", slept.append)
    clock = RealClock()
    clock.sleep(0.25)
    clock.sleep(-1.0)

    assert clock.now() == 12.5
    assert slept == [0.25, 0.0]


def test_the_fast_clock_runs_by_its_factor(monkeypatch: pytest.MonkeyPatch) -> None:
    """Twenty seconds of a clock of factor 20 pass in one."""
    slept: list[float] = []
    times = iter([100.0, 101.5])
    monkeypatch.setattr(time, "monotonic", lambda: next(times))
    monkeypatch.setattr(time, "sleep", slept.append)
    clock = FastClock(20.0)
    clock.sleep(20.0)
    clock.sleep(-1.0)

    assert clock.now() == 30.0
    assert slept == [1.0, 0.0]


@pytest.mark.parametrize("factor", [0.0, -1.0, float("inf"), float("nan")])
def test_a_clock_that_cannot_run_is_refused(factor: float) -> None:
    """A factor is a finite number above zero."""
    with pytest.raises(ValueError, match="a clock cannot run"):
        FastClock(factor)
