"""What the leads add to a reading: measured, told, or only bounded."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from coilmeter.compute.budget import below_zero
from coilmeter.compute.circumstances import MeterTable
from coilmeter.errors import ReadingTextError
from coilmeter.units import Form, format_ohm, parse_reading, parse_resistance_with_spread
from coilmeter.values import ReadingRow
from coilmeter.values.unproved import SUFFIX

HIGHEST_OHM: Final = 5.0
"""More than this between two clips that touch is no lead (tool's own limit)."""

NULLED: Final = frozenset({"nulled", "rel", "relative"})
FOUR_WIRE: Final = frozenset({"four-wire", "4-wire"})
_SQRT3: Final = math.sqrt(3.0)
_SQRT12: Final = math.sqrt(12.0)


@dataclass(frozen=True, slots=True)
class Leads:
    """Lead resistance to take off, its standard uncertainty (ohm), and how it is known.

    `measured` where it was read with the clips together.
    """

    ohm: float
    u_ohm: float
    known: bool
    text: str
    measured: bool = False


NullKey = tuple[str, str, str]
"""File, head and meter of a lead null."""


def null_key(path: str, head: str, meter: MeterTable) -> NullKey:
    """Key of a lead null; proved since or not, it is the same meter."""
    return path, head, meter.meter.name.removesuffix(SUFFIX)


class LeadNulls:
    """Lead nulls that were measured, of one head or, without a name, of a whole file.

    Each belongs to its meter, whose zero is in it, and to readings with two wires.
    """

    def __init__(self, found: Mapping[NullKey, Leads]) -> None:
        self._found = found

    def of(self, row: ReadingRow, meter: MeterTable) -> Leads | None:
        """Lead null for a row read with a meter; None where there is none."""
        if meter.meter.four_wire:
            return None
        own, of_file = (null_key(row.path, head, meter) for head in (row.head, ""))
        return self._found.get(own) or self._found.get(of_file)


NO_NULLS: Final = LeadNulls({})


def leads_of_text(text: str, meter: MeterTable) -> Leads:
    """Understand what was written about the leads.

    ``nulled`` (or ``rel``): the meter has subtracted them already, and its own counts stay
    uncertain; ``four-wire``: none of them is in the reading; a resistance, with ``+/-`` or
    without; nothing: not known, so they stay in the reading as the limit that the meter's
    data sheet gives for a reading without null.

    Raises
    ------
    ReadingTextError
        When the text is none of these, or more than 5 ohm.

    """
    word = text.strip().lower()
    if word in FOUR_WIRE or (not word and meter.meter.four_wire):
        return Leads(0.0, 0.0, known=True, text="four wires")
    if word in NULLED:
        return Leads(0.0, _meter_u(meter, 0.0), known=True, text="nulled by the meter")
    if not word:
        limit = float(meter.meter.unnulled_leads.m_as("ohm"))
        return Leads(0.0, limit / _SQRT3, known=False, text=f"not nulled, up to {limit:g} ohm")
    expected = "a lead resistance from 0 to 5 ohm, 'nulled' or 'four-wire'"
    try:
        value, half_width = parse_resistance_with_spread(text)
    except ReadingTextError as error:
        raise ReadingTextError(text, expected, error.hint) from error
    ohm = float(value.m_as("ohm"))
    if not 0 <= ohm <= HIGHEST_OHM:
        raise ReadingTextError(text, expected)
    if half_width is None:
        step = parse_reading(text, milli=True).step_ohm or 0.0
        u = _meter_u(meter, ohm, step_ohm=step)
    else:
        u = float(half_width.m_as("ohm")) / _SQRT3
        if u * _SQRT3 > HIGHEST_OHM:
            raise ReadingTextError(text, expected)
    return Leads(ohm, u, known=True, text=format_ohm(ohm, u or None))


def why_no_null(row: ReadingRow, meter: MeterTable) -> str:
    """Say what a lead null should have been; empty where the row is one."""
    expected = "a lead null from 0 to 5 ohm, read with the two clips together"
    ohm = row.reading.ohm
    if row.reading.form is not Form.NUMBER or ohm is None or abs(ohm) > HIGHEST_OHM:
        return expected
    if row.scatter_ohm > HIGHEST_OHM:
        return f"{expected}, scattering by less than that"
    if row.lead.strip().lower() in NULLED:
        return "a lead null read without the relative mode, which takes the leads off"
    u = _meter_u(meter, ohm, row.range_ohm, row.reading.step_ohm or 0.0)
    return expected if below_zero(ohm, math.hypot(u, row.scatter_ohm)) else ""


def leads_from_nulls(rows: Sequence[ReadingRow], meter: MeterTable) -> Leads:
    """Lead resistance from readings with the clips together, each of which is a null.

    The meter's own error is common to them and does not average out (GUM 5.2.2); what is
    left of the scatter does (GUM 4.2.3).
    """
    taken = [row.reading.ohm or 0.0 for row in rows]
    count = len(taken)
    mean = math.fsum(taken) / count
    within = math.fsum(row.scatter_ohm**2 / row.count for row in rows) / count**2
    squares = math.fsum((value - mean) ** 2 for value in taken)
    between = squares / (count * (count - 1)) if count > 1 else 0.0
    of_meter = max(
        _meter_u(meter, row.reading.ohm or 0.0, row.range_ohm, row.reading.step_ohm or 0.0)
        for row in rows
    )
    u = math.sqrt(of_meter**2 + within + between)
    text = f"{format_ohm(mean, u or None)}, measured"
    return Leads(mean, u, known=True, text=text, measured=True)


def _meter_u(
    meter: MeterTable, ohm: float, range_ohm: float | None = None, step_ohm: float = 0.0
) -> float:
    """Give the standard uncertainty in ohm that the meter's last digits leave in a null."""
    at = meter.range_for(ohm, range_ohm, step_ohm) or meter.range_for(ohm, None)
    if at is None:
        return 0.0
    rounding = step_ohm if step_ohm > at.resolution_ohm else 0.0
    return math.hypot(at.floor_ohm / _SQRT3, rounding / _SQRT12)
