"""One row of a readings file to an item that can be judged: every name looked up.

A row names a coil, a meter, a range; an item holds what they mean, as SI floats ready for
arrays.  Mistakes are values: all of them are collected, with file and line.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from coilmeter.compute.circumstances import (
    MeterTable,
    Warmth,
    bound_of,
    warmth_of_text,
)
from coilmeter.compute.leads import FOUR_WIRE, NO_NULLS, LeadNulls, Leads, leads_of_text
from coilmeter.compute.places import Misplaced, Place, locate
from coilmeter.compute.settings import Settings
from coilmeter.errors import Mistake, ReadingTextError
from coilmeter.units import format_ohm
from coilmeter.values import (
    EVIDENCE_OF_FORM,
    Band,
    EvidenceKind,
    FlexEvidence,
    HeadKind,
    ReadingRow,
    Role,
)

COARSER: Final = 1.01
ROLE_BANDS: Final = {Role.RECORD_PLAYBACK: "rp-cassette", Role.ERASE: "erase"}
"""Band taken for a role when neither a kind nor the user names one; else ``any``."""


@dataclass(slots=True)
class Item:
    """One reading ready to be judged, resistances in ohm."""

    row: ReadingRow
    name: str
    other: str
    role: Role
    pins: tuple[str, str] | None
    band: Band
    meter: MeterTable
    evidence: EvidenceKind
    ohm: float
    fraction: float
    floor_ohm: float
    rounding_ohm: float
    range_number: int
    leads: Leads
    warmth: Warmth
    flex: FlexEvidence | None = None


class Resolver:
    """Looks up the names of rows; remembers what it has met, for files of many heads."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.mistakes: list[Mistake] = []
        self._meters: dict[str, MeterTable] = {}
        self._leads: dict[tuple[str, str], Leads] = {}
        self._warmth: dict[str, Warmth] = {}

    def mistake(self, row: ReadingRow, place: str, seen: str, expected: str) -> None:
        """Note a mistake of a row."""
        self.mistakes.append(Mistake(row.path, row.line, place, repr(str(seen)), expected))

    def check_names(self, row: ReadingRow) -> None:
        """Note what is wrong with the names and texts of a row that has a mistake anyway."""
        self._leads_of(row, self.meter(row), NO_NULLS)
        self._warmth_of(row)

    def item(
        self, row: ReadingRow, kind: HeadKind | None, nulls: LeadNulls = NO_NULLS
    ) -> Item | None:
        """Resolve a row; None where it has a mistake, all of them noted.

        Parameters
        ----------
        row
            The row, of a coil or a path.
        kind
            Kind of its head, None where not known.
        nulls
            Lead nulls that were measured.

        """
        place, meter, warmth = locate(row, kind), self.meter(row), self._warmth_of(row)
        leads = self._leads_of(row, meter, nulls)
        if isinstance(place, Misplaced):
            self.mistake(row, place.column, place.seen, place.expected)
            return None
        role = self._role(row, place)
        band = self._band(row, place, role)
        if meter is None:
            return None
        evidence = EVIDENCE_OF_FORM[row.reading.form]
        ohm = row.reading.ohm
        if evidence is not EvidenceKind.VALUE or ohm is None:
            ohm = bound_of(row, meter)
        step = row.reading.step_ohm or 0.0
        at = meter.range_for(ohm, row.range_ohm, step)
        if at is None:
            stated = "" if row.range_ohm is None else f" on {format_ohm(row.range_ohm)}"
            expected = f"what {meter.meter.name} can show: {meter.shown}"
            self.mistake(row, "range", f"{row.reading.text}{stated}", expected)
        elif row.scatter_ohm > max(abs(ohm), at.full_scale_ohm):
            self.mistake(row, "scatter", f"{row.scatter_ohm:g} ohm", "less than the range")
            return None
        if leads is None or warmth is None or band is None or at is None:
            return None
        return Item(
            row=row,
            name=place.name,
            other=place.other,
            role=role,
            pins=place.pins,
            band=band,
            meter=meter,
            evidence=evidence,
            ohm=ohm,
            fraction=at.fraction,
            floor_ohm=at.floor_ohm,
            rounding_ohm=step if step > COARSER * at.resolution_ohm else 0.0,
            range_number=at.number,
            leads=leads,
            warmth=warmth,
        )

    def meter(self, row: ReadingRow) -> MeterTable | None:
        """Meter of a row; None, and a mistake noted, where nobody defined it."""
        name = row.meter or self.settings.meter
        table = self._meters.get(name)
        if table is None:
            meter = self.settings.meters.get(name)
            if meter is None:
                known = ", ".join(sorted(self.settings.meters))
                self.mistake(row, "meter", name, f"a meter: {known}")
                return None
            table = self._meters[name] = MeterTable(meter)
        return table

    def _leads_of(
        self, row: ReadingRow, meter: MeterTable | None, nulls: LeadNulls
    ) -> Leads | None:
        text = row.lead or self.settings.lead
        told = row.lead or (text if text.strip().lower() in FOUR_WIRE else "")
        if meter is not None and not told and (null := nulls.of(row, meter)) is not None:
            return null
        if meter is None:
            # The text is still worth reading for its mistakes, with whatever meter.
            meter = MeterTable(next(iter(self.settings.meters.values())))
        key = (text, meter.meter.name)
        leads = self._leads.get(key)
        if leads is None:
            try:
                leads = self._leads[key] = leads_of_text(text, meter)
            except ReadingTextError as error:
                self.mistake(row, "lead", text, error.expected)
        return leads

    def _warmth_of(self, row: ReadingRow) -> Warmth | None:
        text = row.temperature or self.settings.temperature
        warmth = self._warmth.get(text)
        if warmth is None:
            try:
                warmth = self._warmth[text] = warmth_of_text(text)
            except ReadingTextError as error:
                self.mistake(row, "temperature", text, error.expected)
        return warmth

    def _band(self, row: ReadingRow, place: Place, role: Role) -> Band | None:
        name = self.settings.band or place.band or ROLE_BANDS.get(role, "any")
        band = self.settings.bands.get(name)
        if band is None:
            known = ", ".join(sorted(self.settings.bands))
            self.mistake(row, "band", name, f"a band: {known}")
        return band

    def _role(self, row: ReadingRow, place: Place) -> Role:
        if row.role is None:
            return place.role
        if place.role not in {Role.UNKNOWN, row.role}:
            self.mistake(row, "role", row.role, f"{place.role}, as the head kind says")
        return row.role
