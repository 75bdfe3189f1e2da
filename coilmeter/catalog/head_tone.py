"""What a head file says of a tone: cores of the coils, source, series resistor, leads.

::

    [coils.1]
    inductance = "100 mH"        # what its role lets expect, where nothing is said
    core_q = 8                   # Q that the core alone would have
    coupling = 0.98              # of shorted turns to the others
    capacitance = "60 pF"        # across the coil
    gap_left = 0.5               # depth of the front gap over that when new

    [tone]
    frequency = "10 kHz"
    level = "150 mV"             # of the source, without load
    source = "50 ohm"            # its output resistance
    resistor = "9.98 kohm"       # what the series resistor really has
    coil = "1"                   # which coil is connected
    leads = "resistor"           # source, resistor or coil; in the air where nothing is said
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Final, Literal

from pydantic import BaseModel, ConfigDict, Field

from coilmeter.catalog.ac_entries import quantity
from coilmeter.catalog.entries import Ohms, Point
from coilmeter.units import in_ohm

LEADS: Final = {"source": "total", "resistor": "resistor", "coil": "coil"}
"""What the leads are called to be across, and the voltage that is read there."""

_Henry = Annotated[Any, quantity("henry", "100 mH")]
_Farad = Annotated[Any, quantity("farad", "60 pF")]
_Hertz = Annotated[Any, quantity("hertz", "10 kHz")]
_Volts = Annotated[Any, quantity("volt", "150 mV")]


@dataclass(frozen=True, slots=True)
class CoreDescription:
    """What a file says of one coil beside its copper; None where it says nothing.

    Parameters
    ----------
    inductance_h
        Inductance of the sound winding at low frequency, the gap unworn.
    core_q
        Q that the core alone would have.
    coupling
        Coupling of shorted turns to the others.
    capacitance_f
        Capacitance across the coil.
    gap_left
        Depth of the front gap over that when new.

    """

    inductance_h: float | None = None
    core_q: float | None = None
    coupling: float | None = None
    capacitance_f: float | None = None
    gap_left: float | None = None


@dataclass(frozen=True, slots=True)
class ToneDescription:
    """What a file says of source, resistor and leads; None where it says nothing.

    Parameters
    ----------
    frequency_hz, level_volt
        The tone, and the voltage of the source without load.
    source_ohm, resistor_ohm
        Output resistance of the source, and the series resistor.
    coil
        Which coil is connected.
    across
        Where the leads are: ``total``, ``resistor``, ``coil``.

    """

    frequency_hz: float | None = None
    level_volt: float | None = None
    source_ohm: float | None = None
    resistor_ohm: float | None = None
    coil: str | None = None
    across: str | None = None


class CoreEntry(BaseModel):
    """The keys of a coil that a tone sees."""

    model_config = ConfigDict(extra="forbid", strict=True, arbitrary_types_allowed=True)

    inductance: _Henry = None
    core_q: Annotated[float, Field(gt=1, le=1e6)] | None = None
    coupling: Annotated[float, Field(ge=0, le=1)] | None = None
    capacitance: _Farad = None
    gap_left: Annotated[float, Field(gt=0, le=1)] | None = None

    def core(self) -> CoreDescription:
        """Give what it says."""
        return CoreDescription(
            _size(self.inductance, "henry"),
            self.core_q,
            self.coupling,
            _size(self.capacitance, "farad"),
            self.gap_left,
        )

    def wrong_core(self, place: str) -> Iterator[tuple[str, str, str]]:
        """Yield what cannot be: key path, what stands there, what was expected."""
        if self.inductance is not None and not self.inductance.magnitude:
            yield f"{place}.inductance", "zero", "more, such as '100 mH'"


class ToneEntry(BaseModel):
    """The table ``tone``."""

    model_config = ConfigDict(extra="forbid", strict=True, arbitrary_types_allowed=True)

    frequency: _Hertz = None
    level: _Volts = None
    source: Ohms = None
    resistor: Ohms = None
    coil: Point | None = None
    leads: Literal["source", "resistor", "coil"] | None = None

    def tone(self) -> ToneDescription:
        """Give what it says."""
        return ToneDescription(
            _size(self.frequency, "hertz"),
            _size(self.level, "volt"),
            None if self.source is None else float(in_ohm(self.source)),
            None if self.resistor is None else float(in_ohm(self.resistor)),
            self.coil,
            None if self.leads is None else LEADS[self.leads],
        )

    def wrong_tone(self, coils: Mapping[str, object]) -> Iterator[tuple[str, str, str]]:
        """Yield what cannot be: key path, what stands there, what was expected."""
        for key, example in {"frequency": "10 kHz", "resistor": "10 kohm"}.items():
            value = getattr(self, key)
            if value is not None and not value.magnitude:
                yield f"tone.{key}", "zero", f"more, such as '{example}'"
        if self.coil is not None and self.coil not in coils:
            yield "tone.coil", repr(self.coil), f"one of {', '.join(coils)}"


def _size(given: Any, unit: str) -> float | None:
    return None if given is None else float(given.m_as(unit))
