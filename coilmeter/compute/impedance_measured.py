"""Quantities with their elementary errors, as they enter an impedance; and a meter's input."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from coilmeter.compute.impedance_errors import Error, Input
from coilmeter.units import Quantity, ohms, ureg


@dataclass(frozen=True, slots=True)
class Measured:
    """A quantity and its elementary errors.

    Parameters
    ----------
    value
        What was read.
    errors
        Its errors; their standard uncertainties in the SI unit of the value.

    """

    value: Quantity
    errors: tuple[Error, ...] = ()

    def as_input(self, unit: str, scale: float = 0.0) -> Input:
        """Give the value in `unit`, which must be the SI unit of its dimension.

        Raises
        ------
        pint.DimensionalityError
            When the value is of another dimension.

        """
        return Input(float(self.value.m_as(unit)), self.errors, scale)


def measured(value: Quantity, u: Quantity, key: str, *, rectangular: bool = False) -> Measured:
    """Give a quantity with one error of standard uncertainty `u`, of the same dimension.

    Two quantities given the same `key` share the error.
    """
    si = value.to_base_units()
    error = Error(key, key, float(u.m_as(si.units)), rectangular)
    return Measured(ureg.Quantity(float(si.magnitude), si.units), (error,))


@dataclass(frozen=True, slots=True)
class Load:
    """What the meter's input puts across whatever it reads: a resistance, a capacitance."""

    resistance: Quantity
    capacitance: Measured

    def siemens(self, turn: float, farad: float) -> complex:
        """Admittance at an angular frequency with that capacitance."""
        return 1 / float(self.resistance.m_as("ohm")) + 1j * turn * farad


NO_LOAD: Final = Load(ohms(math.inf), Measured(ureg.Quantity(0.0, "farad")))
"""A voltmeter that takes no current."""
