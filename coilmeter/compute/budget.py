"""A resistance at 20 degC and its standard uncertainty, part by part.

Everything here works alike on quantities with one value and on quantities with an array of
them.  Model of one reading R of a copper winding, taken at T degC through leads R_l::

    R20 = (R - R_l) / (1 + alpha (T - 20))

and the parts of its standard uncertainty, as they act on R20 (c = 1 + alpha (T - 20))::

    gain         a R / sqrt3 / c              a = stated fraction of reading, shared by a meter
    floor        n q / sqrt3 / c              n counts of q, or another printed floor
    rounding     d / sqrt12 / c               d = last digit written, where coarser than q
    leads        u(R_l) / c                   shared by one lead null
    scatter      s / sqrt N / c               N readings averaged
    temperature  alpha R20 u(T) / c           shared by one sitting

Sources: JCGM 100:2008 (GUM) 4.3.7 for a rectangular limit, F.2.2.1 for a rounded reading,
4.2.3 for a mean, 5.1.2 for the law of propagation; IEC 60028:1925 for copper.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from coilmeter.units import Quantity, ohms, ureg

COPPER_PER_KELVIN: Final = 0.00393
"""Temperature coefficient of annealed copper at 20 degC, 1/K (IEC 60028:1925)."""

REFERENCE_DEGC: Final = 20.0
WRONG_NULL_SIGMAS: Final = 3.0
PARTS: Final = ("gain", "floor", "rounding", "leads", "scatter", "temperature")
_SQRT3: Final = 3.0**0.5
_SQRT12: Final = 12.0**0.5


@dataclass(frozen=True, slots=True)
class Circumstances:
    """How a reading was taken: everything its uncertainty depends on.

    Parameters
    ----------
    fraction
        Stated limit of error of the meter as a fraction of the reading (float or array).
    floor
        Part of the stated limit that does not grow with the reading; a resistance.
    rounding
        Last digit written where it is coarser than the meter's; a resistance, zero where not.
    leads, u_leads
        Lead resistance to take off and its standard uncertainty.
    temperature_degc, u_temperature_k
        Temperature of the winding, and its standard uncertainty in kelvin (float or array).
    scatter, count
        Standard deviation of the readings averaged, and how many they were.

    """

    fraction: Any
    floor: Quantity
    rounding: Quantity
    leads: Quantity
    u_leads: Quantity
    temperature_degc: Any
    u_temperature_k: Any
    scatter: Quantity
    count: Any = 1


@dataclass(frozen=True, slots=True)
class Budget:
    """A resistance at 20 degC with its uncertainty and where that comes from.

    Parameters
    ----------
    resistance_20c
        Best estimate; a resistance.
    u
        Combined standard uncertainty; a resistance.
    parts
        The standard uncertainty from each cause, keyed by `PARTS`, in that order.

    """

    resistance_20c: Quantity
    u: Quantity
    parts: dict[str, Quantity]


def budget(reading: Quantity, how: Circumstances, *, copper: bool = True) -> Budget:
    """Correct a reading to 20 degC and state its uncertainty.

    Parameters
    ----------
    reading
        Resistance as read, one value or an array.
    how
        How it was taken, of one value each or of arrays of the same shape.
    copper
        False for a path that is no winding (isolation): then there is no correction to
        20 degC and no part from temperature.

    """
    alpha = ureg.Quantity(COPPER_PER_KELVIN if copper else 0.0, "1/kelvin")
    excess = ureg.Quantity(np.asarray(how.temperature_degc) - REFERENCE_DEGC, "kelvin")
    warmth = (1 + alpha * excess).to("").magnitude
    at_20 = ((reading - how.leads) / warmth).to("ohm")
    u_temperature = ureg.Quantity(how.u_temperature_k, "kelvin")
    parts = {
        "gain": abs(reading) * how.fraction / _SQRT3 / warmth,
        "floor": how.floor / _SQRT3 / warmth,
        "rounding": how.rounding / _SQRT12 / warmth,
        "leads": how.u_leads / warmth,
        "scatter": how.scatter / np.sqrt(how.count) / warmth,
        "temperature": alpha * abs(at_20) * u_temperature / warmth,
    }
    like = np.shape(at_20.magnitude)
    parts = {
        name: ohms(np.broadcast_to(part.m_as("ohm"), like)) if like else part.to("ohm")
        for name, part in parts.items()
    }
    u = sum((part * part for part in parts.values()), ureg.Quantity(0.0, "ohm**2")) ** 0.5
    return Budget(at_20, u.to("ohm"), parts)


def below_zero(value_ohm: Any, u_ohm: Any) -> Any:
    """Whether values (float or array, ohm) lie below zero by more than three u."""
    return value_ohm < -WRONG_NULL_SIGMAS * u_ohm


def wrong_null(value_ohm: float, u_ohm: float) -> str:
    """Say what was expected in place of a resistance so far below zero."""
    return (
        f"a resistance, which cannot be negative: with the leads off it is {value_ohm:.4g} "
        f"ohm, more than 3 x {u_ohm:.2g} ohm below zero (repeat the lead null with the "
        "clips together, and take the leads off once only)"
    )
