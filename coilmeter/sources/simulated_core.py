"""What a coil of the simulated head is beside its copper: a core, turns, capacitance.

A head that says nothing of it gets figures of its role: inductance over resistance as in
`coilmeter.compute.impedance_advice.EXPECTED` (mem), so that a coil of fewer ohms has less.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from coilmeter.compute.coil_model import CORE_Q, COUPLING, CoilModel
from coilmeter.compute.impedance_advice import EXPECTED
from coilmeter.values import Role

GAP_SHARE: Final = 0.5
"""Share of the front gap in the reluctance when new (derived model: 0.3 to 0.7)."""

ERASE_BELOW_OHM: Final = 40.0
"""Where no role is named, a coil of less is taken for an erase coil (invented)."""


@dataclass(frozen=True, slots=True)
class Core:
    """Core and winding of one coil.

    Parameters
    ----------
    inductance_h
        Inductance of the whole winding at low frequency, the gap unworn.
    loss
        Loss tangent of the core.
    coupling
        Coupling between shorted and other turns.
    capacitance_f
        Capacitance across the coil.
    gap_left
        Depth of the front gap over that when new, above 0 and up to 1.

    """

    inductance_h: float
    loss: float = 1 / CORE_Q
    coupling: float = COUPLING
    capacitance_f: float = 0.0
    gap_left: float = 1.0

    def coil(self, ohm: float, shorted: float = 0.0) -> CoilModel:
        """Give the coil with so many ohms of copper and this share of its turns shorted.

        Raises
        ------
        InputError
            When a figure cannot be that of a coil.

        """
        new = CoilModel(
            ohm, self.inductance_h, self.loss, shorted, self.coupling, self.capacitance_f
        )
        return new if self.gap_left == 1 else new.worn(self.gap_left, GAP_SHARE)


def core_for(ohm: float, role: Role = Role.UNKNOWN) -> Core:
    """Give the core that a sound coil of this role and DC resistance is expected to have."""
    guessed = role
    if role is Role.UNKNOWN and ohm < ERASE_BELOW_OHM:
        guessed = Role.ERASE
    expected = EXPECTED[guessed]
    inductance_h = expected.inductance_h * ohm / expected.resistance_ohm
    return Core(float(f"{inductance_h:.3g}"), expected.loss)
