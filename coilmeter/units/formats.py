"""Resistances written for a person: the one rounding rule of the project."""

from __future__ import annotations


def format_ohm(value_ohm: float, u_ohm: float | None = None) -> str:
    """Write a resistance for a person, with ohm, kohm or Mohm.

    With an uncertainty, the value is rounded to the second significant digit of the
    uncertainty; without one, to four significant digits.  This is the one rounding rule of
    the project.
    """
    factor, unit = _scale(max(abs(value_ohm), u_ohm or 0.0))
    if not u_ohm:
        return f"{value_ohm / factor:.4g} {unit}"
    return f"{value_ohm / factor:.{decimals_of(u_ohm / factor)}f} {unit}"


def format_with_uncertainty(value_ohm: float, u_ohm: float) -> str:
    """Write a resistance and its uncertainty in the same unit, by the same rule."""
    factor, unit = _scale(max(abs(value_ohm), u_ohm))
    decimals = decimals_of(u_ohm / factor)
    return f"{value_ohm / factor:.{decimals}f} +/- {u_ohm / factor:.{decimals}f} {unit}"


def _scale(size_ohm: float) -> tuple[float, str]:
    steps = ((1e9, "Gohm"), (1e6, "Mohm"), (1e3, "kohm"))
    return next((step for step in steps if size_ohm >= step[0]), (1.0, "ohm"))


def decimals_of(u: float) -> int:
    """Decimals that show two significant digits of `u`, once it is rounded; at most six."""
    return min(max(1 - int(f"{u:.1e}".partition("e")[2]), 0), 6)
