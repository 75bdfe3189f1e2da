"""Impedances against independent oracles: `uncertainties`, plain arithmetic, properties."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from impedance_helpers import as_read, exact, resistor, table, true_volts
from uncertainties import (  # type: ignore[import-untyped]
    correlated_values,
    covariance_matrix,
    ufloat,
    umath,
)

from coilmeter.compute.impedance import (
    dc_known,
    from_repeated_phase,
    size_only,
    three_voltmeter,
    two_frequency,
)
from coilmeter.compute.impedance_circuit import bend, coil_of_triangle
from coilmeter.compute.impedance_coverage import coverage_factor, fieller, figures
from coilmeter.compute.impedance_errors import Error
from coilmeter.compute.impedance_measured import Load, Measured, measured
from coilmeter.units import ohms, ureg
from coilmeter.values.impedances import Impedance, Part

TEN_KHZ = ureg.Quantity(10e3, "hertz")
coils = st.builds(
    lambda x, q: complex(x / q, x),
    st.floats(min_value=20.0, max_value=50e3),
    st.floats(min_value=0.3, max_value=15.0),
)
"""Impedances of coils in ohm."""

ratios = st.floats(min_value=0.3, max_value=3.0)


def three(z: complex, ohm: float, farad: float = 1e-10) -> tuple[Measured, Measured, Measured]:
    """Give the three voltages as a meter with that input reads them, without error."""
    total, first, second = true_volts(z, ohm, 10e3, farad=farad)
    return exact(total, "volt"), exact(first, "volt"), exact(second, "volt")


def with_load(farad: float = 1e-10) -> Load:
    """Give an input of 10 Mohm and some capacitance."""
    return Load(ohms(10e6), exact(farad, "farad"))


@given(coils, ratios)
def test_three_voltages_give_the_coil_back(z: complex, ratio: float) -> None:
    """Whatever the coil, and with the meter's input across each: its impedance returns."""
    ohm = ratio * abs(z)
    if ohm > 30e3:  # beyond, the input is not well above the circuit
        return
    found = three_voltmeter(
        *three(z, ohm),
        resistor=exact(ohm, "ohm"),
        frequency=TEN_KHZ,
        load=with_load(),
    )

    assert z.real == pytest.approx(found.r_ohm, rel=1e-6, abs=1e-7 * abs(z))
    assert z.imag == pytest.approx(found.x_ohm, rel=1e-6)


@given(coils, ratios)
def test_two_voltages_and_dc_give_the_coil_back(z: complex, ratio: float) -> None:
    """With a core that loses nothing, DC resistance and two voltages are enough."""
    ohm = ratio * abs(z)
    if ohm > 30e3:
        return
    _, first, second = three(z, ohm)
    found = dc_known(
        first,
        second,
        resistor=exact(ohm, "ohm"),
        dc=exact(z.real, "ohm"),
        frequency=TEN_KHZ,
        load=with_load(),
        core_loss=0.0,
    )

    assert z.imag == pytest.approx(found.x_ohm, rel=1e-6)


@given(st.floats(10.0, 1e4), st.floats(1e-3, 1.0), st.floats(1.5, 20.0))
def test_two_frequencies_give_resistance_and_inductance(
    ohm: float, henry: float, step: float
) -> None:
    """A coil of constant R and L returns from |Z| at two frequencies."""
    low = 500.0
    sizes = []
    for hertz in (low, step * low):
        z = abs(complex(ohm, 2 * math.pi * hertz * henry))
        sizes.append(
            size_only(
                exact(1.0, "volt"),
                exact(z / 1e3, "volt"),
                resistor=exact(1e3, "ohm"),
                frequency=ureg.Quantity(hertz, "hertz"),
            )
        )
    x = 2 * math.pi * low * henry
    if x < 0.05 * ohm or ohm < 0.05 * x:  # one of the two hides the other
        return
    found = two_frequency(*sizes)

    assert ohm == pytest.approx(found.r_ohm, rel=1e-6)
    assert henry == pytest.approx(float(found.inductance.m_as("henry")), rel=1e-6)


