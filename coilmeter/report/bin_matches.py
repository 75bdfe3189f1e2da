"""Heads of the bin against each other in lists: what fits, what matches, what has changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from coilmeter.compute.history import COVERAGE, Change, Measured
from coilmeter.compute.pairing import AlikeSet
from coilmeter.compute.replacing import Fit
from coilmeter.report.bin_tables import code, minute
from coilmeter.report.listing import Listing
from coilmeter.units import format_ohm, format_with_uncertainty
from coilmeter.values.bin import BinHead, BinLine

_DAY: Final = 10
NOT_SHOWN: Final = (
    "Ohms do not show track width, gap, mounting or wear: compare marking and outline, look at "
    "the face, and read what 'spares show' knows of it."
)


@dataclass(frozen=True, slots=True)
class Offer:
    """A head that is to be replaced, and one that fits in its place; None where none does."""

    head: BinHead
    line: BinLine | None
    fit: Fit | None


@dataclass(frozen=True, slots=True)
class CoilOfSet:
    """A coil of a head in a set, resistances at 20 degC in ohm."""

    coil: str
    ohm: float
    u_ohm: float


def offers_listing(offers: Sequence[Offer], notes: Sequence[str]) -> Listing:
    """List heads that fit in the places of others, the best first."""
    fitting = [each for each in offers if each.line is not None and each.fit is not None]
    return Listing(
        name="offers",
        headings=(
            "in place of",
            "code",
            "name",
            "grade",
            "pins",
            "furthest off",
            "coil by coil",
        ),
        shown=[
            (
                _called(each.head),
                "none" if each.line is None else code(each.line.head.code),
                "" if each.line is None else each.line.head.name,
                "" if each.line is None else each.line.grade,
                "" if each.fit is None else "the same" if each.fit.same_pins else "others",
                "" if each.fit is None else _furthest(each.fit),
                "" if each.fit is None else _by_coil(each.fit),
            )
            for each in offers
        ],
        keys=(
            *("in_place_of", "id", "code", "name", "kind", "grade", "same_pins"),
            *("resistance_deviation", "inductance_deviation", "coils"),
        ),
        fields=[_offer(each) for each in offers],
        notes=[*notes, *([NOT_SHOWN] if fitting else [])],
        nothing="no head of the bin fits",
    )


def sets_listing(
    sets: Sequence[AlikeSet],
    lines: Sequence[BinLine],
    coils: Sequence[Sequence[CoilOfSet]],
    notes: Sequence[str],
) -> Listing:
    """List sets of heads that are alike; `lines` and `coils` by the index of the head."""
    rows = [
        (number, each, lines[member], coils[member])
        for number, each in enumerate(sets, 1)
        for member in each.members
    ]
    return Listing(
        name="sets",
        headings=("set", "apart", "code", "name", "grade", "at 20 degC"),
        shown=[
            (
                str(number),
                _percent(each.spread),
                code(line.head.code),
                line.head.name,
                line.grade,
                _side_by_side(of_head),
            )
            for number, each, line, of_head in rows
        ],
        keys=("set", "spread", "id", "code", "name", "grade", "resistance_20c_ohm", "u_ohm"),
        fields=[
            (
                number,
                each.spread,
                line.head.id,
                line.head.code,
                line.head.name,
                line.grade,
                [coil.ohm for coil in of_head],
                [coil.u_ohm for coil in of_head],
            )
            for number, each, line, of_head in rows
        ],
        notes=[*notes, *([NOT_SHOWN] if rows else [])],
        nothing="no heads of the bin are so much alike",
    )


def changes_listing(readings: Sequence[tuple[str, Measured, Change | None]]) -> Listing:
    """List each coil that was measured again: its first value, its last, and what changed.

    `readings` are those of `history_listing`: coil by coil, oldest first.
    """
    first: dict[str, tuple[str, Measured]] = {}
    last: dict[str, tuple[str, Measured, Change]] = {}
    for time, each, change in readings:
        if change is None:
            first[each.coil] = (time, each)
        else:
            last[each.coil] = (time, each, change)
    begun = {first[name][0][:_DAY] for name in last}
    ended = {time[:_DAY] for time, *_ in last.values()}
    one_day = len(begun) == len(ended) == 1
    shown = []
    for name, (time, each, change) in last.items():
        begin, was = first[name]
        shown.append(
            (
                name,
                _value(was) if one_day else f"{_value(was)}, {begin[:_DAY]}",
                _value(each) if one_day else f"{_value(each)}, {time[:_DAY]}",
                "" if change.change is None else _signed(change.change),
                "" if change.e_n is None else f"{change.e_n:.2f}",
                str(change.word),
            )
        )
    days = (min(begun), min(ended)) if one_day else ("first", "last")
    headings = ("coil", *days, "change", "E_n", "so")
    return Listing(name="changes", headings=headings, shown=shown, keys=headings, fields=shown)


def history_listing(
    head: BinHead,
    readings: Sequence[tuple[str, Measured, Change | None]],
    notes: Sequence[str],
) -> Listing:
    """List coils of a head by sitting: time, what was found, and the change since the first."""
    return Listing(
        name="history",
        headings=("coil", "measured", "at 20 degC", "verdict", "change", "E_n", "so"),
        shown=[
            (
                each.coil,
                minute(time),
                _value(each),
                each.verdict,
                "" if change is None or change.change is None else _signed(change.change),
                "" if change is None or change.e_n is None else f"{change.e_n:.2f}",
                "" if change is None else change.word,
            )
            for time, each, change in readings
        ],
        keys=(
            *("coil", "measured", "reading", "resistance_20c_ohm", "u_ohm", "verdict"),
            *("change", "u_change", "e_n", "constancy"),
        ),
        fields=[
            (
                each.coil,
                time,
                each.reading or None,
                each.ohm,
                each.u_ohm,
                str(each.verdict),
                None if change is None else change.change,
                None if change is None else change.u_change,
                None if change is None else change.e_n,
                None if change is None else str(change.word),
            )
            for time, each, change in readings
        ],
        notes=notes,
        facts=(("head", {"id": head.id, "code": head.code, "name": head.name}),),
        nothing="nothing was measured on it",
    )


def _offer(offer: Offer) -> tuple[Any, ...]:
    line, fit = offer.line, offer.fit
    if line is None or fit is None:
        return (offer.head.code, *([None] * 8), [])
    resistances = [pair.resistance for pair in fit.pairs if pair.resistance is not None]
    inductances = [pair.inductance for pair in fit.pairs if pair.inductance is not None]
    return (
        offer.head.code,
        line.head.id,
        line.head.code,
        line.head.name,
        line.head.kind or None,
        line.grade,
        fit.same_pins,
        max(resistances, key=abs, default=None),
        max(inductances, key=abs, default=None),
        [
            {
                "coil": pair.coil,
                "by": pair.other,
                "resistance_deviation": pair.resistance,
                "inductance_deviation": pair.inductance,
            }
            for pair in fit.pairs
        ],
    )


def _called(head: BinHead) -> str:
    return head.name or code(head.code)


def _furthest(fit: Fit) -> str:
    resistances = [pair.resistance for pair in fit.pairs if pair.resistance is not None]
    inductances = [pair.inductance for pair in fit.pairs if pair.inductance is not None]
    told = []
    if resistances:
        told.append(_signed(max(resistances, key=abs)))
    if inductances:
        told.append(f"L {_signed(max(inductances, key=abs))}")
    return ", ".join(told) or "not known"


def _by_coil(fit: Fit) -> str:
    return ", ".join(
        f"{pair.coil if pair.coil == pair.other else f'{pair.coil} by {pair.other}'}"
        f"{'' if pair.resistance is None else f' {_signed(pair.resistance)}'}"
        for pair in fit.pairs
    )


def _value(each: Measured) -> str:
    if each.ohm is None or each.u_ohm is None:
        return each.reading
    return format_with_uncertainty(each.ohm, COVERAGE * each.u_ohm)


def _side_by_side(coils: Sequence[CoilOfSet]) -> str:
    """Values of the coils of a head, with the largest uncertainty of them."""
    u = max((COVERAGE * coil.u_ohm for coil in coils), default=0.0)
    told = [format_with_uncertainty(coil.ohm, u).split(" ") for coil in coils]
    if len({words[-1] for words in told}) > 1:
        return ", ".join(format_ohm(coil.ohm) for coil in coils)
    return " ".join([", ".join(words[0] for words in told), *told[0][1:]])


def _signed(fraction: float) -> str:
    return f"{100 * fraction:+.1f} %"


def _percent(fraction: float) -> str:
    return f"{100 * fraction:.2f} %"
