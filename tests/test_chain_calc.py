"""The small sums: the figures of the tests recomputed, and texts that are none."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilmeter.cli.chain_calc import SHAPES, calculated
from coilmeter.compute.chain_calculators import (
    Walk,
    inject_ampere,
    pickup_volt,
    scope_hz,
    scope_sine,
    series_walk,
)
from coilmeter.errors import InputError

positive = st.floats(min_value=0.01, max_value=1e4)


def test_divisions_to_frequency() -> None:
    """1.25 divisions at 10 us are 80 kHz (common practice, no source)."""
    assert 80e3 == pytest.approx(scope_hz(1.25, 10e-6))


def test_divisions_to_volts() -> None:
    """40 V peak to peak are 14.1 V rms; 30 V rms are 42.4 V peak (IEC 61010-031)."""
    assert 20 / math.sqrt(2) == pytest.approx(scope_sine(8, 5).rms)
    assert 42.4 == pytest.approx(scope_sine(2, 30 * math.sqrt(2)).peak, abs=0.05)


def test_a_turn_in_the_field() -> None:
    """Bias about 0.2 mV a turn, erase about 14 mV a turn at 80 kHz (derived)."""
    assert (0.2e-3, 14e-3) == pytest.approx(pickup_volt(1))
    assert (5e-3, 350e-3) == pytest.approx(pickup_volt(20, 100e3))


def test_a_tone_at_the_face() -> None:
    """About 6 mA in 10 turns stand for 0.3 mV; one wire gives 4.7 uV a mA (derived)."""
    assert 6e-3 == pytest.approx(inject_ampere(0.3e-3, 10), rel=0.1)
    assert 4.7e-6 == pytest.approx(1e-3 / inject_ampere(1.0, 1.0))


def test_walk_past_a_part() -> None:
    """260 ohm at the head and 320 past 56 ohm: lead and switch are good (reported)."""
    walked = series_walk(260, 320, 56)

    assert Walk.AS_IT_SHOULD is walked.found
    assert (316, 4) == (walked.expected_ohm, walked.excess_ohm)
    parts = [0.01 * 260, 0.01 * 320, 0.05 * 56]
    assert 2 * math.hypot(*parts) / math.sqrt(3) == pytest.approx(walked.allowed_ohm)


@given(positive, positive, st.floats(min_value=-0.9, max_value=5))
def test_walk_tells_more_from_less(before: float, part: float, extra: float) -> None:
    """What lies beyond the uncertainty is more or less, by its sign."""
    walked = series_walk(before, before + part + extra * part, part)

    assert extra * part == pytest.approx(walked.excess_ohm, abs=1e-6 * before)
    if abs(walked.excess_ohm) <= walked.allowed_ohm:
        assert Walk.AS_IT_SHOULD is walked.found
    else:
        assert (Walk.MORE if walked.excess_ohm > 0 else Walk.LESS) is walked.found


@pytest.mark.parametrize("shape", [shape for shape, _ in SHAPES])
def test_every_shape_that_is_listed_works(shape: str) -> None:
    """What the hint shows can be typed."""
    assert all(calculated(shape))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("scope 1.25 at 10 us", "80 kHz"),
        ("scope 1,25 div at 10us", "80 kHz"),
        ("SCOPE 2 divisions x 5 V", "10 V peak to peak, 5 V peak; of a sine 3.54 V rms"),
        ("scope 8 at 20 V", "hazardous live"),
        ("pickup 10 turns", "about 2 mV at a record head (bias) and about 140 mV"),
        ("pickup 1 turn at 160 kHz", "about 400 uV"),
        ("inject 0.3 mV 10 turns", "6.38 mA"),
        ("inject 0.3 mV 10 turns", "Volume down"),
        ("walk 260, 320, 56", "Lead, switch and part pass it"),
        ("walk 260 420 56", "corroded contact"),
        ("walk 260, 200, 56", "something lies across"),
        ("walk 260 OL 56", "open"),
        ("walk 0.26 kohm, 320 ohm, 56 ohm", "+4 ohm"),
    ],
)
def test_sums_are_answered(text: str, expected: str) -> None:
    """The answer stands in a line of words."""
    assert expected in "\n".join(calculated(text))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "nose",
        "scope",
        "scope 3",
        "scope 0 at 10 us",
        "scope 1 at 0 us",
        "scope 1 at 10 kg",
        "scope x at 10 us",
        "pickup",
        "pickup ten turns",
        "pickup 10 turns at 3 V",
        "inject 3 mV",
        "inject 3 10 turns",
        "walk 260, 320",
        "walk 260, 320, 56, 7",
        "walk OL, 320, 56",
        "walk beep, 320, 56",
        "walk 260, x, 56",
    ],
)
def test_what_is_no_sum_is_refused_with_the_shapes(text: str) -> None:
    """The message shows what would have been understood."""
    with pytest.raises(InputError) as caught:
        calculated(text)

    assert any(shape in caught.value.hint for shape, _ in SHAPES)
