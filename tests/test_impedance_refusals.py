"""AC volts that must not become an impedance, each refused with what may have happened."""

from __future__ import annotations

from itertools import combinations

import pint
import pytest
from impedance_helpers import as_read, exact, resistor, table, true_volts

from coilmeter.compute.impedance import dc_known, three_voltmeter, two_frequency
from coilmeter.errors import ImpedanceError
from coilmeter.units import ureg
from coilmeter.values.impedances import Impedance, Method, Part

TEN_KHZ = ureg.Quantity(10e3, "hertz")


def test_a_wrong_unit_cannot_pass() -> None:
    """Ohms for volts, volts for ohms, seconds for hertz: each is refused by the units."""
    volt, ohm = exact(0.1, "volt"), exact(1e4, "ohm")
    with pytest.raises(pint.DimensionalityError):
        three_voltmeter(ohm, volt, volt, resistor=ohm, frequency=TEN_KHZ)
    with pytest.raises(pint.DimensionalityError):
        three_voltmeter(volt, volt, volt, resistor=volt, frequency=TEN_KHZ)
    with pytest.raises(pint.DimensionalityError):
        three_voltmeter(volt, volt, volt, resistor=ohm, frequency=ureg.Quantity(1.0, "second"))


@pytest.mark.parametrize(("odd", "even"), list(combinations(range(3), 2)))
def test_no_triangle(odd: int, even: int) -> None:
    """One voltage above the other two together is refused, whichever it is."""
    volts = [0.1, 0.1, 0.1]
    volts[odd], volts[even] = 0.35, 0.12
    with pytest.raises(ImpedanceError, match="more than"):
        three_voltmeter(
            *(exact(v, "volt") for v in volts), resistor=resistor(), frequency=TEN_KHZ
        )


def test_a_coil_that_gives_power_is_refused() -> None:
    """A resistance certainly below zero: two voltages were exchanged, or more is connected."""
    volts = true_volts(complex(-3000.0, 6000.0), 10e3, 10e3, farad=0.0)
    with pytest.raises(ImpedanceError, match="below zero"):
        three_voltmeter(
            *(exact(v, "volt") for v in volts), resistor=resistor(), frequency=TEN_KHZ
        )


def test_a_reactance_not_told_from_nothing_is_refused() -> None:
    """Three voltages that add up carry no reactance."""
    meter = table()
    volts = [meter.measured(as_read(v), 1e3, "v", f"{v}") for v in (0.2, 0.1201, 0.08)]
    with pytest.raises(ImpedanceError, match="told from nothing"):
        three_voltmeter(*volts, resistor=resistor(), frequency=ureg.Quantity(1e3, "hertz"))


def test_a_size_below_the_copper_is_refused() -> None:
    """|Z| below the DC resistance: something lies across the coil."""
    with pytest.raises(ImpedanceError, match="still connected"):
        dc_known(
            exact(0.1, "volt"),
            exact(0.002, "volt"),
            resistor=exact(10e3, "ohm"),
            dc=exact(300.0, "ohm"),
            frequency=TEN_KHZ,
        )


@pytest.mark.parametrize("hertz", [0.0, 5.0, 2e6])
def test_frequencies_of_no_tone_are_refused(hertz: float) -> None:
    """No head is measured below 10 Hz or above a megahertz."""
    with pytest.raises(ImpedanceError, match="10 kHz shows"):
        three_voltmeter(
            *(exact(0.1, "volt") for _ in range(3)),
            resistor=resistor(),
            frequency=ureg.Quantity(hertz, "hertz"),
        )


def test_sizes_that_no_coil_has_are_refused() -> None:
    """|Z| that falls, or grows faster than the frequency, is no coil's."""
    for second in (80.0, 1500.0):
        sizes = [
            Impedance(hertz, z, 0.0, (Part("a", "counts", 1.0, 0.0),), Method.TWO_FREQUENCY)
            for hertz, z in ((1e3, 100.0), (1e4, second))
        ]
        with pytest.raises(ImpedanceError, match="grows with the frequency"):
            two_frequency(*sizes)
    with pytest.raises(ImpedanceError, match="twice"):
        two_frequency(sizes[0], sizes[0])
