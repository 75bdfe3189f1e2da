"""Heads of the bin judged: all of them in a few passes over arrays."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from coilmeter.compute.judge import judge_rows
from coilmeter.compute.settings import Settings
from coilmeter.compute.standing import standing
from coilmeter.errors import Mistake, MistakesError
from coilmeter.values import (
    ROLE_KEYS,
    CoilResult,
    Condition,
    HeadResult,
    Match,
    ReadingRow,
    Role,
)
from coilmeter.values.bin import BinHead, ImpedanceOf, Sitting
from coilmeter.values.impedances import Sign

NOT_MEASURED: Final = "nothing to judge was measured"
_KEYS: Final = {role: key for key, role in reversed(ROLE_KEYS.items())} | {
    Role.RECORD_PLAYBACK: "rp"
}


@dataclass(frozen=True, slots=True)
class Judged:
    """A head of the bin with its verdict.

    `result` is None where none can be given; `why` says why then.
    """

    head: BinHead
    result: HeadResult | None
    why: str = ""


def rows_that_count(
    head: BinHead, taken: Sequence[Sitting], settings: Settings
) -> list[ReadingRow]:
    """Rows of a head that are judged, those of older sittings that no longer count ``free``."""
    if not taken:
        return []
    return standing([each.rows for each in taken], settings.kinds.get(head.kind))


def band_of(taken: Sequence[Sitting]) -> str:
    """Band that was named when the head was measured last; empty where none was."""
    return taken[-1].band if taken else ""


def judge_heads(
    of_heads: Sequence[tuple[BinHead, Sequence[Sitting]]], settings: Settings
) -> list[Judged]:
    """Judge heads, in their order.

    A head whose evidence does not fit the present rules (its kind is no longer defined, or
    has other pins) gets no verdict, and the reason; the others get theirs all the same.
    """
    by_band: dict[str, list[tuple[BinHead, list[ReadingRow]]]] = {}
    for head, taken in of_heads:
        rows = rows_that_count(head, taken, settings)
        by_band.setdefault(band_of(taken), []).append((head, rows))
    found: dict[str, Judged] = {}
    for band, group in by_band.items():
        if band and band not in settings.bands:
            why = f"no band is called {band!r} now"
            found |= {head.id: Judged(head, None, why) for head, _ in group}
        else:
            found |= _judge_group(group, replace(settings, kind="", band=band))
    return [found[head.id] for head, _ in of_heads]


def _judge_group(
    group: Sequence[tuple[BinHead, list[ReadingRow]]], settings: Settings
) -> dict[str, Judged]:
    heads = {head.id: head for head, _ in group}
    found = {head.id: Judged(head, None, NOT_MEASURED) for head, _ in group}
    unfit: dict[str, Mistake] = {}
    while True:
        rows = [row for head, rows in group if head.id not in unfit for row in rows]
        try:
            for result in judge_rows(rows, settings):
                head = heads[result.head]
                shown = replace(result, head=head.name or head.code)
                found[head.id] = Judged(head, shown)
        except MistakesError as error:
            for mistake in error.mistakes:
                unfit.setdefault(mistake.path.partition("/")[0], mistake)
        else:
            break
    for identity, mistake in unfit.items():
        found[identity] = Judged(heads[identity], None, _why(mistake))
    return found


def _why(mistake: Mistake) -> str:
    return f"{mistake.place}: saw {mistake.seen}, expected {mistake.expected}"


def verdict_row(judged: Judged, impedances: Sequence[ImpedanceOf] = ()) -> dict[str, Any]:
    """Row of the table of verdicts, but for the rules it rests on."""
    row: dict[str, Any] = {
        "head": judged.head.id,
        "evidence": judged.head.evidence,
        "grade": "",
        "reason": judged.why,
        "coils": 0,
        "intact": 0,
        "roles": "",
        "sorts": "",
        "layout": "",
        "low_ohm": None,
        "high_ohm": None,
        "total_ohm": None,
        "figures": "[]",
    }
    result = judged.result
    if result is None:
        return row
    coils = result.coils
    values = [coil.resistance_20c_ohm for coil in coils]
    known = [value for value in values if value is not None]
    main = list(_main_values(coils))
    figures = figures_of(coils, impedances)
    row |= {
        "grade": str(result.grade),
        "reason": result.grade_reason,
        "coils": len(coils),
        "intact": sum(coil.verdict is Condition.INTACT for coil in coils),
        "roles": " ".join(["", *sorted({_KEYS[coil.role] for coil in coils}), ""]),
        "sorts": sorts_of(figures),
        "layout": layout_of(figures),
        "low_ohm": min(main, default=None),
        "high_ohm": max(main, default=None),
        "total_ohm": sum(known) if len(known) == len(coils) else None,
        "figures": json.dumps(figures, separators=(",", ":")),
    }
    return row


def sorts_of(figures: Sequence[Mapping[str, Any]]) -> str:
    """Role and band of each coil, in alphabetical order: what a replacement has alike."""
    return " ".join(sorted(f"{each['role']}:{each['band']}" for each in figures))


def layout_of(figures: Sequence[Mapping[str, Any]]) -> str:
    """Give the same with the pins of each coil."""
    told = (
        f"{each['role']}:{each['band']}:{json.dumps(sorted(each['pins']))}" for each in figures
    )
    return " ".join(sorted(told))


def figures_of(
    coils: Sequence[CoilResult], impedances: Sequence[ImpedanceOf]
) -> list[dict[str, Any]]:
    """Figures of each coil that heads are compared by, as JSON takes them."""
    newest = _highest(impedances)
    return [
        {
            "coil": coil.coil,
            "role": _KEYS[coil.role],
            "pins": list(coil.pins or ()),
            "band": coil.band,
            "sound": _is_sound(coil),
            "suspect": coil.impedance is not None and coil.impedance.sign.suspicious,
            "ohm": coil.resistance_20c_ohm,
            "u_ohm": coil.u_ohm,
            **_inductance(newest.get(coil.coil)),
        }
        for coil in coils
    ]


def _is_sound(coil: CoilResult) -> bool:
    """Whether its figures are those that it is meant to have.

    Shorted turns take inductance away: a donor for such a coil is not to have as little.
    """
    shorted = coil.impedance is not None and coil.impedance.sign is Sign.SHORTED
    alike = coil.match is not Match.MISMATCHED
    return coil.verdict is Condition.INTACT and alike and not shorted


def _highest(impedances: Sequence[ImpedanceOf]) -> dict[str, ImpedanceOf]:
    """By coil, the newest inductance at its highest frequency; oldest are first."""
    ranked = sorted(impedances, key=lambda each: each.frequency_hz or 0.0)
    return {each.coil: each for each in ranked}


def _inductance(found: ImpedanceOf | None) -> Mapping[str, float | None]:
    return {
        "henry": None if found is None else found.inductance_henry,
        "hertz": None if found is None else found.frequency_hz,
    }


def _main_values(coils: Sequence[CoilResult]) -> Iterator[float]:
    """Resistances of the coils that are no erase coils, or of all where there are no others."""
    others = [coil for coil in coils if coil.role is not Role.ERASE]
    for coil in others or coils:
        if coil.resistance_20c_ohm is not None:
            yield coil.resistance_20c_ohm
