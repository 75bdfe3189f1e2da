"""The steps of reading AC volts: which voltage, of which coil, at which tone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from coilmeter.units.si_text import format_si
from coilmeter.values.impedance_rows import ACROSS

POINTS: Final = {"total": ("A", "C"), "resistor": ("A", "B"), "coil": ("B", "C")}
"""A: where source and resistor meet.  B: where resistor and coil meet.  C: the other end of
the coil, on the other side of the source."""

_WHAT: Final = {"total": "source", "resistor": "resistor", "coil": "coil"}


@dataclass(frozen=True, slots=True)
class ToneStep:
    """One voltage to read.

    Parameters
    ----------
    coil
        Name of the coil.
    frequency_hz
        The tone.
    across
        One of `coilmeter.values.impedance_rows.ACROSS`.
    connect, retune
        Whether this coil has to be connected first, and whether the tone is another.

    """

    coil: str
    frequency_hz: float
    across: str
    connect: bool = False
    retune: bool = False

    @property
    def key(self) -> str:
        """What is read, as a name that is the same in every run."""
        return f"{self.place}, v_{self.across}"

    @property
    def place(self) -> str:
        """Coil and tone, which three voltages share."""
        return f"coil {self.coil} at {format_si(self.frequency_hz, 'Hz')}"

    @property
    def points(self) -> tuple[str, str]:
        """The two points that the probes touch."""
        return POINTS[self.across]

    @property
    def where(self) -> str:
        """The two points in words."""
        first, second = self.points
        return f"{first} and {second}, across the {_WHAT[self.across]}"


def plan_tones(coils: Sequence[str], frequencies_hz: Sequence[float]) -> list[ToneStep]:
    """Plan the voltages of coils: tone by tone, so that the source is set once for each."""
    return [
        ToneStep(
            coil,
            hertz,
            across,
            connect=across == ACROSS[0],
            retune=across == ACROSS[0] and number == 0,
        )
        for hertz in frequencies_hz
        for number, coil in enumerate(coils)
        for across in ACROSS
    ]
