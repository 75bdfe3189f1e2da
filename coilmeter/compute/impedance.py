"""Impedance of a coil from AC volts, with its covariance and what cancels in it.

Four ways to it::

    three-voltmeter   V across a source, and across a known resistor and the coil in series
    dc-known          V across resistor and coil, and the coil's DC resistance
    phase             V, I and the phase between them
    two-frequency     |Z| at two frequencies

A meter's gain and its roll-off at a frequency are the same in readings on one range, and
cancel in a ratio; its counts do not.  The input of the meter lies across what it reads and
bends the circuit a little: 100 pF at 10 kHz are 159 kohm, which is not much across 10 kohm
and yet moves R by a third.  It is corrected for, and its spread is part of the uncertainty.

Source: JCGM 100:2008 (GUM) H.2 for V, I and phase with their correlations, 5.1.2 and 5.2.2
for the law of propagation.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import Any, Final

from coilmeter.compute.impedance_circuit import coil_of_sizes, coil_of_triangle
from coilmeter.compute.impedance_errors import (
    SQRT3,
    Error,
    Floats,
    Input,
    propagated,
    repeated,
)
from coilmeter.compute.impedance_measured import NO_LOAD, Load, Measured
from coilmeter.compute.impedance_refusals import (
    check_carried,
    check_growth,
    check_hertz,
    check_triangle,
)
from coilmeter.units import Quantity, ureg
from coilmeter.values.impedances import TURN, Impedance, Method, Part

CORE_LOSS: Final = 0.125
"""Largest loss tangent that a head's core is allowed for where R at the frequency was not
measured: a Q of 8 from the core alone (derived, the model of the shorted-turn table)."""

_TINY: Final = 1e-7


_SCALE_FARAD: Final = 1e-11


def three_voltmeter(
    total: Measured,
    across_resistor: Measured,
    across_coil: Measured,
    *,
    resistor: Measured,
    frequency: Quantity,
    load: Load = NO_LOAD,
) -> Impedance:
    """Impedance from the triangle of three voltages.

    Parameters
    ----------
    total, across_resistor, across_coil
        AC voltages of the source, of the resistor in series, and of the coil.
    resistor
        The resistor.
    frequency
        Of the source.
    load
        The meter's input.

    Raises
    ------
    ImpedanceError
        When the voltages make no triangle, or carry no reactance.

    """
    hertz = check_hertz(frequency)

    def formula(v: Floats) -> complex:
        return coil_of_triangle(
            float(v[0]),
            float(v[1]),
            float(v[2]),
            resistor_ohm=float(v[3]),
            load_siemens=load.siemens(TURN * hertz, float(v[4])),
        )

    inputs = [
        total.as_input("volt"),
        across_resistor.as_input("volt"),
        across_coil.as_input("volt"),
        resistor.as_input("ohm"),
        load.capacitance.as_input("farad", _SCALE_FARAD),
    ]
    check_triangle(*inputs[:3])
    z, parts = propagated(formula, inputs)
    return _impedance(hertz, z, parts, Method.THREE_VOLTMETER)


def dc_known(
    across_resistor: Measured,
    across_coil: Measured,
    *,
    resistor: Measured,
    dc: Measured,
    frequency: Quantity,
    load: Load = NO_LOAD,
    core_loss: float = CORE_LOSS,
) -> Impedance:
    """Impedance from two voltages, with R taken from the DC resistance.

    The core adds to R what nobody measured here: between nothing and `core_loss` times X.
    R is therefore assumed, and Q no more than an upper limit; X hardly feels it.

    Parameters
    ----------
    across_resistor, across_coil, resistor, frequency, load
        As for `three_voltmeter`.
    dc
        DC resistance of the coil at the temperature of the sitting.
    core_loss
        Largest loss tangent of the core that is allowed for; zero for a coil without one.

    Raises
    ------
    ImpedanceError
        When |Z| is not above the DC resistance, or the voltages carry no reactance.

    """
    hertz = check_hertz(frequency)

    def formula(v: Floats) -> complex:
        return coil_of_sizes(
            float(v[0]),
            float(v[1]),
            resistor_ohm=float(v[2]),
            dc_ohm=float(v[3]),
            loss=float(v[4]),
            load_siemens=load.siemens(TURN * hertz, float(v[5])),
        )

    loss = Error("core loss", "core loss", core_loss / 2 / SQRT3)
    inputs = [
        across_resistor.as_input("volt"),
        across_coil.as_input("volt"),
        resistor.as_input("ohm"),
        dc.as_input("ohm"),
        Input(core_loss / 2, (loss,) if core_loss else (), 0.01),
        load.capacitance.as_input("farad", _SCALE_FARAD),
    ]
    z, parts = propagated(formula, inputs)
    return _impedance(hertz, z, parts, Method.DC_KNOWN, r_assumed=core_loss > 0)


def from_phase(
    voltage: Measured, current: Measured, phase: Measured, *, frequency: Quantity
) -> Impedance:
    """Impedance from voltage, current and the phase between them (GUM H.2).

    `phase` is an angle in radian, a quantity without dimension; its errors may share keys
    with the others, which is how correlations come in.
    """
    inputs = [voltage.as_input("volt"), current.as_input("ampere"), phase.as_input("", 1.0)]
    z, parts = propagated(lambda v: cmath.rect(float(v[0] / v[1]), float(v[2])), inputs)
    return _impedance(check_hertz(frequency), z, parts, Method.PHASE)


def from_repeated_phase(
    voltage: Quantity,
    current: Quantity,
    phase: Quantity,
    *,
    frequency: Quantity,
    block: str,
    more: Sequence[tuple[Error, ...]] = ((), (), ()),
) -> Impedance:
    """Impedance from sets of V, I and phase read together several times.

    Parameters
    ----------
    voltage, current, phase
        Arrays of one value a set, two sets at least; the phase in radian.
    frequency
        The frequency.
    block
        Key of these sets.
    more
        Errors that the means of V, I and phase have besides their scatter.

    """
    columns: list[Any] = [voltage.m_as("volt"), current.m_as("ampere"), phase.m_as("")]
    sets = list(zip(*(column.tolist() for column in columns), strict=True))
    means, errors = repeated(sets, block)
    v, i, phi = (
        Measured(ureg.Quantity(mean, unit), (*each, *others))
        for mean, unit, each, others in zip(
            means, ("volt", "ampere", ""), errors, more, strict=True
        )
    )
    return from_phase(v, i, phi, frequency=frequency)


def two_frequency(first: Impedance, second: Impedance) -> Impedance:
    """R and L of a coil from |Z| at two frequencies, both taken as the same at both.

    L^2 = (Z2^2 - Z1^2) / (w2^2 - w1^2).  A core whose loss grows with the frequency breaks
    the assumption: R counts as assumed.

    Parameters
    ----------
    first, second
        |Z| at each frequency, by `size_only`.

    Returns
    -------
    Impedance
        At the higher frequency.

    Raises
    ------
    ImpedanceError
        When |Z| does not grow with the frequency as that of a coil does.

    """
    low, high = sorted((first, second), key=lambda each: each.frequency_hz)
    check_growth(low, high)
    w1, w2 = TURN * low.frequency_hz, TURN * high.frequency_hz

    def formula(v: Floats) -> complex:
        l2 = float(v[1] ** 2 - v[0] ** 2) / (w2**2 - w1**2)
        return complex(math.sqrt(float(v[0]) ** 2 - w1**2 * l2), w2 * math.sqrt(l2))

    inputs = [Input(each.r_ohm, tuple(map(_as_error, each.parts))) for each in (low, high)]
    z, parts = propagated(formula, inputs)
    return _impedance(high.frequency_hz, z, parts, Method.TWO_FREQUENCY, r_assumed=True)


def size_only(
    across_resistor: Measured, across_coil: Measured, *, resistor: Measured, frequency: Quantity
) -> Impedance:
    """|Z| from two voltages, as an impedance whose reactance is left at zero."""
    inputs = [
        across_resistor.as_input("volt"),
        across_coil.as_input("volt"),
        resistor.as_input("ohm"),
    ]
    z, parts = propagated(lambda v: complex(v[2] * v[1] / v[0]), inputs)
    return Impedance(check_hertz(frequency), z.real, 0.0, parts, Method.TWO_FREQUENCY)


def _as_error(part: Part) -> Error:
    """Make of a part of |Z| an error of an input."""
    return Error(part.key, part.cause, part.r_ohm, part.rectangular, part.dof, part.block)


def _impedance(
    hertz: float,
    z: complex,
    parts: Sequence[Part],
    method: Method,
    *,
    r_assumed: bool = False,
) -> Impedance:
    """Put it together: what moved nothing has cancelled."""
    size = abs(z)
    stay = [part for part in parts if math.hypot(part.r_ohm, part.x_ohm) > _TINY * size]
    causes = dict.fromkeys(part.cause for part in stay)
    cancelled = dict.fromkeys(part.cause for part in parts if part.cause not in causes)
    found = Impedance(
        hertz, z.real, z.imag, tuple(stay), method, tuple(cancelled), tuple(causes), r_assumed
    )
    check_carried(found)
    return found
