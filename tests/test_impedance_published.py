"""Worked examples of impedance from outside, run through this project's own functions.

Every example stands in reference_data/method_cases.toml with its source and how far that is
to be trusted; the source is repeated in a comment at each test.
"""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from impedance_helpers import exact
from published import agrees, case

from coilmeter.compute.impedance import from_phase, from_repeated_phase, three_voltmeter
from coilmeter.compute.impedance_circuit import triangle_cosine
from coilmeter.compute.impedance_coverage import coverage_factor, effective_dof, figures
from coilmeter.compute.impedance_errors import SQRT3, Error, Input, propagated, repeated
from coilmeter.units import ureg
from coilmeter.values.impedances import Impedance, Part


def sets_of(entry: dict[str, dict[str, list[float]]]) -> list[tuple[float, ...]]:
    """Give V, I and phase of each set."""
    given = entry["inputs"]
    return list(zip(given["V"], given["I_A"], given["phi_rad"], strict=True))


def of_sets(entry: dict[str, dict[str, list[float]]]) -> Impedance:
    """Give the impedance of V, I and phase read together."""
    given = entry["inputs"]
    return from_repeated_phase(
        ureg.Quantity(np.array(given["V"]), "volt"),
        ureg.Quantity(np.array(given["I_A"]), "ampere"),
        ureg.Quantity(np.array(given["phi_rad"]), ""),
        frequency=ureg.Quantity(50.0, "hertz"),
        block="sets",
    )


def test_means_and_correlations() -> None:
    """Means, standard uncertainties and all three correlations of V, I and phase."""
    entry = case("1.1")  # JCGM 100:2008 (GUM) H.2, Table H.2
    means, errors = repeated(sets_of(entry), "sets")
    rows = np.array([[error.u for error in each] for each in errors])
    covariance = rows @ rows.T
    u = np.sqrt(np.diag(covariance))
    r = covariance / np.outer(u, u)

    for name, mean in zip(("V", "I", "phi"), means, strict=True):
        assert agrees(entry, name) == mean
    for name, value in zip(("uV", "uI", "uphi"), u.tolist(), strict=True):
        assert agrees(entry, name) == value
    assert agrees(entry, "rVI") == float(r[0, 1])
    assert agrees(entry, "rVphi") == float(r[0, 2])
    assert agrees(entry, "rIphi") == float(r[1, 2])


def test_impedance_with_correlations() -> None:
    """R, X and |Z| with the uncertainties and correlations that the example prints."""
    entry = case("1.2")  # JCGM 100:2008 (GUM) H.2, Tables H.3 and H.4
    found = of_sets(entry)
    shown = figures(found)
    (rr, rx), (_, xx) = found.covariance_ohm2
    r, x, z = found.r_ohm, found.x_ohm, shown.z.value
    # The covariance with |Z| follows from that of R and X.
    rz, xz = (r * rr + x * rx) / z, (r * rx + x * xx) / z

    assert agrees(entry, "R") == r
    assert agrees(entry, "X") == x
    assert agrees(entry, "Z") == z
    assert agrees(entry, "uR") == shown.r.u
    assert agrees(entry, "uX") == shown.x.u
    assert agrees(entry, "uZ") == shown.z.u
    assert agrees(entry, "rRX") == shown.r_x_correlation
    assert agrees(entry, "rRZ") == rz / (shown.r.u * shown.z.u)
    assert agrees(entry, "rXZ") == xz / (shown.x.u * shown.z.u)
    assert pytest.approx(4.0) == shown.r.dof


