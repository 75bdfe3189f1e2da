"""Quantities other than a resistance, written for a person by the one rounding rule."""

from __future__ import annotations

from typing import Final

from coilmeter.units.formats import decimals_of

_PREFIXES: Final = (
    (1e9, "G"),
    (1e6, "M"),
    (1e3, "k"),
    (1.0, ""),
    (1e-3, "m"),
    (1e-6, "u"),
    (1e-9, "n"),
    (1e-12, "p"),
)


def format_si(value: float, unit: str, u: float | None = None) -> str:
    """Write a value in SI units with a prefix: ``98.4 mV``, or ``89.7 +/- 1.2 mH`` with `u`.

    With an uncertainty, both are rounded to the second significant digit of the uncertainty;
    without one, the value to four significant digits, as `coilmeter.units.format_ohm` does.
    A figure without a unit has no prefix.
    """
    size = max(abs(value), u or 0.0)
    factor, letter = next(
        (step for step in _PREFIXES if size >= step[0] * (1 - 1e-12)),
        _PREFIXES[-1] if size else (1.0, ""),
    )
    if not unit:
        factor, letter = 1.0, ""
    if not u:
        return f"{value / factor:.4g} {letter}{unit}".rstrip()
    decimals = decimals_of(u / factor)
    return (
        f"{value / factor:.{decimals}f} +/- {u / factor:.{decimals}f} {letter}{unit}".rstrip()
    )
