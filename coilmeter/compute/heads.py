"""Rows of readings files gathered into heads: their kinds, their lead nulls, their items."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from coilmeter.compute.circumstances import MeterTable
from coilmeter.compute.flexings import Flexing, flexings_of
from coilmeter.compute.leads import LeadNulls, NullKey, leads_from_nulls, null_key, why_no_null
from coilmeter.compute.places import kind_of_rows, unclear_rows
from coilmeter.compute.resolve import Item, Resolver
from coilmeter.values import HeadKind, Purpose, ReadingRow, shown_kinds


@dataclass(slots=True)
class HeadItems:
    """The readings of one head, sorted by what they are for.

    `kind` is what the rows or the user name; `layout` also where it is only known from the
    pins of the rows.  `flexings` are by the name of the coil.
    """

    head: str
    kind: HeadKind | None
    layout: HeadKind | None
    coils: list[Item] = field(default_factory=list)
    paths: list[Item] = field(default_factory=list)
    flexings: dict[str, Flexing] = field(default_factory=dict)


def gather(rows: Sequence[ReadingRow], resolver: Resolver) -> list[HeadItems]:
    """Gather rows into heads, in the order of their first appearance.

    Rows with the same head name are of one head, in whichever file; a head that its file
    does not name is of that file alone.  Mistakes go to the resolver; a row with one is left
    out.  A broken row is looked through for names that nobody defined.
    """
    for row in rows:
        if row.broken:
            resolver.check_names(row)
    rows = [row for row in rows if not row.broken and _has_a_spread(row, resolver)]
    nulls = lead_nulls(rows, resolver)
    by_head: dict[tuple[str, str], list[ReadingRow]] = {}
    for row in rows:
        if row.purpose not in {Purpose.LEAD_NULL, Purpose.FREE} or row.flex is not None:
            key = (row.head, "" if row.named else row.path)
            by_head.setdefault(key, []).append(row)
    return [_head(of_head, nulls, resolver) for of_head in by_head.values()]


def _has_a_spread(row: ReadingRow, resolver: Resolver) -> bool:
    """Whether count and scatter of a row can be those of readings; else it is a mistake."""
    if row.count < 1:
        resolver.mistake(row, "count", str(row.count), "one reading at least")
    elif not 0 <= row.scatter_ohm < math.inf:
        resolver.mistake(row, "scatter", f"{row.scatter_ohm:g} ohm", "a standard deviation")
    else:
        return True
    return False


def _head(rows: Sequence[ReadingRow], nulls: LeadNulls, resolver: Resolver) -> HeadItems:
    kind = _kind(rows, resolver)
    flexed = [row for row in rows if row.flex is not None]
    head = HeadItems(rows[0].head, kind, kind)
    rows = [row for row in rows if row.flex is None]
    if kind is None:
        # A coil that was flexed only must not change what the other rows say of the head.
        head.layout = kind_of_rows(rows or flexed)
        for row, unclear in unclear_rows(rows):
            resolver.mistake(row, unclear.column, unclear.seen, unclear.expected)
    head.flexings = flexings_of(flexed, head.layout, resolver)
    first: dict[tuple[str, ...], ReadingRow] = {}
    for row in rows:
        item = resolver.item(row, head.layout, nulls)
        if item is None:
            continue
        key = _identity(item)
        before = first.setdefault(key, row)
        if before is row:
            (head.paths if item.other else head.coils).append(item)
            if not item.other and item.name in head.flexings:
                item.flex = head.flexings[item.name].evidence
            continue
        sides = " to ".join(filter(None, (item.name, item.other)))
        where = f"{before.path}:{before.line}" if before.path != row.path else before.line
        resolver.mistake(
            row,
            "coil",
            f"{sides} of head {row.head} a second time",
            f"it once (line {where}); give the other the purpose 'free'",
        )
    return head


def _kind(rows: Sequence[ReadingRow], resolver: Resolver) -> HeadKind | None:
    """Kind that any row of the head names, else the user's."""
    settings = resolver.settings
    names = {row.kind: row for row in reversed(rows) if row.kind}
    chosen = next((row.kind for row in rows if row.kind), settings.kind)
    unknown = [name for name in [*names, chosen] if name and name not in settings.kinds]
    for name in dict.fromkeys(unknown):
        known = ", ".join(shown_kinds(settings.kinds))
        resolver.mistake(names.get(name, rows[0]), "kind", name, f"a head kind: {known}")
    if unknown or not chosen:
        return None
    for name, row in names.items():
        if name != chosen:
            resolver.mistake(row, "kind", name, f"one kind for a head ({chosen})")
    return settings.kinds[chosen]


def lead_nulls(rows: Sequence[ReadingRow], resolver: Resolver) -> LeadNulls:
    """Lead nulls by file, head and meter."""
    by_head: dict[NullKey, list[ReadingRow]] = {}
    meters: dict[NullKey, MeterTable] = {}
    for row in rows:
        if row.purpose is not Purpose.LEAD_NULL:
            continue
        meter = resolver.meter(row)
        if meter is None:
            continue
        expected = why_no_null(row, meter)
        if expected:
            resolver.mistake(row, "reading", row.reading.text, expected)
            continue
        key = null_key(row.path, row.head, meter)
        by_head.setdefault(key, []).append(row)
        meters.setdefault(key, meter)
    return LeadNulls(
        {key: leads_from_nulls(taken, meters[key]) for key, taken in by_head.items()}
    )


def _identity(item: Item) -> tuple[str, ...]:
    """Tell what a reading is about; from its two ends a coil has two paths to one side."""
    if not item.other:
        return ("coil", item.name)
    pins = item.row.pins or ()
    return ("path", *sorted((item.name, item.other)), *sorted(pins))
