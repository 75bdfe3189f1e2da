"""The table ``ac`` of a meter in a reference file: what it states for AC volts."""

from __future__ import annotations

import itertools
from typing import Annotated, Any, Final

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field
from pydantic import model_validator as after_all

from coilmeter.errors import ReadingTextError
from coilmeter.units import Quantity, parse_quantity, ureg
from coilmeter.values import ACVolts, MeterRange

_DEFAULT: Final = ACVolts()


def quantity(unit: str, example: str) -> BeforeValidator:
    """Make a check that a text is a quantity of that unit, zero or more."""
    message = f"a text such as '{example}'"

    def understood(text: object) -> Quantity:
        if isinstance(text, ureg.Quantity):
            return text
        if not isinstance(text, str):
            raise ValueError(message)  # noqa: TRY004 - pydantic turns only this into an error
        try:
            found = parse_quantity(text, unit)
        except ReadingTextError as error:
            raise ValueError(message) from error
        if found.magnitude < 0:
            raise ValueError(message)
        return found

    return BeforeValidator(understood)


_Volts = Annotated[Any, quantity("volt", "400 mV")]
_Hertz = Annotated[Any, quantity("hertz", "500 Hz")]
_Ohms = Annotated[Any, quantity("ohm", "10 Mohm")]
_Farads = Annotated[Any, quantity("farad", "0.1 nF")]
_Percent = Annotated[float, Field(ge=0, lt=100, allow_inf_nan=False)]
_Counts = Annotated[float, Field(ge=0, lt=1000, allow_inf_nan=False)]


class _Entry(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, arbitrary_types_allowed=True)


class _AcRangeEntry(_Entry):
    full_scale: _Volts
    resolution: _Volts
    reading: _Percent = 0.0
    counts: _Counts = 0.0
    of_range: _Percent = 0.0

    @after_all(mode="after")
    def _has_limits(self) -> _AcRangeEntry:
        if not 0 < self.resolution.magnitude < self.full_scale.magnitude:
            message = "0 < resolution < full_scale"
            raise ValueError(message)
        if not any((self.reading, self.counts, self.of_range)):
            message = "at least one of reading, counts, of_range: no meter is without error"
            raise ValueError(message)
        return self

    def made(self) -> MeterRange:
        """Range with its additive limits summed as one voltage."""
        floor = self.counts * self.resolution + self.of_range / 100 * self.full_scale
        floor = max(floor, 0.5 * self.resolution)
        return MeterRange(self.full_scale, self.resolution, self.reading / 100, floor)


class AcEntry(_Entry):
    """AC volts of one meter; every key may be left out and has then the default's value."""

    ranges: list[_AcRangeEntry] = []
    reading: _Percent = 100 * _DEFAULT.fraction
    counts: _Counts = _DEFAULT.counts
    lowest: _Hertz = _DEFAULT.lowest
    highest: _Hertz = _DEFAULT.highest
    input_resistance: _Ohms = _DEFAULT.input_resistance
    input_capacitance: _Farads = _DEFAULT.input_capacitance
    capacitance_spread: _Farads = _DEFAULT.capacitance_spread
    basis: str = "the user's own"

    @after_all(mode="after")
    def _in_order(self) -> AcEntry:
        ends = [entry.full_scale.magnitude for entry in self.ranges]
        faults = []
        if any(not a < b for a, b in itertools.pairwise(ends)):
            faults.append("ranges from the lowest full_scale to the highest, each once")
        if not self.ranges and not (self.reading or self.counts):
            faults.append("reading or counts above zero: no meter is without error")
        if not 0 < self.lowest.magnitude < self.highest.magnitude:
            faults.append("0 < lowest < highest")
        if not self.input_resistance.magnitude > 0:
            faults.append("an input_resistance above zero")
        if self.capacitance_spread > self.input_capacitance:
            faults.append("a capacitance_spread no larger than input_capacitance")
        if faults:
            raise ValueError("; ".join(faults))
        return self

    def made(self) -> ACVolts:
        """Give the value of it."""
        return ACVolts(
            ranges=tuple(entry.made() for entry in self.ranges),
            fraction=self.reading / 100,
            counts=self.counts,
            lowest=self.lowest,
            highest=self.highest,
            input_resistance=self.input_resistance,
            input_capacitance=self.input_capacitance,
            capacitance_spread=self.capacitance_spread,
            basis=self.basis,
        )
