"""A resistance at 20 degC and its uncertainty, part by part."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pint
import pytest

from coilmeter.compute.budget import (
    PARTS,
    Budget,
    Circumstances,
    below_zero,
    budget,
)
from coilmeter.units import in_ohm, ohms, ureg

SQRT3 = math.sqrt(3.0)
NOTHING = Circumstances(
    fraction=0.0,
    floor=ohms(0.0),
    rounding=ohms(0.0),
    leads=ohms(0.0),
    u_leads=ohms(0.0),
    temperature_degc=20.0,
    u_temperature_k=0.0,
    scatter=ohms(0.0),
)


def figures(found: Budget) -> dict[str, float]:
    """Give the parts of a budget as numbers in ohm."""
    return {name: float(in_ohm(part)) for name, part in found.parts.items()}


@pytest.mark.parametrize(
    ("part", "change", "expected"),
    [
        ("gain", {"fraction": 0.008}, 200.0 * 0.008 / SQRT3),  # GUM 4.3.7
        ("floor", {"floor": ohms(0.5)}, 0.5 / SQRT3),  # GUM 4.3.7
        ("rounding", {"rounding": ohms(1.0)}, 1 / math.sqrt(12)),  # GUM F.2.2.1
        ("leads", {"u_leads": ohms(0.1)}, 0.1),
        ("scatter", {"scatter": ohms(0.6), "count": 9}, 0.2),  # GUM 4.2.3
        ("temperature", {"u_temperature_k": 2.0}, 0.00393 * 200.0 * 2.0),  # IEC 60028
    ],
)
def test_each_part_alone(part: str, change: dict[str, Any], expected: float) -> None:
    """Each cause gives its own part, and the whole where it is alone."""
    found = budget(ohms(200.0), replace(NOTHING, **change))

    assert dict.fromkeys(PARTS, 0.0) | {part: pytest.approx(expected)} == figures(found)
    assert expected == pytest.approx(float(in_ohm(found.u)))
    assert PARTS == tuple(found.parts)


def test_parts_add_in_quadrature() -> None:
    """Independent parts add as squares (GUM 5.1.2): 3, 4 and 12 make 13."""
    how = replace(NOTHING, floor=ohms(3 * SQRT3), u_leads=ohms(4.0), scatter=ohms(12.0))
    found = budget(ohms(200.0), how)

    assert 13.0 == pytest.approx(float(in_ohm(found.u)))


def test_one_hard_number() -> None:
    """A warm coil read through known leads, worked by hand.

    R = 212.4 ohm read at 30 degC (c = 1.0393), leads 0.2: R20 = 212.2 / 1.0393 = 204.1759.
    gain     212.4 x 0.008 / 1.7320508 / 1.0393 = 0.943937
    floor    0.5 / 1.7320508 / 1.0393          = 0.277759
    leads    0.05 / 1.0393                      = 0.048109
    scatter  0.3 / 2 / 1.0393                   = 0.144328
    temperature 0.00393 x 204.1759 x 1 / 1.0393 = 0.772069
    together sqrt(0.891017 + 0.077150 + 0.002315 + 0.020831 + 0.596090) = 1.259922
    """
    how = replace(
        NOTHING,
        fraction=0.008,
        floor=ohms(0.5),
        leads=ohms(0.2),
        u_leads=ohms(0.05),
        temperature_degc=30.0,
        u_temperature_k=1.0,
        scatter=ohms(0.3),
        count=4,
    )
    found = budget(ohms(212.4), how)

    assert 204.1759 == pytest.approx(float(in_ohm(found.resistance_20c)), abs=5e-5)
    assert 1.259922 == pytest.approx(float(in_ohm(found.u)), abs=5e-6)


def test_a_path_is_no_copper() -> None:
    """An isolation path gets no correction to 20 degC and no part from temperature."""
    how = replace(NOTHING, temperature_degc=40.0, u_temperature_k=3.0, floor=ohms(1.0))
    found = budget(ohms(1e6), how, copper=False)

    assert 1e6 == float(in_ohm(found.resistance_20c))
    assert 0.0 == figures(found)["temperature"]


@pytest.mark.parametrize("unit", ["ohm", "kohm", "Mohm"])
def test_unit_of_the_reading_does_not_matter(unit: str) -> None:
    """The same resistance in another unit gives the same budget."""
    how = replace(NOTHING, fraction=0.01, floor=ohms(0.5), leads=ohms(0.2))
    found = budget(ohms(212.4).to(unit), how)

    assert float(in_ohm(budget(ohms(212.4), how).u)) == pytest.approx(float(in_ohm(found.u)))


def test_a_wrong_unit_cannot_pass() -> None:
    """A voltage is no resistance."""
    with pytest.raises(pint.DimensionalityError) as caught:
        budget(ureg.Quantity(5.0, "volt"), NOTHING)

    assert "volt" in str(caught.value)


def test_arrays_agree_with_single_values() -> None:
    """An array of readings gives exactly what each reading gives alone."""
    read = np.array([-0.2, 0.0, 5.1, 212.4, 3.9e7])
    how = replace(NOTHING, fraction=0.01, floor=ohms(0.5), leads=ohms(0.2), u_leads=ohms(0.1))
    together = budget(ohms(read), how)
    alone = [budget(ohms(float(value)), how) for value in read]

    assert [float(in_ohm(one.u)) for one in alone] == in_ohm(together.u).tolist()
    assert [float(in_ohm(one.resistance_20c)) for one in alone] == (
        in_ohm(together.resistance_20c).tolist()
    )


def test_negative_readings_have_an_uncertainty() -> None:
    """A little below zero after a null is a reading like any other."""
    found = budget(ohms(-0.1), replace(NOTHING, fraction=0.01, u_temperature_k=1.0))

    assert min(figures(found).values()) >= 0.0
    assert 0.01 * 0.1 / SQRT3 == pytest.approx(figures(found)["gain"])


def test_exactly_three_sigma_is_still_a_reading() -> None:
    """The limit itself is not beyond the limit."""
    values = np.array([-0.3, -0.3000001, 0.0])

    assert [False, True, False] == below_zero(values, np.array([0.1, 0.1, 0.1])).tolist()
