"""The whole bin judged under two sets of rules, and what differs."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from coilmeter.errors import InputError
from coilmeter.spares.judging import Judged, judge_heads
from coilmeter.spares.reading import all_heads, heads_of, impedances_of, sittings_of
from coilmeter.spares.rules import Rules, before
from coilmeter.spares.store import Transaction
from coilmeter.spares.verdicts import MANY, PASS
from coilmeter.spares.volts import with_kept_volts
from coilmeter.spares.writing import chunks
from coilmeter.values import CoilResult, HeadResult
from coilmeter.values.bin import BinHead

Changed = tuple[BinHead, str, str, str]
"""A head, its grade before and after, and what changed."""


def baseline(
    connection: Transaction, usual: Rules, rules: Rules, band: str
) -> tuple[Rules, str]:
    """Rules to compare with, and a sentence that says which.

    Raises
    ------
    InputError
        When nothing is new, and nothing was before.

    """
    if band or rules.digest != usual.digest:
        return usual, "Compared with the verdicts under your usual reference data."
    found = before(connection, usual)
    if found is None:
        raise InputError(
            "nothing to compare with: the bands are those that the bin was always judged by",
            hint="name the new bands with --catalog FILE, or one with --band.",
        )
    return found, "Compared with the bands that were in use before."


def changes(
    connection: Transaction,
    old: Rules,
    new: Rules,
    band: str,
    tell: Callable[[str], None],
) -> tuple[list[Changed], int]:
    """Heads whose verdicts differ, and how many were judged.

    Each pass over arrays judges ten thousand heads; what is evidence is read once.
    """
    every = all_heads(connection)
    if len(every) >= MANY:
        tell(f"judging {len(every)} heads twice.")
    changed: list[Changed] = []
    for some in chunks(every, PASS):
        of_heads = heads_of(connection, some)
        taken = sittings_of(connection, of_heads)
        pairs = [(of_heads[identity], taken[identity]) for identity in some]
        by_band = [
            (head, [replace(each, band=band) for each in of_head] if band else of_head)
            for head, of_head in pairs
        ]
        first = judge_heads(pairs, old.settings)
        second = judge_heads(by_band, new.settings)
        measured = impedances_of(connection, some)
        for each, again in zip(first, second, strict=True):
            earlier = with_kept_volts(each, measured[each.head.id], old)
            later = with_kept_volts(again, measured[again.head.id], new)
            found = "; ".join(_differences(earlier, later))
            if found:
                changed.append((earlier.head, _grade(earlier), _grade(later), found))
    return changed, len(every)


def _differences(earlier: Judged, later: Judged) -> Iterator[str]:
    if earlier.result is None or later.result is None:
        if earlier.why != later.why:
            yield later.why or "can be judged now"
        return
    old = {coil.coil: coil for coil in earlier.result.coils}
    for coil in later.result.coils:
        before_ = old.get(coil.coil)
        if before_ is None or _said(before_) != _said(coil):
            was = "not there" if before_ is None else _said(before_)
            yield f"coil {coil.coil} {was}, now {_said(coil)}"
    yield from _paths(earlier.result, later.result)
    if earlier.result.grade is not later.result.grade:
        yield f"grade {earlier.result.grade}, now {later.result.grade}"


def _paths(earlier: HeadResult, later: HeadResult) -> Iterator[str]:
    old = {(path.start, path.end, path.pins): path.verdict for path in earlier.isolation}
    for path in later.isolation:
        was = old.get((path.start, path.end, path.pins))
        if was is not None and was is not path.verdict:
            yield f"{path.start} to {path.end} {was}, now {path.verdict}"


def _said(coil: CoilResult) -> str:
    return " or ".join(coil.between) if coil.between else str(coil.verdict)


def _grade(judged: Judged) -> str:
    return "" if judged.result is None else str(judged.result.grade)
