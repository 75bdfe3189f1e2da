"""Simulated measurements by three voltages, and how often their intervals hold the truth."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from impedance_helpers import as_read, resistor, table, true_volts

from coilmeter.compute.impedance import three_voltmeter
from coilmeter.compute.impedance_coverage import figures
from coilmeter.units import ureg

FIGURES: Final = ("z", "r", "x", "l", "q")


def coverage(
    random: np.random.Generator,
    count: int,
    *,
    meter: str,
    z: complex,
    ohm: float,
    hertz: float,
    tolerance: float,
    volt: float = 0.15,
) -> dict[str, float]:
    """Share of measurements whose 95 % interval holds the truth, by figure.

    Each measurement draws the meter's gain on each range, the counts of each reading, the
    resistor and the capacitance of the input from within their limits.
    """
    known = table(meter)
    ac = known.meter.ac
    middle = float(ac.input_capacitance.m_as("farad"))
    spread = float(ac.capacitance_spread.m_as("farad"))
    input_ohm = float(ac.input_resistance.m_as("ohm"))
    turn = 2 * math.pi * hertz
    truth = {
        "z": abs(z),
        "r": z.real,
        "x": z.imag,
        "l": z.imag / turn,
        "q": z.imag / z.real,
    }
    held = dict.fromkeys(FIGURES, 0)
    for _ in range(count):
        real_ohm = ohm * (1 + tolerance * random.uniform(-1, 1))
        gains = random.uniform(-1, 1, len(known.ranges))
        farad = middle + spread * random.uniform(-1, 1)
        # The helper's input has 10 Mohm; what is more or less lies across all three alike.
        extra = 1 / input_ohm - 1e-7
        volts = []
        for n, true in enumerate(
            true_volts(z, real_ohm, hertz, volt=volt, farad=farad, siemens=extra)
        ):
            entry = known.range_for(as_read(true, 0.0))
            assert entry is not None
            shown = true * (1 + entry.fraction * gains[entry.number])
            shown += entry.floor_volt * random.uniform(-1, 1)
            read = as_read(shown, entry.resolution_volt)
            volts.append(known.measured(read, hertz, "v", f"{n}"))
        found = figures(
            three_voltmeter(
                *volts,
                resistor=resistor(ohm, tolerance),
                frequency=ureg.Quantity(hertz, "hertz"),
                load=known.load(),
            )
        )
        for name in FIGURES:
            figure = getattr(found, name)
            low = -math.inf if figure.low is None else figure.low
            high = math.inf if figure.high is None else figure.high
            held[name] += low <= truth[name] <= high
    return {name: number / count for name, number in held.items()}