def test_three_voltages_against_a_library() -> None:
    """R, X and their covariance as `uncertainties` propagates them, gain shared."""
    z = complex(1083.0, 6283.0)
    volts = true_volts(z, 10e3, 10e3, farad=0.0)
    gain = ufloat(1.0, 0.02)
    total, first, second = (gain * (v + ufloat(0.0, 3e-4)) for v in volts)
    ohm = ufloat(10e3, 58.0)
    cosine = (total**2 - first**2 - second**2) / (2 * first * second)
    size = ohm * second / first
    r, x = size * cosine, size * umath.sqrt(1 - cosine**2)
    ours = [
        Measured(
            ureg.Quantity(v, "volt"),
            (Error("gain", "gain", 0.02 * v), Error(f"counts {n}", "counts", 3e-4)),
        )
        for n, v in enumerate(volts)
    ]
    found = three_voltmeter(
        *ours,
        resistor=measured(ohms(10e3), ohms(58.0), "resistor"),
        frequency=TEN_KHZ,
    )

    assert r.nominal_value == pytest.approx(found.r_ohm, rel=1e-9)
    assert x.nominal_value == pytest.approx(found.x_ohm, rel=1e-9)
    assert np.array(covariance_matrix([r, x])) == pytest.approx(
        np.array(found.covariance_ohm2), rel=1e-5
    )
    assert ("gain",) == found.cancels
    assert {"counts", "resistor"} == set(found.stays)


def test_correlated_sets_against_a_library() -> None:
    """V, I and phase with an invented covariance, as `correlated_values` carries it through."""
    random = np.random.default_rng(5)
    root = np.array([[3e-3, 0.0, 0.0], [2e-5, 3e-5, 0.0], [-4e-3, 1e-3, 2e-3]])
    sets = random.standard_normal((12, 3)) @ root.T + np.array([1.0, 2e-3, 1.2])
    mean, covariance = sets.mean(axis=0), np.cov(sets, rowvar=False) / len(sets)
    v, i, phase = correlated_values(mean, covariance)
    r, x = v / i * umath.cos(phase), v / i * umath.sin(phase)
    found = from_repeated_phase(
        ureg.Quantity(sets[:, 0], "volt"),
        ureg.Quantity(sets[:, 1], "ampere"),
        ureg.Quantity(sets[:, 2], ""),
        frequency=TEN_KHZ,
        block="sets",
    )

    assert np.array(covariance_matrix([r, x])) == pytest.approx(
        np.array(found.covariance_ohm2), rel=1e-6
    )
    assert pytest.approx(11.0) == figures(found).x.dof


def test_q_high_carries_no_resistance() -> None:
    """With Q of 13, one per cent of a voltmeter is some 28 % of R and -0.2 % of X (derived)."""
    z = complex(1.0, 13.0)
    total, first, second = abs(abs(z) + z), abs(z), abs(z)
    off = coil_of_triangle(1.01 * total, first, second, resistor_ohm=abs(z))

    def found(u: float) -> Impedance:
        return three_voltmeter(
            Measured(ureg.Quantity(total, "volt"), (Error("a", "counts", u * total),)),
            exact(first, "volt"),
            exact(second, "volt"),
            resistor=exact(abs(z), "ohm"),
            frequency=TEN_KHZ,
        )

    one, three = figures(found(0.01)), figures(found(0.03))
    assert 0.28 == pytest.approx(off.real / z.real - 1, abs=0.005)
    assert -0.002 == pytest.approx(off.imag / z.imag - 1, abs=0.0002)
    assert 0.28 == pytest.approx(one.r.u, abs=0.005)
    assert one.x.u == pytest.approx(0.0017 * 13, rel=0.4)
    assert one.q.high is not None
    assert three.q.high is None
    assert three.q.low is not None


