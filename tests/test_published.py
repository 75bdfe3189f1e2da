"""Worked examples from outside, run through this project's own functions.

Every example stands in reference_data/method_cases.toml with its source and how far that is
to be trusted; the source is repeated in a comment at each test.
"""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np
import pytest
from published import agrees, case

from coilmeter.compute.budget import COPPER_PER_KELVIN, Circumstances, budget
from coilmeter.compute.matching import Shared, deviations
from coilmeter.compute.verdict import UNDECIDED, interval_probability, zones_of_value
from coilmeter.units import in_ohm, ohms, parse_reading


def circumstances(
    degc: float = 20.0, fraction: float = 0.0, floor: float = 0.0
) -> Circumstances:
    """Describe a reading of which nothing else is uncertain."""
    none = ohms(0.0)
    return Circumstances(fraction, ohms(floor), none, none, none, degc, 0.0, none)


def below(z: float) -> float:
    """Probability that a standard normal variable lies below z, by the project."""
    return float(interval_probability(np.array(-math.inf), np.array(z)))


def warmth(degc: float) -> float:
    """Resistance of copper at a temperature over its resistance at 20 degC, by the project."""
    return 1 / float(in_ohm(budget(ohms(1.0), circumstances(degc)).resistance_20c))


def test_rectangular_limit() -> None:
    """A limit of error alone becomes a standard uncertainty by the square root of three."""
    entry = case("1.4")  # JCGM 100:2008 (GUM) 4.3.7
    found = budget(ohms(1.0), circumstances(floor=entry["inputs"]["a"]))

    assert agrees(entry, "u_alpha") == float(in_ohm(found.parts["floor"]))
    assert agrees(entry, "u_alpha") == float(in_ohm(found.u))


def test_shared_error_adds_linearly() -> None:
    """Ten resistors of 1 kohm read with one meter: its error does not average out."""
    entry = case("1.4")  # JCGM 100:2008 (GUM) 5.2.2
    count, u = entry["inputs"]["n"], entry["inputs"]["u_ohm"]
    how = circumstances(fraction=u * math.sqrt(3) / 1000.0)
    each = budget(ohms(np.full(count, 1000.0)), how).parts["gain"]
    series = budget(ohms(1000.0 * count), how).parts["gain"]

    assert agrees(entry, "u_series") == float(in_ohm(series))
    assert agrees(entry, "u_series") == float(np.sum(in_ohm(each)))
    assert agrees(entry, "wrong_rss") == float(np.sqrt(np.sum(in_ohm(each) ** 2)))


def test_lower_limit() -> None:
    """Bursting strength against a lower limit."""
    entry = case("3.1")  # JCGM 106:2012 7.3
    given = entry["inputs"]
    zoned = zones_of_value(ohms(given["y"]), ohms(given["u"]), ohms([float(given["T_L"])]))

    assert agrees(entry, "p_c") == float(zoned.probability[1])
    assert agrees(entry, "z") == (given["y"] - given["T_L"]) / given["u"]
    assert 1 == int(zoned.decided)


def test_upper_limit() -> None:
    """Breakdown voltage, a negative number, against an upper limit."""
    entry = case("3.2")  # JCGM 106:2012 7.3
    given = entry["inputs"]
    z = (given["T_U"] - given["y"]) / given["u"]

    assert agrees(entry, "z") == z
    assert agrees(entry, "p_c") == below(z)


def test_two_limits() -> None:
    """Viscosity between two limits: no zone is probable enough to be the verdict."""
    entry = case("3.3")  # JCGM 106:2012 7.4
    given = entry["inputs"]
    ends = ohms([given["T_L"], given["T_U"]])
    zoned = zones_of_value(ohms(given["y"]), ohms(given["u"]), ends)

    assert agrees(entry, "p_c") == float(zoned.probability[1])
    assert agrees(entry, "Phi_lo") == float(zoned.probability[0])
    assert agrees(entry, "Phi_hi") == float(zoned.probability[0] + zoned.probability[1])
    assert UNDECIDED == int(zoned.decided)


def test_conformance_table() -> None:
    """The z of a one-sided conformance probability, to the digits of the table."""
    entry = case("3.4")  # JCGM 106:2012 7.3.3 Table 1
    for text, z in entry["expected"].items():
        width = entry["tolerance"][text]

        assert below(z - width) < float(text) < below(z + width)


