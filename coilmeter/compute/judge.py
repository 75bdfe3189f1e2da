"""Rows in, verdicts out: the whole main job, for one head or a hundred thousand.

All coils of all heads go through one pass over arrays, so that a bin of heads costs little
more than one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from coilmeter.compute.advice import next_for_coil, next_for_path
from coilmeter.compute.budget import (
    PARTS,
    Budget,
    Circumstances,
    below_zero,
    budget,
    wrong_null,
)
from coilmeter.compute.cautions import cautions_for
from coilmeter.compute.flexings import every_coil
from coilmeter.compute.grade import grade
from coilmeter.compute.heads import HeadItems, gather
from coilmeter.compute.paths import Layout
from coilmeter.compute.resolve import Item, Resolver
from coilmeter.compute.settings import Settings
from coilmeter.compute.siblings import compare
from coilmeter.compute.verdict import Zoned, zones_above, zones_below, zones_of_value
from coilmeter.errors import Mistake, MistakesError
from coilmeter.units import Form, Quantity, ohms
from coilmeter.values import (
    ISOLATION_ZONES,
    ZONES,
    CoilResult,
    Condition,
    EvidenceKind,
    HeadResult,
    Isolation,
    IsolationResult,
    ReadingRow,
)
from coilmeter.values.notes import BLINKED, CREPT, UNMOVED

UNSTABLE_FRACTION = 0.02
UNSTABLE_FLOORS = 3.0
UNSTABLE_COUNT = 3
_ISOLATION_VERDICTS = (
    Isolation.BRIDGED,
    Isolation.LEAKING,
    Isolation.UNDECIDED,
    Isolation.ISOLATED,
)


def judge_rows(
    rows: Sequence[ReadingRow], settings: Settings, mistakes: Sequence[Mistake] = ()
) -> Iterator[HeadResult]:
    """Judge the heads that rows describe, in the order they appear.

    Parameters
    ----------
    rows
        Readings of one or many heads.
    settings
        Reference data and what the user asked for.
    mistakes
        Mistakes already found while the rows were read, to be reported with these.

    Raises
    ------
    MistakesError
        With every mistake; then nothing has been judged.

    """
    resolver = Resolver(settings)
    heads = gather(rows, resolver)
    coils = [item for head in heads for item in head.coils]
    paths = [item for head in heads for item in head.paths]
    budgets = budget_of(coils), budget_of(paths, copper=False)
    wrong = [*_wrong_nulls(coils, budgets[0]), *_wrong_nulls(paths, budgets[1])]
    every = sorted([*mistakes, *resolver.mistakes, *wrong], key=lambda m: (m.path, m.line or 0))
    if every:
        raise MistakesError(every)
    return _heads(heads, settings, (coils, paths), budgets)


def _heads(
    heads: Sequence[HeadItems],
    settings: Settings,
    items: tuple[list[Item], list[Item]],
    budgets: tuple[Budget, Budget],
) -> Iterator[HeadResult]:
    of_coils = _coil_results(heads, items[0], budgets[0], settings)
    of_paths = _path_results(items[1], budgets[1], settings)
    layouts: dict[str, Layout] = {}
    for head in heads:
        by_name = {item.name: next(of_coils) for item in head.coils}
        specs = () if head.kind is None else head.kind.coils
        coils = every_coil(by_name, head.flexings, specs)
        names = [coil.coil for coil in coils]
        if head.kind is None:
            layout = Layout.of(head.layout, names)
        else:
            layout = layouts.get(head.kind.name) or layouts.setdefault(
                head.kind.name, Layout.of(head.kind, names)
            )
        paths = [next(of_paths) for _ in head.paths]
        paths += [
            IsolationResult(start, end, Isolation.MISSING)
            for start, end in layout.unread([(path.start, path.end) for path in paths])
        ]
        found, reason = grade(coils, paths, layout.joined)
        yield HeadResult(
            head=head.head,
            kind=head.kind.name if head.kind is not None else "",
            coils=tuple(coils),
            isolation=tuple(paths),
            grade=found,
            grade_reason=reason,
            cautions=tuple(cautions_for(head, coils, paths, settings)),
        )


def budget_of(items: Sequence[Item], *, copper: bool = True) -> Budget:
    """Budget of many items as arrays; bounds get one too, which nobody reads."""

    def column(values: Iterator[float]) -> Quantity:
        return ohms(np.fromiter(values, float, len(items)))

    how = Circumstances(
        fraction=np.array([item.fraction for item in items], float),
        floor=column(item.floor_ohm for item in items),
        rounding=column(item.rounding_ohm for item in items),
        leads=column(item.leads.ohm for item in items),
        u_leads=column(item.leads.u_ohm for item in items),
        temperature_degc=np.array([item.warmth.degc for item in items], float),
        u_temperature_k=np.array([item.warmth.u_k for item in items], float),
        scatter=column(item.row.scatter_ohm for item in items),
        count=np.array([item.row.count for item in items], float),
    )
    return budget(column(item.ohm for item in items), how, copper=copper)


def _wrong_nulls(items: Sequence[Item], found: Budget) -> list[Mistake]:
    values, u_ohm = found.resistance_20c.m_as("ohm"), found.u.m_as("ohm")
    return [
        Mistake(
            items[index].row.path,
            items[index].row.line,
            "reading",
            repr(items[index].row.reading.text),
            wrong_null(float(values[index]), float(u_ohm[index])),
        )
        for index in np.flatnonzero(below_zero(values, u_ohm)).tolist()
        if items[index].evidence is EvidenceKind.VALUE
    ]


def _judge(items: Sequence[Item], found: Budget, limits: Quantity, confidence: float) -> Zoned:
    """Zones of many items of any evidence, in their order; limits of shape (zones - 1, n)."""
    kinds = np.array([item.evidence for item in items])
    edges, bounds = limits.m_as("ohm"), ohms(np.array([item.ohm for item in items], float))
    zones = len(edges) + 1
    whole = Zoned(
        np.zeros((zones, len(items))),
        np.zeros((zones, len(items)), bool),
        np.zeros(len(items), int),
    )
    for kind in EvidenceKind:
        chosen = np.flatnonzero(kinds == kind)
        if not chosen.size:
            continue
        scale = ohms(edges[:, chosen])
        if kind is EvidenceKind.VALUE:
            part = zones_of_value(
                found.resistance_20c[chosen], found.u[chosen], scale, confidence
            )
        else:
            part = (zones_above if kind is EvidenceKind.ABOVE else zones_below)(
                bounds[chosen], scale
            )
        whole.probability[:, chosen] = part.probability
        whole.possible[:, chosen] = part.possible
        whole.decided[chosen] = part.decided
    return whole


def _coil_results(
    heads: Sequence[HeadItems], items: Sequence[Item], found: Budget, settings: Settings
) -> Iterator[CoilResult]:
    bands = {item.band.name: item.band for item in items}
    ends = {name: band.limits_ohm for name, band in bands.items()}
    limits = ohms(np.array([ends[item.band.name] for item in items], float).reshape(-1, 4).T)
    zoned = _judge(items, found, limits, settings.confidence)
    zoned.forget([number for number, item in enumerate(items) if _unmoved(item)])
    conditions = [
        _condition(item, index)
        for item, index in zip(items, zoned.decided.tolist(), strict=True)
    ]
    may_be_intact = zoned.possible[ZONES.index(Condition.INTACT)].tolist()
    standings = compare(heads, conditions, may_be_intact, found, settings.confidence)
    parts = np.stack([found.parts[name].m_as("ohm") for name in PARTS], axis=1).tolist()
    columns = zip(items, conditions, standings, parts, _figures(zoned, found), strict=True)
    for item, condition, standing, of_parts, figures in columns:
        index, probability, possible, value, u = figures
        is_value = item.evidence is EvidenceKind.VALUE
        between: tuple[Condition, ...] = ()
        if condition is Condition.UNDECIDED:
            between = tuple(zone for zone, may in zip(ZONES, possible, strict=True) if may)
        result = CoilResult(
            coil=item.name,
            role=item.role,
            pins=item.pins,
            verdict=condition,
            band=item.band.name,
            meter=item.meter.meter.name,
            evidence=item.evidence,
            reading=item.row.reading.text,
            bound_ohm=None if is_value else item.ohm,
            resistance_20c_ohm=value if is_value else None,
            u_ohm=u if is_value else None,
            probability=_known(probability[index]) if index >= 0 else _most(probability),
            zones=tuple(map(_known, probability)),
            between=between,
            assumed=_assumed(item),
            match=standing.match,
            deviation=standing.deviation,
            u_deviation=standing.u_deviation,
            siblings=standing.siblings,
            parts_ohm=tuple(of_parts) if is_value else (),
            flex=item.flex,
            seen=tuple(note for note in (BLINKED, CREPT, UNMOVED) if note in item.row.note),
        )
        if condition in {Condition.UNDECIDED, Condition.UNSTABLE}:
            result = replace(result, next=next_for_coil(item, result, settings.confidence))
        yield result


def _condition(item: Item, zone: int) -> Condition:
    if item.flex is not None and item.flex.stability.faulty:
        return Condition.UNSTABLE
    if item.evidence is EvidenceKind.VALUE and _unstable(item):
        return Condition.UNSTABLE
    return ZONES[zone] if zone >= 0 else Condition.UNDECIDED


def _unmoved(item: Item) -> bool:
    """Whether it is an OL that may be that of other points, and so rules nothing out."""
    return item.row.reading.form is Form.OVERLOAD and UNMOVED in item.row.note


def _path_results(
    items: Sequence[Item], found: Budget, settings: Settings
) -> Iterator[IsolationResult]:
    edges = (
        settings.bridged_below_ohm,
        settings.leaking_below_ohm,
        settings.isolated_above_ohm,
    )
    limits = ohms(np.repeat(np.array(edges)[:, None], len(items), axis=1))
    zoned = _judge(items, found, limits, settings.confidence)
    for item, figures in zip(items, _figures(zoned, found), strict=True):
        index, probability, possible, value, u = figures
        is_value = item.evidence is EvidenceKind.VALUE
        verdict = _ISOLATION_VERDICTS[index] if index >= 0 else Isolation.UNDECIDED
        left = tuple(zone for zone, may in zip(ISOLATION_ZONES, possible, strict=True) if may)
        result = IsolationResult(
            start=item.name,
            end=item.other,
            pins=item.pins,
            verdict=verdict,
            meter=item.meter.meter.name,
            evidence=item.evidence,
            reading=item.row.reading.text,
            bound_ohm=None if is_value else item.ohm,
            resistance_ohm=value if is_value else None,
            u_ohm=u if is_value else None,
            probability=_known(probability[index]) if index >= 0 else _most(probability),
            zones=tuple(map(_known, probability)),
            between=left if verdict is Isolation.UNDECIDED else (),
            assumed=_assumed(item),
        )
        if verdict is Isolation.UNDECIDED:
            result = replace(result, next=next_for_path(item, result, settings))
        yield result


def _figures(
    zoned: Zoned, found: Budget
) -> Iterator[tuple[int, list[float], list[bool], float, float]]:
    """Plain numbers of each item: decided zone, probabilities, zones left, value and u."""
    columns: tuple[Any, ...] = (
        zoned.decided.tolist(),
        zoned.probability.T.tolist(),
        zoned.possible.T.tolist(),
        found.resistance_20c.m_as("ohm").tolist(),
        found.u.m_as("ohm").tolist(),
    )
    return zip(*columns, strict=True)


def _assumed(item: Item) -> bool:
    """Whether the bound rests on a beeper's threshold that nobody stated."""
    reading = item.row.reading
    sounded = reading.form in {Form.BEEP, Form.SILENT} and reading.ohm is None
    return sounded and not item.meter.meter.beeper_known


def _unstable(item: Item) -> bool:
    """Whether the readings scattered more than a meter on a still joint does."""
    usual = max(UNSTABLE_FRACTION * abs(item.ohm), UNSTABLE_FLOORS * item.floor_ohm)
    return item.row.count >= UNSTABLE_COUNT and item.row.scatter_ohm > usual


def _known(probability: float) -> float | None:
    return None if math.isnan(probability) else probability


def _most(probability: list[float]) -> float | None:
    return None if any(map(math.isnan, probability)) else max(probability)
