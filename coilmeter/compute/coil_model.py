"""A head coil at a tone: copper, inductance, core loss, shorted turns, self-capacitance.

A share s of the turns that is shorted is a second coil of s^2 L and s R on the same core,
closed on itself, beside the (1 - s)^2 L and (1 - s) R that are left; both are coupled by k::

    Z = (1-s) R + j w (1-s)^2 Lc + (w k s (1-s))^2 Lc^2 / (s R + j w s^2 Lc)
    Lc = L (1 - j d)

with a loss tangent d of the core that does not change with the frequency.  The capacitance
lies across the whole.  Derived; with k = 0.98 and d = 1/8 it gives the figures of
docs/method.md to their printed digits.  SI floats, the unit in the name.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

from coilmeter.errors import InputError

COUPLING: Final = 0.98
"""Coupling of shorted turns to the rest (derived model, this project's choice)."""

CORE_Q: Final = 8.0
"""Q that a head's core alone allows (derived model: 8 to 10)."""

_TURN: Final = 2 * math.pi


@dataclass(frozen=True, slots=True)
class CoilModel:
    """A coil.

    Parameters
    ----------
    resistance_ohm
        DC resistance of the whole winding.
    inductance_h
        Inductance of the whole winding at low frequency.
    loss
        Loss tangent of the core.
    shorted
        Share of the turns that is shorted, from 0 up to and without 1.
    coupling
        Coupling between shorted and other turns, 0 to 1.
    capacitance_f
        Capacitance across the coil.

    Raises
    ------
    InputError
        When a figure cannot be that of a coil.

    """

    resistance_ohm: float
    inductance_h: float
    loss: float = 1 / CORE_Q
    shorted: float = 0.0
    coupling: float = COUPLING
    capacitance_f: float = 0.0

    def __post_init__(self) -> None:
        sane = (
            0 < self.resistance_ohm < math.inf
            and 0 < self.inductance_h < math.inf
            and 0 <= self.loss < 1
            and 0 <= self.shorted < 1
            and 0 <= self.coupling <= 1
            and 0 <= self.capacitance_f < math.inf
        )
        if not sane:
            raise InputError(
                f"saw {self} as a coil",
                hint="resistance and inductance above 0; loss and shorted share from 0 to "
                "below 1; coupling 0 to 1; capacitance 0 or more.",
            )

    @property
    def dc_ohm(self) -> float:
        """What an ohmmeter reads: the copper that is not shorted."""
        return (1 - self.shorted) * self.resistance_ohm

    def impedance_ohm(self, frequency_hz: float) -> complex:
        """R + jX between the ends."""
        w, s = _TURN * frequency_hz, self.shorted
        core = self.inductance_h * complex(1, -self.loss)
        z = self.dc_ohm + 1j * w * (1 - s) ** 2 * core
        if s:
            mutual = w * self.coupling * s * (1 - s) * core
            z += mutual**2 / (s * self.resistance_ohm + 1j * w * s**2 * core)
        return 1 / (1 / z + 1j * w * self.capacitance_f)

    def inductance_at(self, frequency_hz: float) -> float:
        """Inductance in henry that a bridge reads at a frequency: X / w."""
        return self.impedance_ohm(frequency_hz).imag / (_TURN * frequency_hz)

    def q_at(self, frequency_hz: float) -> float:
        """Q that a bridge reads at a frequency: X / R."""
        z = self.impedance_ohm(frequency_hz)
        return z.imag / z.real

    @property
    def self_resonance_hz(self) -> float:
        """Where inductance and capacitance resonate; infinite without capacitance."""
        if not self.capacitance_f:
            return math.inf
        return 1 / (_TURN * math.sqrt(self.inductance_h * self.capacitance_f))

    def with_shorted(self, share: float) -> CoilModel:
        """Return this coil with another share of its turns shorted."""
        return replace(self, shorted=share)

    def worn(self, gap_left: float, gap_share: float) -> CoilModel:
        """Return this coil with its front gap worn to a share of its depth.

        Parameters
        ----------
        gap_left
            Depth of the gap over that when new, above 0 and up to 1.
        gap_share
            Share of the front gap in the reluctance of the core when new, 0 to 1.

        """
        return replace(
            self, inductance_h=self.inductance_h * worn_inductance(gap_left, gap_share)
        )


def worn_inductance(gap_left: float, gap_share: float) -> float:
    """Inductance over that when new: L/L0 = 1 / ((1 - s) + s d0/d), derived.

    The reluctance of the front gap grows as its depth shrinks; that of the rest stays.
    """
    return 1 / ((1 - gap_share) + gap_share / gap_left)


def gap_left(inductance_ratio: float, gap_share: float) -> float:
    """Depth of the front gap over that when new, from L/L0; the inverse of `worn_inductance`.

    Nothing is left where the core without its gap could not be so low: zero.
    """
    return min(gap_share / (1 / inductance_ratio - (1 - gap_share)), 1.0)


def model_of(
    z_ohm: complex, frequency_hz: float, dc_ohm: float, *, coupling: float = COUPLING
) -> CoilModel:
    """Sound coil that has this impedance at a frequency, with its DC resistance known.

    The loss tangent is what of R is not copper; a loss below zero is taken as none.
    """
    loss = max(z_ohm.real - dc_ohm, 0.0) / z_ohm.imag
    return CoilModel(
        dc_ohm, z_ohm.imag / (_TURN * frequency_hz), min(loss, 0.999), coupling=coupling
    )


def share_for_q(model: CoilModel, frequency_hz: float, q_ratio: float) -> float | None:
    """Share of shorted turns that brings Q of a sound coil down to this ratio.

    Returns None where no share up to a half does.  Q falls throughout as the share grows, so
    that halving finds it.
    """
    sound = model.q_at(frequency_hz)
    low, high = 0.0, 0.5
    if q_ratio >= 1 or model.with_shorted(high).q_at(frequency_hz) > q_ratio * sound:
        return 0.0 if q_ratio >= 1 else None
    for _ in range(50):
        middle = (low + high) / 2
        if model.with_shorted(middle).q_at(frequency_hz) > q_ratio * sound:
            low = middle
        else:
            high = middle
    return high
