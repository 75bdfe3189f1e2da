"""The shape of a reference file, and what each entry becomes."""

from __future__ import annotations

import itertools
from typing import Annotated, Any, Final, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field
from pydantic import model_validator as after_all

from coilmeter.catalog.ac_entries import AcEntry
from coilmeter.errors import ReadingTextError
from coilmeter.units import Form, Quantity, ohms, parse_reading
from coilmeter.values import (
    CASE,
    MOST_COILS,
    ROLE_KEYS,
    ACVolts,
    Band,
    CoilSpec,
    HeadKind,
    Meter,
    MeterRange,
)


def _resistance(text: object) -> Quantity:
    if not isinstance(text, str):
        message = "a resistance as text, such as '20 ohm'"
        raise ValueError(message)  # noqa: TRY004 - pydantic turns only this into an error
    message = "a resistance such as '20 ohm'"
    try:
        reading = parse_reading(text, milli=True)
    except ReadingTextError as error:
        raise ValueError(message) from error
    if reading.form is not Form.NUMBER or reading.ohm is None or reading.ohm < 0:
        raise ValueError(message)
    return ohms(reading.ohm)


Ohms = Annotated[Any, BeforeValidator(_resistance)]
_Percent = Annotated[float, Field(ge=0, lt=100, allow_inf_nan=False)]
_Name = Annotated[str, Field(min_length=1, max_length=40, pattern=r"^[^\x00-\x1f]+$")]

Point = Annotated[str, Field(min_length=1, max_length=12, pattern=r"^\w[\w.+]*$")]
"""Name of a coil or pin: no blank or dash, so that '1-2' is always two of them."""


class _Entry(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, arbitrary_types_allowed=True)


class _BandEntry(_Entry):
    """One band."""

    shorted_below: Ohms
    low: Ohms
    high: Ohms
    open_above: Ohms
    description: str = ""
    basis: str = "the user's own"

    @after_all(mode="after")
    def _in_order(self) -> _BandEntry:
        quantities = (self.shorted_below, self.low, self.high, self.open_above)
        ends = [end.magnitude for end in quantities]
        if not (ends[0] > 0 and all(a < b for a, b in itertools.pairwise(ends))):
            message = "0 < shorted_below < low < high < open_above"
            raise ValueError(message)
        return self

    def made(self, name: str) -> Band:
        """Band of that name."""
        return Band(
            name=name,
            shorted_below=self.shorted_below,
            low=self.low,
            high=self.high,
            open_above=self.open_above,
            description=self.description,
            basis=self.basis,
        )


class _RangeEntry(_Entry):
    full_scale: Ohms
    resolution: Ohms
    reading: _Percent = 0.0
    counts: Annotated[float, Field(ge=0, lt=1000, allow_inf_nan=False)] = 0.0
    of_range: _Percent = 0.0
    floor: Ohms = "0 ohm"

    @after_all(mode="after")
    def _has_limits(self) -> _RangeEntry:
        if not 0 < self.resolution.magnitude < self.full_scale.magnitude:
            message = "0 < resolution < full_scale"
            raise ValueError(message)
        stated = (self.reading, self.counts, self.of_range, self.made_floor().magnitude)
        if not any(stated):
            message = (
                "at least one of reading, counts, of_range, floor: no meter is without error"
            )
            raise ValueError(message)
        return self

    def made_floor(self) -> Quantity:
        """Give the printed figure, zero where there is none."""
        return ohms(0.0) if isinstance(self.floor, str) else self.floor

    def made(self) -> MeterRange:
        """Range with its additive limits summed as one resistance."""
        step_ohm = self.resolution.magnitude
        floor_ohm = (
            self.made_floor().magnitude
            + self.counts * step_ohm
            + self.of_range / 100 * self.full_scale.magnitude
        )
        # Whatever the data sheet says, the last digit itself is known to half of it only.
        floor = ohms(max(floor_ohm, 0.5 * step_ohm))
        return MeterRange(self.full_scale, self.resolution, self.reading / 100, floor)


_USUAL_BEEPER: Final = ohms(50.0)
"""Common practice, no source; published thresholds run from 10 to 120 ohm."""


