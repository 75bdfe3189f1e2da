"""Text to quantity and back, strictly, over the one unit registry."""

from coilmeter.units.formats import format_ohm, format_with_uncertainty
from coilmeter.units.quantities import (
    parse_quantity,
    parse_range_end,
    parse_resistance_with_spread,
    parse_temperature,
)
from coilmeter.units.registry import Quantity, WrongDimensionError, in_degc, in_ohm, ohms, ureg
from coilmeter.units.text import Form, ReadingText, parse_reading

__all__ = [
    "Form",
    "Quantity",
    "ReadingText",
    "WrongDimensionError",
    "format_ohm",
    "format_with_uncertainty",
    "in_degc",
    "in_ohm",
    "ohms",
    "parse_quantity",
    "parse_range_end",
    "parse_reading",
    "parse_resistance_with_spread",
    "parse_temperature",
    "ureg",
]
