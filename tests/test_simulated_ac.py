"""The simulated tone bench: a real circuit, a meter's own errors, real bytes."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from helpers import shipped
from impedance_helpers import SOUND, true_volts

from coilmeter.compute.coil_model import CoilModel
from coilmeter.errors import InputError, UnknownNameError
from coilmeter.sources.clock import FastClock
from coilmeter.sources.simulated_ac import HUM_VOLT, SimulatedBridge
from coilmeter.values import Flag, Function, Reading
from coilmeter.wire import find, formats

CARRY_AC = ("digits14", "plain", "prompt", "segments14", "stx16", "words")


def bridge(form: str = "digits14", meter: str = "handheld-4000", **how: Any) -> SimulatedBridge:
    """Make a bench with one sound coil and one shorted."""
    coils = {"1": SOUND, "2": SOUND.with_shorted(0.01)}
    return SimulatedBridge(coils, shipped().meter(meter), find(form), FastClock(100.0), **how)


@pytest.mark.parametrize("across", ["total", "resistor", "coil"])
@pytest.mark.parametrize("coil", ["1", "2"])
def test_the_circuit(coil: str, across: str) -> None:
    """Each voltage is that of source, resistor and coil with the input across what is read."""
    found = bridge(resistor_ohm=9e3)
    found.connect(coil)
    true = true_volts(found.coils[coil].impedance_ohm(10e3), 9e3, 10e3)
    expected = dict(zip(("total", "resistor", "coil"), true, strict=True))

    assert expected[across] == pytest.approx(found.true_volt(across), rel=1e-9)


def test_a_source_with_a_resistance_of_its_own_sags() -> None:
    """The load takes its voltage down, as Ohm has it."""
    found = bridge(source_ohm=600.0, input_farad=0.0)
    z = SOUND.impedance_ohm(10e3)
    load = 1 / (1 / (10e3 + z) + 1e-7)

    assert 0.15 * abs(load / (600 + load)) == pytest.approx(found.true_volt("total"))


@pytest.mark.parametrize("form", CARRY_AC)
def test_real_bytes_of_every_format_that_carries_ac(form: str) -> None:
    """What is decoded is what the display shows."""
    found = bridge(form)
    found.probe("coil")
    data = b"".join(found.frame() for _ in range(3))
    readings = [each for each in find(form).decoder().feed(data) if isinstance(each, Reading)]

    assert Function.AC_VOLTAGE is readings[0].function
    shown = float(readings[0].value or 0.0)
    assert found.true_volt("coil") == pytest.approx(shown, abs=0.6e-4)


def test_formats_that_cannot_carry_ac_are_refused() -> None:
    """Each of the others says so at once, and not in the middle of a run."""
    for name in set(formats()) - set(CARRY_AC) - {"block14"}:
        with pytest.raises(InputError, match="cannot carry AC volts"):
            bridge(name)


def test_probes_in_the_air_pick_up_hum() -> None:
    """A few tenths of a millivolt, and no overload."""
    found = bridge()
    found.probe("total")
    found.lift()

    assert HUM_VOLT == pytest.approx(found.show().value, abs=1e-4)


def test_gain_roll_off_counts_and_range() -> None:
    """The meter's own errors are those it was given."""
    found = bridge(gain_error=0.02, roll_off_hz=10e3, full_scale_volt=0.4)
    found.probe("total")
    display = found.show()

    assert 0.15 * 1.02 / math.sqrt(2) == pytest.approx(display.value, abs=0.6e-4)
    assert frozenset({Flag.MANUAL}) == display.flags
    loud = bridge(drive_volt=0.6, full_scale_volt=0.4)
    loud.probe("total")
    assert loud.show().overload
    free = bridge(drive_volt=0.6)
    free.probe("total")
    assert (4.0, 0.6) == (free.show().full_scale, free.show().value)


def test_noise_scatters_and_offsets_stay() -> None:
    """The one from reading to reading, the other from contact to contact."""
    found = bridge(noise_counts=2.0, seed=3)
    found.probe("total")
    noisy = [found.show().value for _ in range(200)]
    still = bridge(offset_counts=5.0, seed=3)
    contacts = []
    for _ in range(50):
        still.probe("total")
        contacts.append({still.show().value for _ in range(5)})

    assert 2e-4 == pytest.approx(float(np.std(noisy)), rel=0.2)
    assert all(1 == len(each) for each in contacts)
    assert len(set.union(*contacts)) > 3


def test_names_that_are_none() -> None:
    """A coil or a place that is not there, and a meter without AC volts."""
    with pytest.raises(UnknownNameError):
        bridge().connect("9")
    with pytest.raises(UnknownNameError):
        bridge().probe("head")
    with pytest.raises(InputError, match="states no ranges of AC volts"):
        bridge(meter="unstated")


@pytest.mark.parametrize(
    "more",
    [
        {"resistance_ohm": 0.0},
        {"inductance_h": -1.0},
        {"loss": 1.0},
        {"shorted": 1.0},
        {"coupling": 1.1},
        {"capacitance_f": -1e-12},
    ],
)
def test_what_can_be_no_coil(more: dict[str, float]) -> None:
    """A model refuses figures that no coil has."""
    with pytest.raises(InputError, match="as a coil"):
        CoilModel(**({"resistance_ohm": 300.0, "inductance_h": 0.1} | more))