def test_impedance_without_correlations_is_wrong() -> None:
    """The trap: the same u without correlations are other figures, and not ours."""
    entry = case("1.2")  # JCGM 100:2008 (GUM) H.2
    means, errors = repeated(sets_of(entry), "sets")
    alone = [
        Input(mean, (Error(name, name, math.hypot(*(each.u for each in own))),))
        for mean, own, name in zip(means, errors, "VIP", strict=True)
    ]
    _, parts = propagated(lambda v: cmath.rect(float(v[0] / v[1]), float(v[2])), alone)
    found = figures(Impedance(50.0, 127.732, 219.847, parts, of_sets(entry).method))

    assert agrees(entry, "wrong_uR") == found.r.u
    assert agrees(entry, "wrong_uX") == found.x.u
    assert agrees(entry, "wrong_uZ") == found.z.u


def test_each_set_by_itself() -> None:
    """R, X and |Z| of single sets, as the table of the second approach has them."""
    entry = case("1.3")  # JCGM 100:2008 (GUM) H.2.4, Table H.5
    found = []
    for v, i, phase in sets_of(entry):
        z = from_phase(
            exact(v, "volt"),
            exact(i, "ampere"),
            exact(phase, ""),
            frequency=ureg.Quantity(50.0, "hertz"),
        )
        found.append((z.r_ohm, z.x_ohm, math.hypot(z.r_ohm, z.x_ohm)))
    table = {
        f"{name}{number}": row[column]
        for number, row in enumerate(found, 1)
        for column, name in enumerate("RXZ")
    }

    assert {key: agrees(entry, key) for key in entry["expected"]} == {
        key: table[key] for key in entry["expected"]
    }


def test_degrees_of_freedom_of_a_product() -> None:
    """Welch and Satterthwaite for three independent inputs."""
    entry = case("1.5")  # JCGM 100:2008 (GUM) G.4.1
    given = entry["inputs"]
    parts = [
        Part(f"{number}", "input", u, 0.0, dof=n - 1.0)
        for number, (u, n) in enumerate(zip(given["rel_u_percent"], given["n"], strict=True))
    ]
    u = math.hypot(*given["rel_u_percent"])
    k = coverage_factor(parts, lambda part: part.r_ohm)

    assert agrees(entry, "uc_percent") == u
    assert agrees(entry, "nu_eff") == effective_dof(parts, lambda part: part.r_ohm)
    assert agrees(entry, "t95") == k
    assert agrees(entry, "U95_percent") == k * u


def test_student_factors() -> None:
    """Factors of single parts with few degrees of freedom."""
    entry = case("1.9")  # JCGM 100:2008 (GUM) Table G.2
    found = {
        f"{nu}": coverage_factor(
            [Part("one", "scatter", 1.0, 0.0, dof=float(nu))], lambda part: part.r_ohm
        )
        for nu in entry["inputs"]["nu"]
    }

    assert {key: agrees(entry, key) for key in found} == found


def test_budget_of_a_substitution() -> None:
    """Each line of a published budget, and their sum: a ratio in which the gain cancels."""
    entry = case("2.1")  # EA-4/02 supplement S3
    given = entry["inputs"]
    means, errors = repeated([[r] for r in given["r_obs"]], "sets")
    inputs = [
        Input(given["R_S"], (Error("S", "S", given["U_RS_k2"] / 2),)),
        Input(given["dR_D"], (Error("D", "D", given["a_D"] / SQRT3),)),
        Input(0.0, (Error("TS", "TS", given["a_TS"] / SQRT3),), 1.0),
        Input(1.0, (Error("rC", "rC", given["a_rC_triangular"] / math.sqrt(6)),)),
        Input(means[0], errors[0]),
        Input(0.0, (Error("TX", "TX", given["a_TX"] / SQRT3),), 1.0),
    ]
    z, parts = propagated(lambda v: complex((v[0] + v[1] + v[2]) * v[3] * v[4] - v[5]), inputs)
    by_cause = {part.cause: 1e3 * abs(part.r_ohm) for part in parts}

    assert agrees(entry, "R_X") == z.real
    assert agrees(entry, "u_mohm") == math.hypot(*by_cause.values())
    for cause, key in (
        ("D", "u_D_mohm"),
        ("TS", "u_TS_mohm"),
        ("rC", "u_rC_mohm"),
        ("scatter", "u_r_mohm"),
        ("TX", "u_TX_mohm"),
    ):
        assert agrees(entry, key) == by_cause[cause]


