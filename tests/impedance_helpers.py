"""What the tests of AC volts share: true voltages by plain complex arithmetic, and files."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
from helpers import settings, shipped

from coilmeter.compute.coil_model import CoilModel
from coilmeter.compute.impedance_errors import SQRT3, Error
from coilmeter.compute.impedance_heads import measured_heads
from coilmeter.compute.impedance_measured import Measured
from coilmeter.compute.impedance_volts import AcTable
from coilmeter.compute.turns_group import Limits
from coilmeter.errors import MistakesError
from coilmeter.sources.impedance_sheet import parse_volts
from coilmeter.units import ohms, ureg
from coilmeter.units.voltages import VoltageText
from coilmeter.values.impedance_rows import AcVolts
from coilmeter.values.impedances import HeadImpedance

SOUND = CoilModel(300.0, 0.1)
HEADER = "head,kind,coil,frequency,v_total,v_resistor,v_coil,resistor,dc,reference\n"
METER = "handheld-4000"


def true_volts(
    z: complex,
    resistor: float,
    hertz: float,
    *,
    volt: float = 0.15,
    farad: float = 1e-10,
    siemens: float = 0.0,
) -> tuple[float, float, float]:
    """Voltages of source, resistor and coil, each with 10 Mohm and `farad` across it.

    `siemens` is what the input conducts besides.
    """
    load = 1e-7 + siemens + 2j * math.pi * hertz * farad
    loaded_r, loaded_z = 1 / (1 / resistor + load), 1 / (1 / z + load)
    return (
        volt,
        volt * abs(loaded_r / (loaded_r + z)),
        volt * abs(loaded_z / (resistor + loaded_z)),
    )


def exact(value: float, unit: str) -> Measured:
    """Give a quantity without error."""
    return Measured(ureg.Quantity(value, unit))


def resistor(ohm: float = 10e3, fraction: float = 0.01) -> Measured:
    """Give a series resistor with a tolerance."""
    return Measured(ohms(ohm), (Error("resistor", "resistor", fraction * ohm / SQRT3),))


def table(name: str = METER) -> AcTable:
    """Look up the AC volts of a shipped meter."""
    return AcTable(shipped().meter(name))


def as_read(volt: float, step: float = 1e-4, **more: Any) -> AcVolts:
    """Give a voltage as a display shows it."""
    return AcVolts(VoltageText(volt, step, f"{1e3 * volt:.1f} mV"), **more)


def volts_csv(
    coils: Mapping[str, CoilModel],
    *,
    head: str = "A",
    kind: str = "four-channel-rp",
    hertz: float = 10e3,
    ohm: float = 10e3,
    volt: float = 0.15,
    gain: float = 1.0,
    dc: bool = True,
    reference: str = "",
    random: np.random.Generator | None = None,
    counts: float = 2.0,
    farad: float = 1e-10,
) -> str:
    """Write lines of a file of AC volts, as a meter with a last digit of 0.1 mV reads them."""
    lines = []
    for name, coil in coils.items():
        true = true_volts(coil.impedance_ohm(hertz), ohm, hertz, volt=volt, farad=farad)
        errors = [0.0] * 3 if random is None else random.uniform(-counts, counts, 3).tolist()
        shown = [
            f"{0.1 * round(1e4 * gain * value + error):.1f} mV"
            for value, error in zip(true, errors, strict=True)
        ]
        copper = f"{coil.dc_ohm:.1f} ohm" if dc else ""
        lines.append(
            f"{head},{kind},{name},{hertz:g} Hz,{','.join(shown)},{ohm:g} ohm +/- 1 %,{copper},"
            f"{reference}\n"
        )
    return "".join(lines)


def four(*coils: CoilModel) -> dict[str, CoilModel]:
    """Name four coils 1 to 4."""
    return dict(zip("1234", coils, strict=True))


def judged_volts(
    text: str, limits: Limits | None = None, **changes: Any
) -> list[HeadImpedance]:
    """Judge the text of a file of AC volts."""
    sheet = parse_volts(text.encode(), "ac.csv")
    changed = settings(**{"meter": METER, **changes})
    return measured_heads(sheet.rows, changed, limits or Limits(), sheet.mistakes)


def one_head(text: str, limits: Limits | None = None, **changes: Any) -> HeadImpedance:
    """Judge the text of a file of AC volts about one head."""
    (head,) = judged_volts(text, limits, **changes)
    return head


def mistakes_in(text: str, **changes: Any) -> list[str]:
    """Collect every mistake that a file of AC volts is refused for, as text."""
    try:
        judged_volts(text, **changes)
    except MistakesError as error:
        return [str(mistake) for mistake in error.mistakes]
    return []


def signs(head: HeadImpedance) -> list[str]:
    """Signs of the coils of a head, in their order."""
    return [str(coil.sign) for coil in head.coils.values()]
