"""A stream of readings to settled or still moving, at exact times."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilmeter.compute.settle import CREEP_LEAST, Settled, Settler, SettleRule

Sample = tuple[float, float]


def feed(samples: Sequence[Sample], *, step: float = 0.1) -> tuple[Settled[int] | None, float]:
    """Feed (time, ohm) until it settles; give the run and the time, or None and the last."""
    settler = Settler[int](SettleRule())
    at = 0.0
    for number, (at, ohm) in enumerate(samples):
        settled = settler.feed(at, ohm, step, number)
        if settled is not None:
            return settled, at
    return None, at


def steady(ohm: float, *, rate_hz: float, seconds: float = 5.0) -> list[Sample]:
    """Make the same reading at an even rate."""
    return [(number / rate_hz, ohm) for number in range(int(seconds * rate_hz) + 1)]


@pytest.mark.parametrize(
    ("rate_hz", "expected"), [(2.0, 1.5), (2.5, 1.2), (4.0, 1.0), (10.0, 0.8), (50.0, 0.8)]
)
def test_a_steady_value_settles(rate_hz: float, expected: float) -> None:
    """After 0.8 s, and after four readings of a slow meter."""
    settled, at = feed(steady(171.3, rate_hz=rate_hz))

    assert settled is not None
    assert 171.3 == pytest.approx(settled.mean_ohm)
    assert expected == pytest.approx(at)


def test_bounce_is_no_part_of_the_run() -> None:
    """What jumped at first is left out of the mean, to the last reading."""
    bounce = [(0.0, 480.0), (0.1, 171.0), (0.2, 260.0), (0.3, 176.0)]
    rest = [(0.4 + number / 10, 171.3) for number in range(20)]
    settled, at = feed([*bounce, *rest])

    assert settled is not None
    assert 4 == settled.items[0]
    assert 1.2 == pytest.approx(at)
    assert 0.0 == pytest.approx(settled.scatter_ohm)


def test_slow_settling_is_waited_for() -> None:
    """A value that runs in exponentially is taken within half a percent of its end."""
    samples = [(number / 10, 171.3 * (1 + 0.3 * math.exp(-number / 8))) for number in range(80)]
    settled, at = feed(samples)

    assert settled is not None
    assert 171.3 == pytest.approx(settled.mean_ohm, rel=0.006)
    assert at > 2.5


def test_megohms_are_held_for_longer() -> None:
    """Above 1 Mohm the run lasts two seconds: meters are slow there."""
    settled, at = feed(steady(2.2e6, rate_hz=10.0), step=1e3)

    assert settled is not None
    assert 2.0 == pytest.approx(at)


def test_last_digits_may_flicker() -> None:
    """Three last digits are no movement, however small the value."""
    flicker = [(number / 10, 0.2 + 0.1 * (number % 4)) for number in range(20)]
    settled, _ = feed(flicker)
    moved, _ = feed([(at, 2 * ohm) for at, ohm in flicker])

    assert settled is not None
    assert moved is None


def test_mean_and_scatter_are_those_of_the_run() -> None:
    """The scatter is the standard deviation of the readings, n - 1 below (GUM 4.2.2)."""
    values = [171.2, 171.4, 171.2, 171.4, 171.3, 171.3, 171.2, 171.4, 171.3]
    settled, _ = feed([(number / 10, value) for number, value in enumerate(values)])

    assert settled is not None
    assert 9 == settled.count
    assert 171.3 == pytest.approx(settled.mean_ohm)
    # by hand: six deviations of 0.1 and three of nothing
    assert math.sqrt(6 * 0.01 / 8) == pytest.approx(settled.scatter_ohm)


def test_a_burst_of_one_time_stamp_is_no_time() -> None:
    """Readings that arrive together do not make a run that lasted."""
    settled, _ = feed([(0.0, 171.3)] * 500)
    later, at = feed([*[(0.0, 171.3)] * 50, *[(0.8, 171.3)] * 50])

    assert settled is None
    assert later is not None
    assert 0.8 == pytest.approx(at)


def creep(rate: float, *, noise: float = 0.0, rate_hz: float = 10.0) -> list[Sample]:
    """Make a value that grows by a fraction a second, with noise in ohm."""
    chance = random.Random(5)  # noqa: S311 - noise, no secret
    return [
        (number / rate_hz, 171.3 * (1 + rate * number / rate_hz) + chance.gauss(0.0, noise))
        for number in range(int(6 * rate_hz))
    ]


def moving(samples: Sequence[Sample]) -> Settler[None]:
    """Feed samples that never settle."""
    settler = Settler[None](SettleRule())
    for at, ohm in samples:
        settler.feed(at, ohm, 0.1, None)
    return settler


@pytest.mark.parametrize("rate_hz", [2.0, 5.0, 10.0])
@pytest.mark.parametrize("rate", [0.01, 0.05, -0.05, 0.5])
def test_a_capacitor_is_named_as_creeping(rate: float, rate_hz: float) -> None:
    """One way, up or down, at any rate of frames."""
    assert moving(creep(rate, rate_hz=rate_hz)).creeping


def test_a_creep_with_flickering_digits_is_still_one() -> None:
    """A hand-held meter's last digit does not hide a creep of two percent a second."""
    assert moving(creep(0.02, noise=0.1)).creeping


