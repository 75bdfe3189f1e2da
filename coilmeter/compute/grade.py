"""A head's whole evidence to one grade, with its reason in a sentence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

from coilmeter.values import (
    CoilResult,
    Condition,
    Grade,
    Isolation,
    IsolationResult,
    Match,
    Role,
    Stability,
)
from coilmeter.values.notes import BLINKED, CREPT

NOT_PROVEN: Final = "Not proven by ohms: no shorted turns, no wear, no dirt, not magnetised."
"""Ends the reason of every grade."""


def grade(
    coils: Sequence[CoilResult],
    isolation: Sequence[IsolationResult],
    joined: Mapping[str, Sequence[str]] = MappingProxyType({}),
) -> tuple[Grade, str]:
    """Grade a head.

    Returns the grade and its reason.  A coil counts as sound when it is intact, not unlike
    its siblings, and every path from it was read and does not conduct.

    Parameters
    ----------
    coils
        Every coil of the head, the missing ones included.
    isolation
        Every path that was measured or should have been.
    joined
        By the name of a coil, those that a common return joins to it, itself included: a
        leak of one is a leak of all.

    """
    if all(coil.verdict is Condition.MISSING for coil in coils):
        found, reason = Grade.RECHECK, _nothing_read(isolation)
    else:
        found, reason = _grade(coils, isolation, joined)
    return found, f"{reason} {NOT_PROVEN}"


def _grade(
    coils: Sequence[CoilResult],
    isolation: Sequence[IsolationResult],
    joined: Mapping[str, Sequence[str]],
) -> tuple[Grade, str]:
    faulty_paths = [path for path in isolation if path.faulty]
    not_isolated = {
        name
        for path in isolation
        if path.verdict is not Isolation.ISOLATED
        for side in (path.start, path.end)
        for name in joined.get(side, (side,))
    }
    intact = [coil for coil in coils if coil.verdict is Condition.INTACT]
    odd = [coil for coil in coils if coil.match in {Match.NOTICEABLE, Match.MISMATCHED}]
    sound = [coil for coil in intact if coil.coil not in not_isolated and coil not in odd]
    faulty = [coil for coil in coils if _is_faulty(coil)]
    open_questions = _open_questions(coils, isolation)
    count = _count(len(intact), len(coils))
    faults = [
        *(f"coil {coil.coil} {_coil_word(coil)}" for coil in faulty),
        *(f"{path.start} to {path.end} {_path_word(path)}" for path in faulty_paths),
    ]
    questions = f" Still open: {'; '.join(open_questions)}." if open_questions else ""
    if any(coil.verdict is Condition.UNSTABLE for coil in coils):
        names = ", ".join(_moved(c) for c in coils if c.verdict is Condition.UNSTABLE)
        also = f" Faulty: {'; '.join(faults)}." if faults else ""
        return Grade.UNSTABLE, f"Unstable: coil {names}. {count}.{also}{questions}"
    if coils and len(faulty) == len(coils):
        return Grade.DEAD, f"None of {len(coils)} intact: {'; '.join(faults)}.{questions}"
    if faults:
        good = f"; sound: coil {', '.join(coil.coil for coil in sound)}" if sound else ""
        off = f" {_odd_ones(odd)}" if odd else ""
        return Grade.PARTIAL, f"{count}{good}. Faulty: {'; '.join(faults)}.{off}{questions}"
    if open_questions:
        off = f" {_odd_ones(odd)}" if odd else ""
        return Grade.RECHECK, f"{count}, nothing faulty so far.{off}{questions}"
    paths = "isolation good" if isolation else "no path beside the coils to read"
    if odd:
        return Grade.UNMATCHED, f"{count}, {paths}. {_odd_ones(odd)}"
    matched = any(coil.match is Match.MATCHED for coil in coils)
    siblings = "siblings matched" if matched else "no sibling to compare"
    return Grade.MATCHED, f"{count}, {siblings}, {paths}."


def _nothing_read(isolation: Sequence[IsolationResult]) -> str:
    faults = [
        f"{path.start} to {path.end} {_path_word(path)}" for path in isolation if path.faulty
    ]
    also = f" Faulty: {'; '.join(faults)}." if faults else ""
    return f"No coil was read.{also}"


def _is_faulty(coil: CoilResult) -> bool:
    """Whether a coil is not intact for certain, even where how is undecided."""
    if coil.verdict is Condition.UNDECIDED:
        left = set(coil.between)
        return bool(left) and not coil.assumed and Condition.INTACT not in left
    return coil.verdict in {Condition.SHORTED, Condition.LOW, Condition.HIGH, Condition.OPEN}


def _count(intact: int, coils: int) -> str:
    if intact < coils:
        return f"{intact} of {coils} {'coil' if coils == 1 else 'coils'} intact"
    return "The only coil is intact" if coils == 1 else f"All {coils} coils intact"


def _moved(coil: CoilResult) -> str:
    """Name an unstable coil, with what it did where it was flexed."""
    if coil.flex is None or not coil.flex.stability.faulty:
        return coil.coil
    return f"{coil.coil} ({coil.flex.stability} when moved)"


def _coil_word(coil: CoilResult) -> str:
    return " or ".join(coil.between) if coil.verdict is Condition.UNDECIDED else coil.verdict


def _path_word(path: IsolationResult) -> str:
    return " or ".join(path.between) if path.verdict is Isolation.UNDECIDED else path.verdict


def _open_questions(
    coils: Sequence[CoilResult], isolation: Sequence[IsolationResult]
) -> list[str]:
    undecided = [
        coil.coil
        for coil in coils
        if coil.verdict is Condition.UNDECIDED and not _is_faulty(coil)
    ]
    missing = [coil.coil for coil in coils if coil.verdict is Condition.MISSING]
    unmatched = [coil.coil for coil in coils if coil.match is Match.UNDECIDED]
    uncompared = _uncompared(coils)
    blinked = [
        coil.coil
        for coil in coils
        if coil.verdict is Condition.INTACT
        and BLINKED in coil.seen
        and (coil.flex is None or coil.flex.stability is not Stability.STEADY)
    ]
    known = any(coil.role is not Role.UNKNOWN for coil in coils)
    unknown = [
        coil.coil
        for coil in coils
        if known
        and coil.verdict is Condition.INTACT
        and coil.role is Role.UNKNOWN
        and coil.match is Match.NO_SIBLING
        and coil.coil not in uncompared
    ]
    crept = [
        coil.coil for coil in coils if coil.verdict is Condition.INTACT and CREPT in coil.seen
    ]
    doubtful = [
        f"{path.start} to {path.end}"
        for path in isolation
        if path.verdict is Isolation.UNDECIDED and not path.faulty
    ]
    unread = [
        f"{path.start} to {path.end}" for path in isolation if path.verdict is Isolation.MISSING
    ]
    if isolation and len(unread) == len(isolation):
        unread = ["on any path"]
    return [
        f"{what} {', '.join(names)}"
        for what, names in (
            ("undecided coil", undecided),
            ("to be flexed, because it dropped out while clipped: coil", blinked),
            ("to be read again off the board, because it crept: coil", crept),
            ("coil not measured", missing),
            ("match undecided for coil", unmatched),
            ("too unlike to be siblings (which head kind is it?): coil", uncompared),
            ("of unknown role among others, so that it only conducts: coil", unknown),
            ("isolation undecided", doubtful),
            ("isolation not measured", unread),
        )
        if names
    ]


def _uncompared(coils: Sequence[CoilResult]) -> list[str]:
    """Name intact coils of one role, two or more, none of which was compared."""
    alone = [
        coil
        for coil in coils
        if coil.verdict is Condition.INTACT and coil.match is Match.NO_SIBLING
    ]
    roles = [coil.role for coil in alone]
    return [coil.coil for coil in alone if roles.count(coil.role) > 1]


def _odd_ones(odd: Sequence[CoilResult]) -> str:
    """Say what deviates; of two siblings, or of halves, never which one is the bad one."""
    listed = ", ".join(f"{coil.coil} {_percent(coil)}" for coil in odd)
    if all(len(odd) == coil.siblings for coil in odd):
        return f"The siblings differ ({listed}); which of them is wrong, ohms cannot say."
    return f"Off the median of its siblings: {listed}."


def _percent(coil: CoilResult) -> str:
    return "" if coil.deviation is None else f"{100 * coil.deviation:+.1f} %"
