"""Heads of the bin against each other: what fits, what matches, what has changed."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from coilmeter.compute.history import Change, Measured, change_of, measured
from coilmeter.compute.pairing import best_sets
from coilmeter.compute.settings import Settings
from coilmeter.errors import InputError, MistakesError
from coilmeter.report.bin_matches import CoilOfSet, Offer, sets_listing
from coilmeter.report.bin_tables import code, minute
from coilmeter.report.listing import Listing
from coilmeter.spares.donors import assigned, donors, sought
from coilmeter.spares.judging import band_of
from coilmeter.spares.reading import find_heads
from coilmeter.spares.searching import Wanted, candidates
from coilmeter.spares.store import Transaction
from coilmeter.values.bin import BinLine, HeadRecord

SAME_METER = (
    "Meters of one name are taken for one and the same, whose stated error both sittings "
    "share; --other-meter counts it in full."
)


def find_offers(
    connection: Transaction, names: Sequence[str], most: int, among: Wanted
) -> tuple[list[Offer], list[str]]:
    """Heads that could take the places of others, and what must be known of them.

    Raises
    ------
    InputError
        When a head is not there, or there are several of its name.

    """
    wanted = [sought(connection, head) for head in find_heads(connection, names)]
    notes = []
    for each in wanted:
        called = each.head.name or code(each.head.code)
        if not each.coils:
            notes.append(f"{called} cannot be judged, so nothing can be compared with it.")
        elif not each.known:
            notes.append(
                f"No coil of {called} is sound: what it read before is not known, "
                "and heads are offered by their layout only."
            )
    if len(wanted) > 1:
        chosen = assigned(connection, wanted, among)
        return [
            Offer(each.head, None, None)
            if donor is None
            else Offer(each.head, donor.line, donor.fit)
            for each, donor in zip(wanted, chosen, strict=True)
        ], notes
    found = donors(connection, wanted[0], most, among)
    return [Offer(wanted[0].head, donor.line, donor.fit) for donor in found], notes


def find_sets(
    connection: Transaction, among: Wanted, size: int, count: int, within: float
) -> tuple[Listing, int]:
    """Find sets of heads that are most alike; they come back listed, and counted.

    Raises
    ------
    InputError
        When the heads are of several layouts, or too many sets are possible.

    """
    lines: list[BinLine] = []
    coils: list[list[CoilOfSet]] = []
    layouts: dict[str, str] = {}
    # By name, not by id: two benches with the same heads are to offer the same sets.
    found = sorted(candidates(connection, among), key=lambda each: _place(each[0]))
    for line, layout, figures in found:
        layouts.setdefault(layout, line.head.kind)
        lines.append(line)
        coils.append(list(_coils(figures)))
    if len(layouts) > 1:
        kinds = sorted(set(layouts.values()))
        raise InputError(
            f"heads of {len(layouts)} layouts are no match for each other",
            hint=f"say which with --kind: {', '.join(kinds)}."
            if len(kinds) > 1
            else "they are of one kind, and were judged by other bands or pins.",
        )
    sets = best_sets([[coil.ohm for coil in each] for each in coils], size, count, within)
    total = sum(each.spread for each in sets)
    noun = "set" if count == 1 else "sets"
    told = f"{len(lines)} heads looked at; {len(sets)} of {count} {noun}"
    note = f"{told}, {100 * total:.2f} % apart in all."
    return sets_listing(sets, lines, coils, [note]), len(sets)


def head_history(
    record: HeadRecord, settings: Settings, *, same_meter: bool
) -> tuple[list[tuple[str, Measured, Change | None]], list[str]]:
    """Coils of a head by sitting, each with its change since the first, and what to know."""
    notes, taken = [], []
    for sitting in record.sittings:
        judged = replace(settings, kind="", band=band_of([sitting]))
        try:
            taken.append((sitting.begun, measured(sitting.rows, judged)))
        except MistakesError as error:
            notes.append(
                f"The sitting of {minute(sitting.begun)} cannot be judged: "
                f"{error.mistakes[0].place}: saw {error.mistakes[0].seen}, expected "
                f"{error.mistakes[0].expected}."
            )
    names = dict.fromkeys(name for _, coils in taken for name in coils)
    found = [each for name in names for each in _of_coil(name, taken, same_meter=same_meter)]
    again = [change for *_, change in found if change is not None]
    if again and same_meter:
        notes.append(SAME_METER)
    if not again:
        notes.append("Measured once: nothing to compare with.")
    return found, notes


def _of_coil(
    name: str, taken: Sequence[tuple[str, dict[str, Measured]]], *, same_meter: bool
) -> Iterator[tuple[str, Measured, Change | None]]:
    read = [
        (begun, coils[name]) for begun, coils in taken if name in coils and coils[name].reading
    ]
    if not read:
        return
    first = read[0][1]
    yield (*read[0], None)
    for _, (begun, each) in pairwise(read):
        yield begun, each, change_of(first, each, same_meter=same_meter)


def _place(line: BinLine) -> tuple[str, str]:
    return line.head.name, line.head.id


def _coils(figures: str) -> Iterator[CoilOfSet]:
    """Coils of a head in the order of their layout, so that like stands beside like."""
    found = sorted(
        json.loads(figures),
        key=lambda each: (each["role"], each["band"], sorted(each["pins"]), each["coil"]),
    )
    for each in found:
        yield CoilOfSet(each["coil"], each["ohm"], each["u_ohm"])
