"""Shorted turns, wear, or neither: inductance and Q of a coil beside those of its siblings.

Shorted turns take Q down in one coil and raise R at the tone, long before they show in ohms.
Wear of the front gap takes L down, in all coils or at the edges, and does not raise R.  Both
need something to stand beside: siblings of the same role in the head, or a reference coil
of the same kind that is known to be good.  Without it nothing is claimed.
"""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median
from typing import Final

from coilmeter.compute.turns_compare import Beside, certainly_low, median_of
from coilmeter.compute.turns_group import (
    CoilTones,
    HeadTones,
    Limits,
    Seen,
    beside_others,
    group_of,
    put_beside_reference,
    references_for,
    tones_of,
)
from coilmeter.compute.turns_words import (
    AGREE_FOR_NOTHING,
    BENDS,
    UNPLUG,
    Case,
    explain,
)
from coilmeter.values import Match
from coilmeter.values.impedances import (
    CoilImpedance,
    HeadImpedance,
    Impedance,
    Sign,
)

_SEVERITY: Final = (
    Sign.NO_REFERENCE,
    Sign.NONE,
    Sign.UNDECIDED,
    Sign.DIFFERS,
    Sign.WEAR,
    Sign.SHORTED,
)
_FEWEST_WITH_EDGES: Final = 3


def judge_tones(
    head: HeadTones, references: Sequence[HeadTones], limits: Limits
) -> HeadImpedance:
    """Judge the coils of a head at every tone they were measured at.

    Parameters
    ----------
    head
        The head.
    references
        Heads or coils known to be good; those of the same kind and role count.
    limits
        What counts as a difference.

    """
    seen: dict[str, list[Seen]] = {}
    why: dict[str, list[tuple[Sign, list[str], str]]] = {}
    for role in dict.fromkeys(coil.role for coil in head.coils):
        of_role = [coil for coil in head.coils if coil.role is role]
        for hertz in tones_of(of_role):
            reference = references_for(head, references, role, hertz)
            group = _at_tone(of_role, hertz, reference, limits)
            for each in group:
                words, then = explain(_case(each, group, limits))
                seen.setdefault(each.coil.name, []).append(each)
                why.setdefault(each.coil.name, []).append((each.sign, words, then))
    coils = {}
    for coil in head.coils:
        if coil.name in seen:
            sign, words, then = _doubted(coil, *_final(why[coil.name]))
            points = tuple(each.point for each in seen[coil.name])
            coils[coil.name] = CoilImpedance(points, sign, tuple(words), then, coil.fit)
    roles = {coil.name: coil.role for coil in head.coils if coil.name in coils}
    return HeadImpedance(head.head, head.kind, coils, roles, head.notes, head.refused)


def _at_tone(
    coils: Sequence[CoilTones], hertz: float, reference: list[Impedance], limits: Limits
) -> list[Seen]:
    """Judge coils of one role at one tone.

    A coil that is suspected of shorted turns is no measure for its siblings: they are judged
    once more without it.
    """
    group = group_of(coils, hertz, limits)
    put_beside_reference(group, reference, limits)
    _signs(group, limits)
    suspected = [each for each in group if each.sign is Sign.SHORTED]
    others = [each.coil for each in group if each.sign is not Sign.SHORTED]
    if not suspected or not others:
        return group
    rest = group_of(others, hertz, limits)
    put_beside_reference(rest, reference, limits)
    _signs(rest, limits)
    by_name = {each.coil.name: each for each in (*suspected, *rest)}
    return [by_name[each.coil.name] for each in group]


def _signs(group: Sequence[Seen], limits: Limits) -> None:
    """Give each coil its sign: each by itself first, then what only the group can show."""
    for each in group:
        each.sign = _own_sign(each, limits)
    worn_alike = [_worn(each.beside_reference, limits) for each in group]
    if all(worn_alike) and not any(each.sign is Sign.SHORTED for each in group):
        for each in group:
            each.sign = Sign.WEAR
    _check_edges(group, limits)
    _check_best(group, limits)


