"""The circuit behind AC volts: source, resistor, coil, and the meter across one of them.

SI floats, the unit in the name.  What the meter's input takes bends the two voltages a
little; here they are bent back, step by step, until the impedance stands.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from typing import Final

from coilmeter.errors import ImpedanceError

_ROUNDS: Final = 300
_STILL: Final = 1e-13


def triangle_cosine(whole: float, first: float, second: float) -> float:
    """Cosine of the angle between two voltages in series, from their sizes and that of the sum.

    The same triangle holds for two currents in parallel (three ammeters).

    Source: the law of cosines; worked examples 7.1 and 7.3 of reference_data.
    """
    return (whole**2 - first**2 - second**2) / (2 * first * second)


def coil_of_triangle(
    total_volt: float,
    resistor_volt: float,
    coil_volt: float,
    *,
    resistor_ohm: float,
    load_siemens: complex = 0j,
) -> complex:
    """Impedance of the coil in ohm from the three voltages; inductive, as a coil is.

    Parameters
    ----------
    total_volt, resistor_volt, coil_volt
        As read one after the other, each with the load across it.
    resistor_ohm
        The resistor in series.
    load_siemens
        Admittance of the meter's input.

    Raises
    ------
    ImpedanceError
        When no coil gives such voltages.

    """
    a, b = resistor_volt / total_volt, coil_volt / total_volt

    def close(bent: tuple[float, float]) -> complex:
        first, second = a / bent[0], b / bent[1]
        cosine = triangle_cosine(1.0, first, second)
        return cmath.rect(resistor_ohm * second / first, math.acos(min(max(cosine, -1), 1)))

    return _standing(close, resistor_ohm, load_siemens)


def coil_of_sizes(
    resistor_volt: float,
    coil_volt: float,
    *,
    resistor_ohm: float,
    dc_ohm: float,
    loss: float,
    load_siemens: complex = 0j,
) -> complex:
    """Impedance of the coil in ohm from two voltages, with R = dc + loss X.

    Parameters
    ----------
    resistor_volt, coil_volt, resistor_ohm, load_siemens
        As for `coil_of_triangle`.
    dc_ohm, loss
        DC resistance, and loss tangent of the core.

    Raises
    ------
    ImpedanceError
        When |Z| is not above the DC resistance.

    """
    size = resistor_ohm * coil_volt / resistor_volt

    def close(bent: tuple[float, float]) -> complex:
        return with_loss(size * bent[0] / bent[1], dc_ohm, loss)

    return _standing(close, resistor_ohm, load_siemens)


def with_loss(size_ohm: float, dc_ohm: float, loss: float) -> complex:
    """R + jX of that size with R = dc + loss X.

    Raises
    ------
    ImpedanceError
        When the size is not above the DC resistance.

    """
    if size_ohm <= dc_ohm:
        raise ImpedanceError(
            "dc",
            f"|Z| of {size_ohm:.4g} ohm with a DC resistance of {dc_ohm:.4g} ohm",
            "|Z| above the DC resistance",
            "something lies across the coil (is the head still connected?), or the DC "
            "resistance is another coil's.",
        )
    inside = (dc_ohm * loss) ** 2 + (1 + loss**2) * (size_ohm**2 - dc_ohm**2)
    x = (math.sqrt(inside) - dc_ohm * loss) / (1 + loss**2)
    return complex(dc_ohm + loss * x, x)


def bend(coil_ohm: complex, resistor_ohm: float, load_siemens: complex) -> tuple[float, float]:
    """By which factors the load changes V of the resistor and V of the coil, over V total."""
    whole = resistor_ohm + coil_ohm
    resistor, coil = 1 / (1 / resistor_ohm + load_siemens), 1 / (1 / coil_ohm + load_siemens)
    first = abs(resistor / (resistor + coil_ohm)) / abs(resistor_ohm / whole)
    return first, abs(coil / (resistor_ohm + coil)) / abs(coil_ohm / whole)


def _standing(
    close: Callable[[tuple[float, float]], complex], resistor_ohm: float, load_siemens: complex
) -> complex:
    z = close((1.0, 1.0))
    if load_siemens == 0:
        return z
    for _ in range(_ROUNDS):
        after = close(bend(z, resistor_ohm, load_siemens))
        if abs(after - z) <= _STILL * abs(after):
            return after
        z = after
    raise ImpedanceError(
        "v_coil",
        "voltages that the meter's own input bends beyond correction",
        f"an impedance well below the {1 / abs(load_siemens):.3g} ohm of the meter's input",
        "measure at a lower frequency, or with a resistor and a coil of fewer ohms.",
    )
