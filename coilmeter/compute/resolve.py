"""Rows of a readings file to items that can be judged: every name looked up.

A row names a kind, a coil, a meter, a range; an item holds what they mean, as SI floats
ready for arrays.  Mistakes are values: all of them are collected, with file and line.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from coilmeter.compute.circumstances import (
    Leads,
    MeterTable,
    Warmth,
    bound_of,
    leads_from_nulls,
    leads_of_text,
    warmth_of_text,
)
from coilmeter.compute.places import Misplaced, locate
from coilmeter.errors import InputError, Mistake, ReadingTextError, UnknownNameError
from coilmeter.units import format_ohm
from coilmeter.values import (
    EVIDENCE_OF_FORM,
    Band,
    EvidenceKind,
    HeadKind,
    Meter,
    Purpose,
    ReadingRow,
    Role,
    shown_kinds,
)

CONFIDENCE_ABOVE: Final = 0.5
COARSER: Final = 1.01
ROLE_BANDS: Final = {Role.RECORD_PLAYBACK: "rp-cassette", Role.ERASE: "erase"}
"""Band taken for a role when neither a kind nor the user names one; else ``any``."""


@dataclass(frozen=True, slots=True)
class Settings:
    """What a person asked for beside the rows.

    Parameters
    ----------
    bands, meters, kinds
        What the names in the rows stand for.
    meter
        Meter of rows that name none.
    kind, band
        Kind of heads that name none; band that overrides every other, empty for none.
    lead, temperature
        Leads and temperature of rows that state none, as text; empty for unknown.
    confidence
        Probability that decides.
    bridged_below_ohm, leaking_below_ohm, isolated_above_ohm
        Limits of an isolation path.

    """

    bands: Mapping[str, Band]
    meters: Mapping[str, Meter]
    kinds: Mapping[str, HeadKind]
    meter: str = "unstated"
    kind: str = ""
    band: str = ""
    lead: str = ""
    temperature: str = ""
    confidence: float = 0.95
    bridged_below_ohm: float = 10.0
    leaking_below_ohm: float = 1e6
    isolated_above_ohm: float = 1e7

    def check(self) -> None:
        """Refuse names nobody defined and texts that mean nothing.

        Raises
        ------
        UnknownNameError, InputError
            With what would have been understood.

        """
        named = (
            ("meter", self.meter, self.meters),
            ("head kind", self.kind, self.kinds),
            ("band", self.band, self.bands),
        )
        for what, name, known in named:
            if name and name not in known:
                names = shown_kinds(known) if known is self.kinds else sorted(known)
                raise UnknownNameError(what, name, names)
        leads_of_text(self.lead, MeterTable(self.meters[self.meter]))
        warmth_of_text(self.temperature)
        if not CONFIDENCE_ABOVE < self.confidence < 1:
            raise InputError(
                f"a confidence of {self.confidence:g}", hint="give one above 0.5 and below 1."
            )
        if not self.bridged_below_ohm < self.leaking_below_ohm < self.isolated_above_ohm:
            raise InputError(
                f"isolation that leaks below {format_ohm(self.leaking_below_ohm)}",
                hint=f"give one between {format_ohm(self.bridged_below_ohm)} and "
                f"{format_ohm(self.isolated_above_ohm)}.",
            )


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


@dataclass(slots=True)
class HeadItems:
    """The readings of one head, sorted by what they are for."""

    head: str
    kind: HeadKind | None
    coils: list[Item] = field(default_factory=list)
    paths: list[Item] = field(default_factory=list)


class Resolver:
    """Looks up the names of rows; remembers what it has met, for files of many heads."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.mistakes: list[Mistake] = []
        self._meters: dict[str, MeterTable] = {}
        self._leads: dict[tuple[str, str], Leads] = {}
        self._warmth: dict[str, Warmth] = {}
        self._nulls: dict[str, Leads] = {}

    def heads(self, rows: Sequence[ReadingRow]) -> list[HeadItems]:
        """Resolve rows into heads, in the order of their first appearance.

        Mistakes are added to `mistakes`; a row with one is left out.
        """
        self._read_nulls(row for row in rows if row.purpose is Purpose.LEAD_NULL)
        heads: dict[str, HeadItems] = {}
        first: dict[tuple[str, ...], int] = {}
        for row in rows:
            if row.purpose in {Purpose.LEAD_NULL, Purpose.FREE}:
                continue
            kind_name = row.kind or self.settings.kind
            head = heads.get(row.head)
            if head is None:
                head = heads[row.head] = HeadItems(row.head, self._kind(row, kind_name))
            elif kind_name and head.kind is not None and head.kind.name != kind_name:
                self._mistake(row, "kind", kind_name, f"one kind for a head ({head.kind.name})")
                continue
            item = self._item(row, head.kind)
            if item is None:
                continue
            key = _identity(item)
            if key in first:
                self._mistake(
                    row,
                    "coil",
                    f"{' to '.join(key[2:])} of head {row.head} a second time",
                    f"it once (line {first[key]}); give the other the purpose 'free'",
                )
                continue
            first[key] = row.line
            (head.paths if item.other else head.coils).append(item)
        return list(heads.values())

    def _mistake(self, row: ReadingRow, place: str, seen: str, expected: str) -> None:
        self.mistakes.append(Mistake(row.path, row.line, place, repr(seen), expected))

    def _kind(self, row: ReadingRow, name: str) -> HeadKind | None:
        if not name:
            return None
        kind = self.settings.kinds.get(name)
        if kind is None:
            known = ", ".join(shown_kinds(self.settings.kinds))
            self._mistake(row, "kind", name, f"a head kind: {known}")
        return kind

    def _meter(self, row: ReadingRow) -> MeterTable | None:
        name = row.meter or self.settings.meter
        table = self._meters.get(name)
        if table is None:
            meter = self.settings.meters.get(name)
            if meter is None:
                known = ", ".join(sorted(self.settings.meters))
                self._mistake(row, "meter", name, f"a meter: {known}")
                return None
            table = self._meters[name] = MeterTable(meter)
        return table

    def _read_nulls(self, rows: Iterable[ReadingRow]) -> None:
        by_head: dict[str, list[ReadingRow]] = {}
        for row in rows:
            if leads_from_nulls([row], None) is None:
                self._mistake(
                    row,
                    "reading",
                    row.reading.text,
                    "a lead null below 5 ohm, read with the two clips together",
                )
            elif self._meter(row) is not None:
                by_head.setdefault(row.head, []).append(row)
        for head, taken in by_head.items():
            leads = leads_from_nulls(taken, self._meter(taken[0]))
            if leads is not None:
                self._nulls[head] = leads

    def _leads_of(self, row: ReadingRow, meter: MeterTable) -> Leads | None:
        text = row.lead
        if not text:
            measured = self._nulls.get(row.head) or self._nulls.get("")
            if measured is not None:
                return measured
            text = self.settings.lead
        key = (text, meter.meter.name)
        leads = self._leads.get(key)
        if leads is None:
            try:
                leads = self._leads[key] = leads_of_text(text, meter)
            except ReadingTextError as error:
                self._mistake(row, "lead", text, error.expected)
        return leads

    def _warmth_of(self, row: ReadingRow) -> Warmth | None:
        text = row.temperature or self.settings.temperature
        warmth = self._warmth.get(text)
        if warmth is None:
            try:
                warmth = self._warmth[text] = warmth_of_text(text)
            except ReadingTextError as error:
                self._mistake(row, "temperature", text, error.expected)
        return warmth

    def _item(self, row: ReadingRow, kind: HeadKind | None) -> Item | None:
        place = locate(row, kind)
        if isinstance(place, Misplaced):
            self._mistake(row, place.column, place.seen, place.expected)
            return None
        meter = self._meter(row)
        if meter is None:
            return None
        leads, warmth = self._leads_of(row, meter), self._warmth_of(row)
        role = self._role(row, place.role)
        band_name = self.settings.band or place.band or ROLE_BANDS.get(role, "any")
        band = self.settings.bands.get(band_name)
        if band is None:
            known = ", ".join(sorted(self.settings.bands))
            self._mistake(row, "band", band_name, f"a band: {known}")
        evidence = EVIDENCE_OF_FORM[row.reading.form]
        if evidence is EvidenceKind.VALUE:
            ohm = row.reading.ohm if row.reading.ohm is not None else math.nan
        else:
            ohm = bound_of(row, meter)
        at = meter.range_for(ohm, row.range_ohm)
        if at is None:
            self._mistake(
                row, "range", row.reading.text, f"a reading and a range that fit: {meter.shown}"
            )
        if leads is None or warmth is None or band is None or at is None:
            return None
        step = row.reading.step_ohm or 0.0
        floor = at.floor_ohm
        if not meter.ranges and 0 < step < at.resolution_ohm:
            # A meter of unknown ranges shows what was written: finer digits mean finer steps.
            floor = meter.meter.counts * step
        rounding = step if step > COARSER * at.resolution_ohm else 0.0
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
            floor_ohm=floor,
            rounding_ohm=rounding,
            range_number=at.number,
            leads=leads,
            warmth=warmth,
        )

    def _role(self, row: ReadingRow, of_kind: Role) -> Role:
        if row.role is None:
            return of_kind
        if of_kind not in {Role.UNKNOWN, row.role}:
            self._mistake(row, "role", row.role, f"{of_kind}, as the head kind says")
        return row.role


def _identity(item: Item) -> tuple[str, ...]:
    if not item.other:
        return (item.row.head, "coil", item.name)
    return (item.row.head, "path", *sorted((item.name, item.other)))