class _MeterEntry(_Entry):
    description: str = ""
    basis: str = "the user's own"
    ranges: list[_RangeEntry] = []
    reading: _Percent = 1.0
    counts: Annotated[float, Field(ge=0, lt=1000, allow_inf_nan=False)] = 5.0
    beeper: Ohms | None = None
    beeper_spread: Ohms = "0 ohm"
    unnulled_leads: Ohms = "0.2 ohm"
    four_wire: bool = False
    ac: AcEntry | None = None

    @after_all(mode="after")
    def _in_order(self) -> _MeterEntry:
        ends = [entry.full_scale.magnitude for entry in self.ranges]
        if any(not a < b for a, b in itertools.pairwise(ends)):
            message = "ranges from the lowest full_scale to the highest, each once"
            raise ValueError(message)
        if not self.ranges and not (self.reading or self.counts):
            message = "reading or counts above zero: no meter is without error"
            raise ValueError(message)
        return self

    def made(self, name: str) -> Meter:
        """Meter of that name."""

        def given(value: Any) -> Quantity:
            return _resistance(value) if isinstance(value, str) else value

        return Meter(
            name=name,
            description=self.description,
            basis=self.basis,
            ranges=tuple(entry.made() for entry in self.ranges),
            fraction=self.reading / 100,
            counts=self.counts,
            beeper=given(self.beeper or _USUAL_BEEPER),
            beeper_known=self.beeper is not None,
            beeper_spread=given(self.beeper_spread),
            unnulled_leads=given(self.unnulled_leads),
            four_wire=self.four_wire,
            ac=ACVolts() if self.ac is None else self.ac.made(),
        )


class _CoilEntry(_Entry):
    name: Point
    role: Literal["rp", "record/playback", "playback", "record", "erase", "unknown"] = "unknown"
    pins: Annotated[list[Point], Field(min_length=2, max_length=2)]
    band: str = "any"


class _KindEntry(_Entry):
    description: str = ""
    basis: str = "the user's own"
    case: bool = True
    noticeable_above: Annotated[float, Field(gt=0, lt=1)] = 0.05
    mismatched_above: Annotated[float, Field(gt=0, lt=1)] = 0.15
    coils: Annotated[list[_CoilEntry], Field(min_length=1, max_length=MOST_COILS)]

    @after_all(mode="after")
    def _makes_sense(self) -> _KindEntry:
        names = [coil.name for coil in self.coils]
        pairs = [frozenset(coil.pins) for coil in self.coils]
        faults = [
            f"coil names that differ ({name!r} stands twice)"
            for name in sorted({name for name in names if names.count(name) > 1})
        ]
        faults += [
            f"two different pins for coil {coil.name!r}"
            for coil, pair in zip(self.coils, pairs, strict=True)
            if len(pair) < 2  # noqa: PLR2004 - a coil has two ends
        ]
        if len(set(pairs)) < len(pairs):
            faults.append("no pair of pins used by two coils")
        if CASE in {pin.lower() for pair in pairs for pin in pair} | set(names):
            faults.append(f"no coil or pin called {CASE!r}: that word is the case")
        if self.noticeable_above >= self.mismatched_above:
            faults.append("noticeable_above < mismatched_above")
        if faults:
            raise ValueError("; ".join(faults))
        return self

    def made(self, name: str) -> HeadKind:
        """Head kind of that name."""
        coils = tuple(
            CoilSpec(coil.name, ROLE_KEYS[coil.role], (coil.pins[0], coil.pins[1]), coil.band)
            for coil in self.coils
        )
        return HeadKind(
            name=name,
            description=self.description,
            coils=coils,
            case=self.case,
            noticeable_above=self.noticeable_above,
            mismatched_above=self.mismatched_above,
            basis=self.basis,
        )


class ReferenceFile(_Entry):
    """One TOML file: bands, meters and head kinds by name.

    What stands under ``chain`` is looked at where it is used, in `chain_maps`.
    """

    bands: dict[_Name, _BandEntry] = {}
    meters: dict[_Name, _MeterEntry] = {}
    kinds: dict[_Name, _KindEntry] = {}
    chain: dict[str, Any] = {}