@pytest.mark.parametrize("rate_hz", [2.0, 10.0])
def test_a_jumping_reading_is_no_creep(rate_hz: float) -> None:
    """To and fro is not one way."""
    chance = random.Random(3)  # noqa: S311 - noise, no secret
    samples = [(n / rate_hz, chance.uniform(150.0, 400.0)) for n in range(int(6 * rate_hz))]

    assert not moving(samples).creeping


def test_few_readings_are_no_creep() -> None:
    """Fewer than eight say nothing."""
    assert not moving(creep(0.05)[: CREEP_LEAST - 1]).creeping


def test_steady_is_no_creep() -> None:
    """A value that stays has gone nowhere."""
    assert not moving(steady(171.3, rate_hz=10.0)).creeping


@given(
    st.lists(
        st.tuples(
            st.floats(0.0, 0.6),
            st.one_of(st.floats(-5.0, 500.0), st.sampled_from([171.3, 171.4, 171.5])),
        ),
        min_size=1,
        max_size=80,
    )
)
def test_what_settles_is_within_its_run(samples: list[Sample]) -> None:
    """Whatever comes: the mean lies within the readings it is made of, which lasted."""
    settler = Settler[Sample](SettleRule())
    at = 0.0
    times = list(itertools.accumulate(gap for gap, _ in samples))
    for at, (_, ohm) in zip(times, samples, strict=True):
        settled = settler.feed(at, ohm, 0.1, (at, ohm))
        if settled is None:
            continue
        values = [value for _, value in settled.items]
        slack = 1e-9 * max(map(abs, values))
        rule = SettleRule()

        assert min(values) - slack <= settled.mean_ohm <= max(values) + slack
        assert (
            max(values) - min(values) <= max(rule.fraction * abs(settled.mean_ohm), 0.3) + 1e-9
        )
        assert settled.items[-1][0] - settled.items[0][0] >= rule.window_s
        assert rule.least <= settled.count
        assert settled.scatter_ohm >= 0


@pytest.mark.parametrize("tau_s", [3.0, 10.0, 30.0])
def test_a_creep_is_not_taken_before_its_end(tau_s: float) -> None:
    """A capacitor of the board charges through the meter: not more than half a percent off.

    The value at which it stands still for a moment in the last digits is not its end.
    """
    samples = [
        (number / 10, round(184.2 * (1 - math.exp(-(number / 10 + 0.3) / tau_s)), 1))
        for number in range(4000)
    ]
    settled, _ = feed(samples)

    assert settled is not None
    assert 184.2 == pytest.approx(settled.mean_ohm, rel=0.005)
