"""Rows of a readings file to readings of pin pairs: what each says, and how far it is known.

The uncertainty is kept apart by what readings share, because in a network shared errors do
not add as others do: the gain of one range scales the whole network and invents no link, and
the leads add alike to every pair.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Self

from coilmeter.compute.budget import below_zero, wrong_null
from coilmeter.compute.heads import lead_nulls
from coilmeter.compute.judge import budget_of
from coilmeter.compute.resolve import Item, Resolver
from coilmeter.compute.settings import Settings
from coilmeter.compute.verdict import CONFIDENCE
from coilmeter.errors import Mistake, MistakesError
from coilmeter.units import Form, format_ohm
from coilmeter.values import CASE, EvidenceKind, Purpose, ReadingRow
from coilmeter.values.pinmaps import PinField, PinPair

CONTACT_OHM: Final = 0.1
"""Limit of what a clip adds one time and not the next (own default; leads and clips together
have 0.1 to 0.2 ohm by published meter manuals)."""

FALSE_SHARE: Final = 0.2
"""Of what the confidence leaves open, this share is given to links invented in a group."""

WHOLE_BAND: Final = "any"
"""The band that spans every coil."""

_SQRT3: Final = math.sqrt(3.0)
_FOUR_WIRES: Final = "four wires"
"""How leads are told of which nothing is in the reading, nor of the clips."""

_PLAIN: Final = re.compile(r"-?[\d.,]+")
_EXPECTED_PINS: Final = "two points of the field: {}"


@dataclass(frozen=True, slots=True)
class PinLimits:
    """Where one sort of connection ends and the next begins, in ohm.

    Parameters
    ----------
    short_ohm
        Below this, two pins are one: a dead short.
    bridged_ohm, leaking_ohm, isolated_ohm
        Limits of a path that should not conduct.
    coil_ohm
        Above this, no coil of whatever sort reads.
    confidence
        Probability that decides.

    """

    short_ohm: float = 0.3
    bridged_ohm: float = 10.0
    coil_ohm: float = 20e3
    leaking_ohm: float = 1e6
    isolated_ohm: float = 1e7
    confidence: float = CONFIDENCE

    @classmethod
    def of(cls, settings: Settings) -> Self:
        """Limits that the reference data and the user set."""
        band = settings.bands[WHOLE_BAND].limits_ohm
        return cls(
            short_ohm=band[0],
            bridged_ohm=settings.bridged_below_ohm,
            coil_ohm=band[3],
            leaking_ohm=settings.leaking_below_ohm,
            isolated_ohm=settings.isolated_above_ohm,
            confidence=settings.confidence,
        )

    @property
    def error(self) -> float:
        """Probability with which a link may be invented in a group: 0.01 at 0.95."""
        return (1 - self.confidence) * FALSE_SHARE


@dataclass(frozen=True, slots=True)
class PairReading:
    """One reading of two points, in ohm, the leads off.

    Parameters
    ----------
    pins
        The two points, in the order in which they were written.
    evidence, ohm
        A value, or a bound.
    own_ohm
        Standard uncertainty of its own: last digits, rounding, scatter, contact of the clips.
    gain_ohm, gain_key
        Standard uncertainty from the gain of its range, and which gain that is.
    leads_ohm, leads_key
        Standard uncertainty from the leads, and which null that is.
    ohm_20c, u_20c_ohm
        The same as a copper winding, at 20 degC.
    text, where
        As it was written, and where.
    times
        How often this pair was read in all.

    """

    pins: PinPair
    evidence: EvidenceKind
    ohm: float
    own_ohm: float = 0.0
    gain_ohm: float = 0.0
    gain_key: tuple[str, int] = ("", 0)
    leads_ohm: float = 0.0
    leads_key: str = ""
    ohm_20c: float = 0.0
    u_20c_ohm: float = 0.0
    text: str = ""
    where: str = ""
    times: int = 1

    @property
    def u_ohm(self) -> float:
        """Combined standard uncertainty."""
        return math.hypot(self.own_ohm, self.gain_ohm, self.leads_ohm)

    @property
    def told(self) -> str:
        """What was read, for a message."""
        a, b = self.pins
        return f"{a}-{b} reads {self.text}{f' ({self.where})' if self.where else ''}"


def pins_of(rows: Sequence[ReadingRow]) -> tuple[str, ...]:
    """Every pin that rows name, the case left out, in the order of their names."""
    named = {pin for row in rows if row.pins is not None for pin in row.pins} - {CASE}
    return tuple(sorted(named, key=_by_number))


def pair_readings(
    rows: Sequence[ReadingRow],
    settings: Settings,
    field: PinField,
    mistakes: Sequence[Mistake] = (),
    times: Mapping[frozenset[str], int] | None = None,
) -> list[PairReading]:
    """Understand the rows of one head that name two points.

    Parameters
    ----------
    rows
        Rows of any purpose; lead nulls among them are taken off, flexings left out.
    settings
        Reference data and what the user asked for.
    field
        The pins that there are.
    mistakes
        Mistakes already found while the rows were read, to be reported with these.
    times
        How often each pair was read, where rows that no longer count are left out of `rows`.

    Raises
    ------
    MistakesError
        With every mistake: pins that are not there, names nobody defined, a reading below
        zero.

    """
    resolver = Resolver(settings)
    nulls = lead_nulls([row for row in rows if not row.broken], resolver)
    points, items = set(field.points), []
    for row in rows:
        if row.purpose is Purpose.LEAD_NULL or row.flex is not None or row.broken:
            continue
        if row.pins is None or not set(row.pins) <= points:
            seen = "no pins" if row.pins is None else "-".join(row.pins)
            expected = _EXPECTED_PINS.format(", ".join(field.points))
            resolver.mistake(row, "pins", seen, expected)
            continue
        item = resolver.item(replace(row, coil="", other="", purpose=None), None, nulls)
        if item is not None:
            items.append(item)
    found, wrong = _readings(items, times)
    every = sorted([*mistakes, *resolver.mistakes, *wrong], key=lambda m: (m.path, m.line or 0))
    if every:
        raise MistakesError(every, undone="nothing was mapped")
    return found


def _readings(
    items: Sequence[Item], known_times: Mapping[frozenset[str], int] | None
) -> tuple[list[PairReading], list[Mistake]]:
    raw, copper = budget_of(items, copper=False), budget_of(items)
    columns = {name: part.m_as("ohm") for name, part in raw.parts.items()}
    ohm, u_ohm = raw.resistance_20c.m_as("ohm"), raw.u.m_as("ohm")
    cold, u_cold = copper.resistance_20c.m_as("ohm"), copper.u.m_as("ohm")
    times = known_times or Counter(frozenset(item.row.pins or ()) for item in items)
    found, wrong = [], []
    for index, item in enumerate(items):
        row, is_value = item.row, item.evidence is EvidenceKind.VALUE
        if is_value and below_zero(ohm[index], u_ohm[index]):
            expected = wrong_null(float(ohm[index]), float(u_ohm[index]))
            wrong.append(
                Mistake(row.path, row.line, "reading", repr(row.reading.text), expected)
            )
        own = [float(columns[name][index]) for name in ("floor", "rounding", "scatter")]
        contact = 0.0 if item.leads.text == _FOUR_WIRES else CONTACT_OHM / _SQRT3
        found.append(
            PairReading(
                pins=row.pins or ("", ""),
                evidence=item.evidence,
                ohm=float(ohm[index]) if is_value else item.ohm,
                own_ohm=math.hypot(*own, contact),
                gain_ohm=float(columns["gain"][index]),
                gain_key=(item.meter.meter.name, item.range_number),
                leads_ohm=float(columns["leads"][index]),
                leads_key=item.leads.text,
                ohm_20c=float(cold[index]),
                u_20c_ohm=math.hypot(float(u_cold[index]), contact),
                text=_text(item),
                where=f"line {row.line}" if row.line else "",
                times=times.get(frozenset(row.pins or ()), 1),
            )
        )
    return found, wrong


def _text(item: Item) -> str:
    """Write a reading for a message: a unit where none was written, a bound with its end."""
    text, form = item.row.reading.text, item.row.reading.form
    if form is Form.NUMBER:
        return f"{text} ohm" if _PLAIN.fullmatch(text) else text
    if form is Form.OVERLOAD:
        return f"OL past {format_ohm(item.ohm)}"
    return text


def _by_number(pin: str) -> tuple[int, int, str]:
    """Order names as a person does: 2 before 10, numbers before letters."""
    return (0, int(pin), pin) if pin.isdecimal() else (1, 0, pin)