def test_the_meters_input_bends_the_circuit() -> None:
    """100 pF at 10 kHz take a third off R where they are not corrected for (derived)."""
    z = complex(1083.0, 6283.0)
    volts = true_volts(z, 10e3, 10e3)
    raw = coil_of_triangle(*volts, resistor_ohm=10e3)
    load = 1e-7 + 2j * math.pi * 1e4 * 1e-10
    first, second = bend(z, 10e3, load)

    assert 0.6 < raw.real / z.real < 0.7
    assert raw.imag == pytest.approx(z.imag, rel=0.01)
    assert volts[1] / volts[0] == pytest.approx(first * abs(10e3 / (10e3 + z)), rel=1e-12)
    assert volts[2] / volts[0] == pytest.approx(second * abs(z / (10e3 + z)), rel=1e-12)


@pytest.mark.parametrize("seed", [1, 2])
def test_coverage_factor_of_sums(seed: int) -> None:
    """The factor of sums of rectangular and normal parts, against a million drawn sums."""
    random = np.random.default_rng(seed)
    for hard, soft in (((1.0,), 0.4), ((1.0, 0.7), 0.0), ((1.0, 0.5, 0.4, 0.3), 0.2)):
        parts = [Part(f"{n}", "hard", u, 0.0, rectangular=True) for n, u in enumerate(hard)]
        parts.append(Part("soft", "soft", soft, 0.0))
        drawn = soft * random.standard_normal(1_000_000)
        for u in hard:
            drawn += u * random.uniform(-(3**0.5), 3**0.5, len(drawn))
        u = math.hypot(*hard, soft)
        k = coverage_factor(parts, lambda part: part.r_ohm)

        assert 0.95 == pytest.approx(float(np.mean(np.abs(drawn) <= k * u)), abs=0.001)


def test_known_factors() -> None:
    """One rectangle 1.65, one normal 1.96."""
    one = [Part("a", "a", 1.0, 0.0, rectangular=True)]
    normal = [Part("a", "a", 1.0, 0.0)]

    assert 0.95 * math.sqrt(3) == pytest.approx(coverage_factor(one, lambda part: part.r_ohm))
    assert 1.959964 == pytest.approx(coverage_factor(normal, lambda part: part.r_ohm), 1e-6)


@given(
    st.floats(0.5, 20.0),
    st.floats(0.5, 20.0),
    st.floats(0.01, 0.4),
    st.floats(0.01, 0.4),
    st.floats(-0.9, 0.9),
)
@example(5.0, 1.0, 0.05, 0.6, 0.0)
def test_interval_of_a_ratio(x: float, r: float, ux: float, ur: float, rho: float) -> None:
    """At each end the ratio's own residual is k standard uncertainties, on either side."""
    k = 1.96
    low, high = fieller(x, r, xx=ux**2, rx=rho * ux * ur, rr=ur**2, k=k)

    for end in (low, high):
        if end is not None:
            u = math.sqrt(ux**2 - 2 * end * rho * ux * ur + (end * ur) ** 2)
            assert k * u == pytest.approx(abs(x - end * r), rel=1e-6, abs=1e-9)
    if low is not None and high is not None:
        assert low <= x / r <= high


def test_covariance_is_that_of_the_parts() -> None:
    """The matrix is symmetric, and the correlation never beyond one."""
    meter = table()
    volts = [
        meter.measured(as_read(v), 10e3, "v", f"{n}")
        for n, v in enumerate(true_volts(complex(1083.0, 6283.0), 10e3, 10e3))
    ]
    found = three_voltmeter(*volts, resistor=resistor(), frequency=TEN_KHZ, load=meter.load())
    (_, rx), (xr, _) = found.covariance_ohm2
    causes = {part.cause for part in found.parts}

    assert rx == xr
    assert -1 < figures(found).r_x_correlation < 1
    assert {"counts", "resistor", "input capacitance"} == causes