def test_guarded_rejection() -> None:
    """The lowest speed that is beyond the limit with the probability asked for."""
    entry = case("3.5")  # JCGM 106:2012 8.3.3
    given = entry["inputs"]
    speeds = np.linspace(100.0, 120.0, 2001)
    zoned = zones_of_value(
        ohms(speeds), ohms(given["u_rel"] * speeds), ohms([float(given["v0"])]), given["p"]
    )

    assert agrees(entry, "v_max") == float(speeds[np.argmax(zoned.decided == 1)])


def test_guard_bands() -> None:
    """Risk of a false verdict when the value stands at the guarded limit."""
    entry = case("3.8")  # ILAC-G8:09/2019 Table 1
    expected = entry["expected"]

    assert expected["below_1ppm_at_3"] > below(-3 * 1.96)
    assert agrees(entry, "pfa_1.5") == below(-1.5 * 1.96)
    assert agrees(entry, "pfa_1") == below(-1.96)
    assert expected["below_at_0.83"] > below(-0.83 * 2)
    assert agrees(entry, "pfa_0") == below(0.0)


def test_extreme_of_two_with_known_spread() -> None:
    """Of two values with a known spread: the factor of the outlier test, from the matching."""
    entry = case("5.7")  # ASTM E178-16a, known sigma
    z = NormalDist().inv_cdf(1 - entry["inputs"]["alpha"] / entry["inputs"]["n"])
    found = deviations(ohms(np.array([1e6, 1e6])), ohms(np.array([1.0, 1.0])), [])

    assert agrees(entry, "2") == z * float(found.u[0]) * 1e6


def test_normalised_error_of_two() -> None:
    """E_n of two coils is their deviation from the median over twice its uncertainty.

    Both values are moved up by 1e5, which a difference does not see: a deviation is a ratio,
    and at 0.1 % apart the ratio alone would change the fourth digit.
    """
    entry = case("5.9")  # ISO 13528:2022 9.7
    given = entry["inputs"]
    values = np.array([given["x"], given["X"]]) + 1e5
    own = np.array([given["U_x"], given["U_X"]]) / 2
    gain = Shared(ohms(0.01 * values), np.array([0, 0]))
    found = deviations(ohms(values), ohms(own), [gain])

    assert agrees(entry, "En") == float(found.deviation[0] / (2 * found.u[0]))


def test_zero_of_the_copper_line() -> None:
    """Where the straight line of copper's resistance reaches zero."""
    entry = case("6.1")  # IEC 60028:1925
    slope = warmth(21.0) - warmth(20.0)

    assert entry["inputs"]["alpha20"] == COPPER_PER_KELVIN
    assert agrees(entry, "inferred_T") == 1 / slope - 20.0


def test_copper_coefficients() -> None:
    """The coefficient of copper referred to other temperatures."""
    entry = case("6.5")  # NBS Circular 31, Table 2
    found = {t: warmth(t + 1.0) / warmth(float(t)) - 1 for t in entry["inputs"]["degC"]}

    assert {f"100_{t}": agrees(entry, f"100_{t}") for t in found} == {
        f"100_{t}": value for t, value in found.items()
    }


def test_copper_rows() -> None:
    """Resistance of a winding at bench temperatures over that at 20 degC."""
    entry = case("6.5-rows")  # derived from IEC 60028:1925
    found = {degc: warmth(float(degc)) for degc in entry["expected"]}

    assert {degc: agrees(entry, degc) for degc in found} == found


def test_temperature_rise_of_a_winding() -> None:
    """The temperature at which the correction to 20 degC gives the cold resistance back."""
    entry = case("6.6")  # Kulshreshtha, Example 2.18; IEC 60034-1:2017 8.6.2.2
    given = entry["inputs"]
    rise = (given["R2"] / given["R1"] - 1) / (warmth(given["theta1"] + 1.0) - 1)
    found = budget(ohms(given["R2"]), circumstances(given["theta1"] + rise))

    assert given["R1"] == pytest.approx(float(in_ohm(found.resistance_20c)), rel=1e-12)
    assert agrees(entry, "rise_book") == rise
    assert agrees(entry, "rise_k235") == rise


def test_letter_code_examples() -> None:
    """The published examples of the letter code."""
    entry = case("9.1")  # IEC 60062:2016 + AMD1:2019
    found = {text: parse_reading(text).ohm for text in entry["expected"]}

    assert {text: agrees(entry, text) for text in found} == found
