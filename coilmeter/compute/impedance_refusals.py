"""AC volts that must not become an impedance, each with what may have happened."""

from __future__ import annotations

import math
from typing import Final

from coilmeter.compute.impedance_errors import Input
from coilmeter.errors import ImpedanceError
from coilmeter.units import Quantity
from coilmeter.units.si_text import format_si
from coilmeter.values.impedances import Impedance

SIGMAS: Final = 3.0
"""So many standard uncertainties off, it is a mistake and no scatter."""

CARRIED: Final = 1 / 3
"""Largest relative standard uncertainty of an X that is worth being called one."""

TOLERANCE: Final = 0.02
"""Tolerance up to which a resistor may be the largest uncertainty."""

DOMINATES: Final = 0.5
"""Share of the variance of |Z| from which on the resistor dominates."""

LOWEST_HZ: Final = 10.0
HIGHEST_HZ: Final = 1e6


def check_hertz(frequency: Quantity) -> float:
    """Give the frequency in hertz.

    Raises
    ------
    ImpedanceError
        When no meter and no head works there.

    """
    hertz = float(frequency.m_as("hertz"))
    if not LOWEST_HZ <= hertz <= HIGHEST_HZ:
        raise ImpedanceError(
            "frequency",
            f"{hertz:.4g} Hz",
            "the frequency of the tone, between 10 Hz and 1 MHz",
            "10 kHz shows shorted turns, 1 kHz is what catalogues state.",
        )
    return hertz


def check_triangle(total: Input, resistor: Input, coil: Input) -> None:
    """Refuse three voltages that no circuit in series has.

    Raises
    ------
    ImpedanceError
        When one is more than the other two together, by more than their counts allow.

    """
    names = ("v_total", "v_resistor", "v_coil")
    volts = [each.value for each in (total, resistor, coil)]
    # A gain that all share moves both sides alike and excuses nothing.
    common = {error.key for error in total.errors}
    for each in (resistor, coil):
        common &= {error.key for error in each.errors}
    own = [
        math.fsum(error.u**2 for error in each.errors if error.key not in common)
        for each in (total, resistor, coil)
    ]
    allowed = SIGMAS * math.sqrt(math.fsum(own))
    for index, name in enumerate(names):
        others = math.fsum(volts) - volts[index]
        if volts[index] > others + allowed + 1e-9 * others:
            first, second = (each for each in names if each != name)
            raise ImpedanceError(
                name,
                f"{format_si(volts[index], 'V')}, more than {first} and {second} together "
                f"({format_si(others, 'V')})",
                "three voltages of one circuit in series: none is more than the other two",
                "read all three again, without touching source or range: the tone may have "
                "changed, or two readings are exchanged.",
            )


def check_growth(low: Impedance, high: Impedance) -> None:
    """Refuse |Z| at two frequencies that is no coil's.

    Raises
    ------
    ImpedanceError
        When it does not grow, or grows faster than the frequency.

    """
    if low.frequency_hz == high.frequency_hz:
        raise ImpedanceError(
            "frequency",
            f"{format_si(low.frequency_hz, 'Hz')} twice",
            "two frequencies, well apart",
            "measure at 1 kHz and at 10 kHz.",
        )
    growth = high.r_ohm / low.r_ohm
    if not 1 < growth < high.frequency_hz / low.frequency_hz:
        raise ImpedanceError(
            "v_coil",
            f"|Z| of {low.r_ohm:.4g} ohm at {format_si(low.frequency_hz, 'Hz')} and of "
            f"{high.r_ohm:.4g} ohm at {format_si(high.frequency_hz, 'Hz')}",
            "|Z| that grows with the frequency, and no faster than it",
            "is the head still connected, or is there more than the coil between the points?",
        )


def check_carried(found: Impedance) -> None:
    """Refuse a result that the voltages do not carry.

    Raises
    ------
    ImpedanceError
        When X is not told from nothing, or R is certainly below zero.

    """
    (rr, _), (_, xx) = found.covariance_ohm2
    u_r, u_x = math.sqrt(rr), math.sqrt(xx)
    if not found.x_ohm > 0 or u_x > CARRIED * found.x_ohm:
        raise ImpedanceError(
            "v_coil",
            f"a reactance of {format_si(found.x_ohm, 'ohm', u_x or None)} (standard)",
            "a reactance that is told from nothing",
            "raise the frequency, take a resistor nearer to |Z| of the coil, or read with "
            "more digits.",
        )
    if found.r_ohm < -SIGMAS * u_r:
        raise ImpedanceError(
            "v_total",
            f"a resistance of {format_si(found.r_ohm, 'ohm', u_r or None)} (standard), below "
            "zero",
            "a coil, which takes power and gives none",
            "are v_resistor and v_coil exchanged, or is something else connected?",
        )


def check_resistor(found: Impedance, half_ohm: float, ohm: float) -> None:
    """Refuse a resistor that is known too badly.

    Raises
    ------
    ImpedanceError
        When its tolerance is above `TOLERANCE` and makes most of the uncertainty of |Z|.

    """
    if half_ohm <= TOLERANCE * ohm:
        return
    z = math.hypot(found.r_ohm, found.x_ohm)
    by_cause: dict[bool, float] = {True: 0.0, False: 0.0}
    for part in found.parts:
        along = (found.r_ohm * part.r_ohm + found.x_ohm * part.x_ohm) / z
        by_cause[part.cause == "resistor"] += along**2
    if by_cause[True] > DOMINATES * (by_cause[True] + by_cause[False]):
        raise ImpedanceError(
            "resistor",
            f"a tolerance of {100 * half_ohm / ohm:.3g} %, which is most of the uncertainty",
            f"a resistor known to {100 * TOLERANCE:g} % or better",
            "read it with the ohmmeter and write that down, such as '9.98 kohm +/- 1 %'.",
        )


def check_not_parallel(found: Impedance, dc_ohm: float, u_dc_ohm: float) -> None:
    """Refuse a resistance at the frequency that lies below that of the copper.

    The core can only add to it.

    Raises
    ------
    ImpedanceError
        When R is certainly below the DC resistance.

    """
    (rr, _), _ = found.covariance_ohm2
    if found.r_assumed or found.r_ohm + SIGMAS * math.sqrt(rr + u_dc_ohm**2) >= dc_ohm:
        return
    raise ImpedanceError(
        "dc",
        f"R of {format_si(found.r_ohm, 'ohm', math.sqrt(rr))} at "
        f"{format_si(found.frequency_hz, 'Hz')}, below the {dc_ohm:.4g} ohm at DC",
        "R at a tone that is no less than the copper alone",
        "something lies across the coil: unplug the head; or the DC resistance is another "
        "coil's.",
    )
