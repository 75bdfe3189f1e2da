"""How a head was measured, as a report says it: meter, proof, leads, temperature, bands."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Final

from coilmeter.compute.proof_notes import proof_lines
from coilmeter.units import format_ohm
from coilmeter.values import Band, HeadResult, Meter, Purpose, ReadingRow

_UNKNOWN: Final = "not stated"


def measured_lines(
    result: HeadResult,
    taken: Sequence[ReadingRow],
    proof: str,
    *,
    bands: Mapping[str, Band],
    meters: Mapping[str, Meter],
    confidence: float,
) -> list[tuple[str, str]]:
    """Say what a head was measured with, when and how: a term and a text each.

    Parameters
    ----------
    result
        Its verdicts.
    taken
        The readings they rest on; free ones are left out.
    proof
        What is known of the proof of the meter; empty where only the readings tell.
    bands, meters
        Reference data by name.
    confidence
        Probability at which the verdicts were spoken.

    """
    rows = [row for row in taken if row.purpose is not Purpose.FREE]
    used = dict.fromkeys(
        [coil.meter for coil in result.coils if coil.meter]
        + [path.meter for path in result.isolation if path.meter]
    )
    lines = [("meter", _meter_line(name, meters, rows)) for name in used]
    told = proof_lines((row.meter, row.note, row.time) for row in rows)
    lines += [("proof of the meter", proof or " ".join(told) or "none on record")]
    lines += [
        ("ranges", _ranges(rows)),
        ("leads", _leads(rows)),
        ("temperature", _temperature(rows)),
        ("taken", _when(rows)),
    ]
    named = dict.fromkeys(coil.band for coil in result.coils if coil.band in bands)
    for name in named:
        _, low, high, _ = bands[name].limits_ohm
        lines.append(
            (f"band {name}", f"{format_ohm(low)} to {format_ohm(high)}; {bands[name].basis}")
        )
    return [*lines, ("verdicts spoken at", f"{100 * confidence:g} % probability")]


def _meter_line(name: str, meters: Mapping[str, Meter], rows: Sequence[ReadingRow]) -> str:
    meter = meters.get(name)
    if meter is None:
        return name
    return "; ".join(
        filter(None, (name, meter.description, _accuracy(meter, rows), meter.basis))
    )


def _accuracy(meter: Meter, rows: Sequence[ReadingRow]) -> str:
    """Give the accuracy that a meter states on the ranges used, or else on its lowest."""
    if not meter.ranges:
        limits = f"{100 * meter.fraction:.3g} % + {meter.counts:g} counts"
        return f"states no ranges: {limits} taken for it"
    used = {row.range_ohm for row in rows if row.range_ohm is not None}
    ends = [each for each in meter.ranges if each.full_scale.m_as("ohm") in used]
    told = [
        f"{100 * each.fraction:.3g} % + {format_ohm(each.floor.m_as('ohm'))} on the "
        f"{format_ohm(each.full_scale.m_as('ohm'))} range"
        for each in ends or meter.ranges[:1]
    ]
    return f"states +/- {', '.join(told)}"


def _ranges(rows: Sequence[ReadingRow]) -> str:
    ends = sorted({row.range_ohm for row in rows if row.range_ohm is not None})
    told = ["automatic" if math.isinf(end) else format_ohm(end) for end in ends]
    return ", ".join(told) or _UNKNOWN


def _leads(rows: Sequence[ReadingRow]) -> str:
    nulls = [row.reading.text for row in rows if row.purpose is Purpose.LEAD_NULL]
    stated = dict.fromkeys(row.lead for row in rows if row.lead)
    texts = [*(f"{text} with the clips together" for text in nulls), *stated]
    return "; ".join(texts) or "not nulled; an allowance is made for them"


def _temperature(rows: Sequence[ReadingRow]) -> str:
    stated = dict.fromkeys(row.temperature for row in rows if row.temperature)
    return "; ".join(f"{text} degC" for text in stated) or "not stated: taken as 20 +/- 5 degC"


def _when(rows: Sequence[ReadingRow]) -> str:
    times = sorted(row.time for row in rows if row.time)
    if not times:
        return _UNKNOWN
    first, last = _day(times[0]), _day(times[-1])
    count = f"{len(rows)} readings"
    return f"{first}, {count}" if first == last else f"{first} to {last}, {count}"


def _day(stamp: str) -> str:
    try:
        return datetime.fromisoformat(stamp).date().isoformat()
    except ValueError:
        return stamp
