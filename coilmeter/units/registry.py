"""The one unit registry, built from this project's own short definitions file."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final, TypeAlias

import pint

ureg: Final[pint.UnitRegistry[Any]] = pint.UnitRegistry(
    str(Path(__file__).with_name("definitions.txt"))
)
Quantity: TypeAlias = "pint.Quantity[Any]"
"""A pint quantity of `ureg`; its magnitude is a float or a numpy array of floats."""

WrongDimensionError = pint.DimensionalityError
"""Raised where a quantity of one dimension is asked for its magnitude in another."""


def ohms(value: Any) -> Quantity:
    """Quantity of `value` (float or array of floats) in ohm."""
    return ureg.Quantity(value, "ohm")


def in_ohm(quantity: Quantity) -> Any:
    """Magnitude in ohm (float or array) of a resistance.

    Raises
    ------
    pint.DimensionalityError
        When `quantity` is not a resistance.

    """
    return quantity.m_as("ohm")


def in_degc(quantity: Quantity) -> Any:
    """Magnitude in degree Celsius (float or array) of a temperature."""
    return quantity.m_as("degree_Celsius")
