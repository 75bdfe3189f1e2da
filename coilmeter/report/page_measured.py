"""How a head was measured, as a report says it: meter, proof, leads, temperature, bands."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Final

from coilmeter.compute.circumstances import Warmth
from coilmeter.compute.heads import gather
from coilmeter.compute.leads import Leads
from coilmeter.compute.proof_notes import proof_lines
from coilmeter.compute.resolve import Item, Resolver
from coilmeter.compute.settings import Settings
from coilmeter.report.basis_words import basis_words
from coilmeter.units import format_ohm
from coilmeter.values import EvidenceKind, HeadResult, Meter, Purpose, ReadingRow

_UNKNOWN: Final = "not stated"
_SQRT3: Final = math.sqrt(3.0)


def measured_lines(
    result: HeadResult,
    taken: Sequence[ReadingRow],
    proof: str,
    settings: Settings,
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
    settings
        What the head was judged by.

    """
    bands, every = settings.bands, _judged(taken, settings)
    items = _of_coils(every)
    rows = [row for row in taken if row.purpose is not Purpose.FREE]
    used = dict.fromkeys(
        [coil.meter for coil in result.coils if coil.meter]
        + [path.meter for path in result.isolation if path.meter]
    )
    lines = [("meter", _meter_line(name, settings.meters, every)) for name in used]
    told = proof_lines((row.meter, row.note, row.time) for row in rows)
    lines += [("proof of the meter", proof or " ".join(told) or "none on record")]
    lines += [
        ("ranges", _ranges(rows)),
        ("leads", _leads(items)),
        ("temperature", _temperature(items)),
        ("taken", _when(rows)),
    ]
    named = dict.fromkeys(coil.band for coil in result.coils if coil.band in bands)
    for name in named:
        _, low, high, _ = bands[name].limits_ohm
        lines.append(
            (
                f"band {name}",
                f"{format_ohm(low)} to {format_ohm(high)}; {basis_words(bands[name].basis)}",
            )
        )
    return [*lines, ("verdicts spoken at", f"{100 * settings.confidence:g} % probability")]


def _meter_line(name: str, meters: Mapping[str, Meter], items: Sequence[Item]) -> str:
    meter = meters.get(name)
    if meter is None:
        return name
    parts = (name, meter.description, _accuracy(meter, items), basis_words(meter.basis))
    return "; ".join(filter(None, parts))


def _accuracy(meter: Meter, items: Sequence[Item]) -> str:
    """Give the accuracy that a meter states on the ranges it was judged by."""
    if not meter.ranges:
        limits = f"{100 * meter.fraction:.3g} % + {meter.counts:g} counts"
        return f"states no ranges: {limits} taken for it"
    used = {item.range_number for item in items if item.meter.meter.name == meter.name}
    told = [
        f"{100 * each.fraction:.3g} % + {format_ohm(each.floor.m_as('ohm'))} on the "
        f"{format_ohm(each.full_scale.m_as('ohm'))} range"
        for number, each in enumerate(meter.ranges)
        if number in used
    ]
    return f"states +/- {', '.join(told)}" if told else ""


def _ranges(rows: Sequence[ReadingRow]) -> str:
    ends = sorted({row.range_ohm for row in rows if row.range_ohm is not None})
    told = ["automatic" if math.isinf(end) else format_ohm(end) for end in ends]
    return ", ".join(told) or _UNKNOWN


def _judged(taken: Sequence[ReadingRow], settings: Settings) -> list[Item]:
    """Understand readings as the judge did: coils, then paths.

    What was said on the command line and what the meter itself brings is in them, and in no
    cell of the file.
    """
    heads = gather(taken, Resolver(settings))
    return [
        *(item for head in heads for item in head.coils),
        *(item for head in heads for item in head.paths),
    ]


def _of_coils(items: Sequence[Item]) -> list[Item]:
    """Choose those of which leads and warmth are taken off: values of coils, where any are."""
    coils = [item for item in items if not item.other]
    values = [item for item in coils if item.evidence is EvidenceKind.VALUE]
    return values or coils or list(items)


def _leads(items: Sequence[Item]) -> str:
    told = {item.name: _leads_words(item.leads) for item in items}
    return _by_coil(told) or _UNKNOWN


def _leads_words(leads: Leads) -> str:
    if not leads.known:
        return f"{leads.text}: an allowance is made for them"
    if leads.measured:
        ohm = format_ohm(leads.ohm, leads.u_ohm or None)
        return f"{ohm} with the clips together, taken off"
    return f"{leads.text}, as stated, taken off" if leads.ohm else leads.text


def _temperature(items: Sequence[Item]) -> str:
    told = {item.name: _warmth_words(item.warmth) for item in items}
    return _by_coil(told) or _UNKNOWN


def _warmth_words(warmth: Warmth) -> str:
    text = f"{warmth.degc:.4g} +/- {_SQRT3 * warmth.u_k:.3g} degC"
    return text if warmth.known else f"not stated: taken as {text}"


def _by_coil(told: Mapping[str, str]) -> str:
    """Give what holds for all coils once, and otherwise say of which it holds."""
    names: dict[str, list[str]] = {}
    for name, text in told.items():
        names.setdefault(text, []).append(name)
    if len(names) == 1:
        return next(iter(names))
    return "; ".join(f"coil {', '.join(coils)}: {text}" for text, coils in names.items())


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