def test_factor_of_a_trapezoid() -> None:
    """Two dominating rectangular parts: 1.83, neither 1.65 nor 1.96."""
    entry = case("2.3")  # EA-4/02 supplement S10.13
    beta = entry["inputs"]["beta"]
    small = (1 - beta) / (1 + beta)
    parts = [
        Part("first", "a", 1.0, 0.0, rectangular=True),
        Part("second", "a", small, 0.0, rectangular=True),
    ]

    assert agrees(entry, "k") == coverage_factor(
        parts, lambda part: part.r_ohm, entry["inputs"]["p"]
    )


def test_three_voltmeters() -> None:
    """A choke behind 50 ohm: its resistance, inductance and power."""
    entry = case("7.1")  # Kulshreshtha, Basic Electrical Engineering, Example 10.19
    given = entry["inputs"]
    found = three_voltmeter(
        exact(given["V"], "volt"),
        exact(given["V_R"], "volt"),
        exact(given["V_c"], "volt"),
        resistor=exact(given["R"], "ohm"),
        frequency=ureg.Quantity(given["f"], "hertz"),
    )
    ampere = given["V_R"] / given["R"]

    assert agrees(entry, "r") == found.r_ohm
    assert agrees(entry, "L") == float(found.inductance.m_as("henry"))
    assert agrees(entry, "P") == ampere**2 * found.r_ohm


def test_three_ammeters() -> None:
    """The same triangle, of currents: resistor and coil in parallel."""
    entry = case("7.3")  # a worked example of the three-ammeter method
    given = entry["inputs"]
    ohm = given["V"] / given["I_R"]
    factor = triangle_cosine(given["I"], given["I_R"], given["I_L"])

    assert agrees(entry, "R") == ohm
    assert agrees(entry, "pf") == factor
    assert agrees(entry, "Z") == ohm * given["I_R"] / given["I_L"]
    assert agrees(entry, "P") == given["V"] * given["I_L"] * factor


def test_iron_core() -> None:
    """What the core adds to the resistance: R at the tone less R at DC."""
    entry = case("7.6")  # R. Singh, Electrical Networks, example 4.48
    given = entry["inputs"]
    factor = given["P"] / (given["Vac"] * given["Iac"])
    found = from_phase(
        exact(given["Vac"], "volt"),
        exact(given["Iac"], "ampere"),
        exact(math.acos(factor), ""),
        frequency=ureg.Quantity(given["f"], "hertz"),
    )
    dc = given["Vdc"] / given["Idc"]

    assert agrees(entry, "R") == dc
    assert agrees(entry, "pf") == factor
    assert agrees(entry, "Z") == float(found.magnitude.m_as("ohm"))
    assert agrees(entry, "R_T") == found.r_ohm
    assert agrees(entry, "X") == found.x_ohm
    assert agrees(entry, "L") == float(found.inductance.m_as("henry"))
    assert agrees(entry, "R_core") == found.r_ohm - dc


def test_parallel_to_series() -> None:
    """A coil given in parallel form, as V, I and phase would see it: Q and series form."""
    entry = case("7.8")  # D. A. Bell, Electronic Instrumentation and Measurements, Ex. 8-8, 8-9
    given = entry["inputs"]
    x = 2 * math.pi * given["f"] * given["Lp"]
    z = 1 / (1 / given["Rp"] + 1 / (1j * x))
    found = from_phase(
        exact(abs(z), "volt"),
        exact(1.0, "ampere"),
        exact(cmath.phase(z), ""),
        frequency=ureg.Quantity(float(given["f"]), "hertz"),
    )

    assert agrees(entry, "Q") == found.q
    assert agrees(entry, "Rs") == found.r_ohm
    assert agrees(entry, "Ls_mH") == 1e3 * float(found.inductance.m_as("henry"))
