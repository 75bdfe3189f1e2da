"""What the simulated meter shows: ranges, rounding, its errors."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
import statistics

import pytest

from coilmeter.errors import InputError
from coilmeter.sources.simulated import SimulatedMeter
from coilmeter.units import ohms, ureg
from coilmeter.values import Flag, Meter, MeterRange
from coilmeter.wire.contract import Display


def meter(*ends_ohm: float, count: int = 4000) -> Meter:
    """Give a meter of `count` counts with ranges that end at `ends_ohm`."""
    ranges = tuple(
        MeterRange(ohms(end), ohms(end / count), 0.008, ohms(5 * end / count))
        for end in ends_ohm
    )
    return Meter("bench", "", "invented", ranges, 0.01, 5, ohms(50.0), ohms(20.0), ohms(0.2))


FOUR_RANGES = meter(400.0, 4e3, 40e3, 400e3)
AUTO = frozenset({Flag.AUTO})
MANUAL = frozenset({Flag.MANUAL})


@pytest.mark.parametrize(
    ("true_ohm", "expected"),
    [
        (0.0, Display(0.0, 0.1, 400.0, flags=AUTO)),
        (212.34, Display(212.3, 0.1, 400.0, flags=AUTO)),
        (399.94, Display(399.9, 0.1, 400.0, flags=AUTO)),
        (399.96, Display(400.0, 1.0, 4e3, flags=AUTO)),
        (23_456.0, Display(23_460.0, 10.0, 40e3, flags=AUTO)),
        (399_940.0, Display(399_900.0, 100.0, 400e3, flags=AUTO)),
        (400e3, Display(math.inf, 100.0, 400e3, overload=True, flags=AUTO)),
        (math.inf, Display(math.inf, 100.0, 400e3, overload=True, flags=AUTO)),
    ],
)
def test_autorange(true_ohm: float, expected: Display) -> None:
    """The lowest range that holds the value is taken; beyond the top one it is OL."""
    assert expected == SimulatedMeter(FOUR_RANGES).show(true_ohm)


@pytest.mark.parametrize("fixed", [1, ohms(4e3), ureg.Quantity(4.0, "kohm")])
def test_fixed_range(fixed: int) -> None:
    """A range chosen by hand is kept, for small values and for those beyond it."""
    simulated = SimulatedMeter(FOUR_RANGES, fixed=fixed)

    assert Display(212.0, 1.0, 4e3, flags=MANUAL) == simulated.show(212.34)
    assert Display(3999.0, 1.0, 4e3, flags=MANUAL) == simulated.show(3999.4)
    assert Display(math.inf, 1.0, 4e3, overload=True, flags=MANUAL) == simulated.show(3999.6)
    assert Display(math.inf, 1.0, 4e3, overload=True, flags=MANUAL) == simulated.show(math.inf)


def test_no_such_range_lists_them() -> None:
    """A range the meter does not have is answered with those it has."""
    with pytest.raises(InputError, match="no range 4") as caught:
        SimulatedMeter(FOUR_RANGES, fixed=4)
    with pytest.raises(InputError, match="no range"):
        SimulatedMeter(FOUR_RANGES, fixed=ohms(2e3))
    with pytest.raises(InputError, match="expected a resistance"):
        SimulatedMeter(FOUR_RANGES, fixed=ureg.Quantity(4.0, "volt"))

    assert "0 to 3" in str(caught.value)


def test_meter_without_ranges_is_refused() -> None:
    """A meter that states no ranges cannot be simulated."""
    with pytest.raises(InputError, match="states no resistance ranges"):
        SimulatedMeter(meter())


def test_leads_gain_and_offset() -> None:
    """Leads come before the gain, and the offset after it."""
    simulated = SimulatedMeter(FOUR_RANGES, gain_error=0.03, offset_ohm=-0.5, lead_ohm=2.0)

    assert 1.03 * 102.0 - 0.5 == pytest.approx(simulated.show(100.0).value, abs=0.05)
    assert 1.6 == simulated.show(0.0).value


def test_below_zero_is_shown_with_its_sign() -> None:
    """A negative offset shows below zero when the leads are shorted."""
    shown = SimulatedMeter(FOUR_RANGES, offset_ohm=-0.3).show(0.0)

    assert Display(-0.3, 0.1, 400.0, flags=AUTO) == shown


def test_noise_has_its_size_and_its_seed() -> None:
    """Noise scatters by the stated counts, and alike for the same seed only."""
    first, again, other = (
        [shown.show(200.0).value for _ in range(2000)]
        for shown in (
            SimulatedMeter(FOUR_RANGES, noise_counts=5.0, seed=seed) for seed in (1, 1, 2)
        )
    )

    assert first == again
    assert first != other
    # of 2000 readings: the mean is within 4 of its standard deviations, and the standard
    # deviation within 10 % (about 6 of its own)
    assert 200.0 == pytest.approx(statistics.fmean(first), abs=4 * 0.5 / math.sqrt(2000))
    assert 0.5 == pytest.approx(statistics.stdev(first), rel=0.1)


def test_noise_follows_the_range() -> None:
    """Noise is in counts, so that it is ten times larger on the next range."""
    simulated = SimulatedMeter(FOUR_RANGES, noise_counts=3.0)

    shown = [simulated.show(2000.0).value for _ in range(500)]

    assert 3.0 == pytest.approx(statistics.stdev(shown), rel=0.2)


def test_no_stray_digits() -> None:
    """What is shown is the decimal number on the display, to the last bit."""
    simulated = SimulatedMeter(FOUR_RANGES)

    assert [212.3, 0.7, 399.9] == [simulated.show(ohm).value for ohm in (212.3, 0.7, 399.9)]


def test_displays_are_the_ends_of_each_range() -> None:
    """What it can show is told by the ends of its ranges and OL."""
    shown = [
        (display.value, display.overload)
        for display in SimulatedMeter(meter(200.0, 2e3, count=2000)).displays()
    ]

    assert [
        (0.0, False),
        (199.9, False),
        (0.0, False),
        (1999.0, False),
        (math.inf, True),
    ] == shown