def _own_sign(each: Seen, limits: Limits) -> Sign:
    sides = [side for side in (each.beside, each.beside_reference) if side is not None]
    if not sides:
        return Sign.NO_REFERENCE
    sure, unsure = limits.confidence, False
    for side in sides:
        if side.below_q is None or side.r_up is None:
            unsure = True
        elif side.below_q >= sure:
            # Less L alone takes Q down too, but not R up: that is what shorted turns do.
            return Sign.SHORTED if side.r_up >= sure and not _copper(each) else Sign.DIFFERS
        else:
            unsure |= side.below_q > 1 - sure
    far = {Match.NOTICEABLE, Match.MISMATCHED}
    if each.point.match in far or _worn(each.beside_reference, limits):
        return Sign.DIFFERS
    unsure |= each.point.match is Match.UNDECIDED
    return Sign.UNDECIDED if unsure else Sign.NONE


def _copper(each: Seen) -> bool:
    """Whether higher ohms account for half or more of what R is above the others'."""
    if each.coil.dc is None or not each.siblings_dc:
        return False
    rise = each.impedance.r_ohm - median_of(each.siblings).real
    return 0 < rise / 2 < each.coil.dc[0] - median(each.siblings_dc)


def _check_edges(group: Sequence[Seen], limits: Limits) -> None:
    """Find uneven wear: the first and the last coil low, the ones between them not."""
    if len(group) < _FEWEST_WITH_EDGES:
        return
    edges, inner = [group[0], group[-1]], [each.impedance for each in group[1:-1]]
    sides = [beside_others(each.impedance, inner, limits) for each in edges]
    if not all(_worn(side, limits) for side in sides):
        return
    for each in edges:
        each.sign = Sign.SHORTED if each.sign is Sign.SHORTED else Sign.WEAR
    for each in group[1:-1]:
        # Their L is above a median that the edges have taken down: that is no fault.
        side = each.beside
        clear = side is not None and side.below_q is not None
        if each.sign is Sign.DIFFERS and clear and (each.point.deviation or 0.0) > 0:
            each.sign = Sign.NONE


def _worn(side: Beside | None, limits: Limits) -> bool:
    """Whether L is certainly below that of a reference coil, and R not above it."""
    if side is None or (side.r_up is not None and side.r_up >= limits.confidence):
        return False
    return certainly_low(side.l_ratio, side.u_l_ratio, limits.l_noticeable, limits.confidence)


def _check_best(group: Sequence[Seen], limits: Limits) -> None:
    """Look at each coil beside the best one too: where most collapsed, the median did."""
    measured = [each for each in group if each.beside and each.beside.below_q is not None]
    if len(measured) < _FEWEST_WITH_EDGES:
        return
    best = min(measured, key=lambda each: each.impedance.r_ohm / each.impedance.x_ohm)
    for each in measured:
        if each is best or each.sign not in {Sign.NONE, Sign.UNDECIDED}:
            continue
        side = beside_others(each.impedance, [best.impedance], limits)
        if side.below_q is not None and side.below_q >= limits.confidence:
            each.sign = Sign.DIFFERS


def _case(each: Seen, group: Sequence[Seen], limits: Limits) -> Case:
    return Case(
        impedance=each.impedance,
        point=each.point,
        sign=each.sign,
        siblings=each.siblings,
        reference=each.reference,
        beside=each.beside,
        beside_reference=each.beside_reference,
        dc=each.coil.dc,
        edge=each is group[0] or each is group[-1],
        inner=[other.impedance for other in group if other.sign is not Sign.WEAR],
        q_below=limits.q_below,
        copper=_copper(each),
        suspects=any(other.sign is Sign.SHORTED for other in group if other is not each),
    )


def _final(verdicts: Sequence[tuple[Sign, list[str], str]]) -> tuple[Sign, list[str], str]:
    """Choose among tones: a suspicion counts wherever it is, else the highest tone."""
    suspicious = [each for each in verdicts if each[0].suspicious]
    if suspicious:
        return max(suspicious, key=lambda each: _SEVERITY.index(each[0]))
    compared = [each for each in verdicts if each[0] is not Sign.NO_REFERENCE]
    return (compared or list(verdicts))[-1]


def _doubted(
    coil: CoilTones, sign: Sign, words: list[str], then: str
) -> tuple[Sign, list[str], str]:
    """Doubt what a coil shows where its L bends as beside a capacitance.

    Coils that all are still on their boards are as alike as sound ones, and no measure.
    """
    if not coil.bends:
        return sign, words, then
    if sign is not Sign.NONE:
        return sign, [*words, BENDS], then
    return Sign.UNDECIDED, [BENDS, AGREE_FOR_NOTHING], UNPLUG
