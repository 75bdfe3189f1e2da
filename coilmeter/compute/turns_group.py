"""Coils of one head at one tone, put beside each other and beside reference coils."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from coilmeter.compute.coil_model import model_of, share_for_q
from coilmeter.compute.impedance_coverage import figures
from coilmeter.compute.turns_compare import (
    Beside,
    beside,
    deviations_of,
    matches_of,
    median_of,
)
from coilmeter.values import Role
from coilmeter.values.impedances import CoilFit, Impedance, ImpedancePoint, Sign

SAME_HZ: Final = 0.01
"""Frequencies within this fraction of each other count as one."""

UNLIKE: Final = 3.0
"""Coils of unknown role whose inductances differ by more are taken for different coils."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits between siblings; the tool's own defaults, no published limit was found.

    Parameters
    ----------
    q_below
        Q below this share of the siblings' median is a collapse.
    l_noticeable, l_mismatched
        Limits of the deviation of L from the median, as fractions.
    confidence
        Probability that decides.

    """

    q_below: float = 0.70
    l_noticeable: float = 0.10
    l_mismatched: float = 0.20
    confidence: float = 0.95


@dataclass(frozen=True, slots=True)
class CoilTones:
    """One coil at its tones.

    Parameters
    ----------
    name, role
        Which coil.
    impedances
        Low to high in frequency.
    dc
        DC resistance at the temperature of the sitting and its standard uncertainty, in ohm;
        None where not known.
    fit
        Fit over the frequencies; None where there is none.
    bends
        Whether L changes between two tones as beside a capacitance, and no fit tells how much.

    """

    name: str
    role: Role
    impedances: tuple[Impedance, ...]
    dc: tuple[float, float] | None = None
    fit: CoilFit | None = None
    bends: bool = False


@dataclass(frozen=True, slots=True)
class HeadTones:
    """The coils of one head, in their order across the tape.

    `refused` names those of which voltages could not be used.
    """

    head: str
    kind: str
    coils: tuple[CoilTones, ...]
    notes: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()


@dataclass(slots=True)
class Seen:
    """One coil at one tone while it is judged."""

    coil: CoilTones
    impedance: Impedance
    point: ImpedancePoint
    siblings: list[Impedance] = field(default_factory=list)
    siblings_dc: list[float] = field(default_factory=list)
    reference: list[Impedance] = field(default_factory=list)
    beside: Beside | None = None
    beside_reference: Beside | None = None
    sign: Sign = Sign.NO_REFERENCE


def tones_of(coils: Sequence[CoilTones]) -> list[float]:
    """Frequencies that were measured, low to high, those within a per cent as one."""
    every = sorted(each.frequency_hz for coil in coils for each in coil.impedances)
    tones: list[float] = []
    for hertz in every:
        if not tones or hertz > tones[-1] * (1 + SAME_HZ):
            tones.append(hertz)
    return tones


def _at(coil: CoilTones, hertz: float) -> Impedance | None:
    return next(
        (
            each
            for each in coil.impedances
            if math.isclose(each.frequency_hz, hertz, rel_tol=SAME_HZ)
        ),
        None,
    )


def group_of(coils: Sequence[CoilTones], hertz: float, limits: Limits) -> list[Seen]:
    """Coils of one role at one tone, compared with each other."""
    group = [
        Seen(coil, found, ImpedancePoint(found, figures(found, limits.confidence)))
        for coil in coils
        if (found := _at(coil, hertz)) is not None
    ]
    x = [each.impedance.x_ohm for each in group]
    unlike = coils[0].role is Role.UNKNOWN and max(x) > UNLIKE * min(x)
    if len(group) == 1 or unlike:
        return group
    every = [each.impedance for each in group]
    away = deviations_of(every)
    matches = matches_of(away, limits.l_noticeable, limits.l_mismatched, limits.confidence)
    for number, each in enumerate(group):
        others = [other for other in group if other is not each]
        each.siblings = [other.impedance for other in others]
        each.siblings_dc = [other.coil.dc[0] for other in others if other.coil.dc]
        side = each.beside = beside_others(each.impedance, each.siblings, limits)
        each.point = replace(
            each.point,
            match=matches[number],
            deviation=float(away.deviation[number]),
            u_deviation=float(away.u[number]),
            q_ratio=side.q_ratio,
            u_q_ratio=side.u_q_ratio,
            below_q=side.below_q,
            siblings=len(group),
            sees_share=_sees(each, side),
        )
    return group


def beside_others(coil: Impedance, others: Sequence[Impedance], limits: Limits) -> Beside:
    """Compare one coil with others by these limits."""
    return beside(coil, others, q_below=limits.q_below, confidence=limits.confidence)


def references_for(
    head: HeadTones, references: Sequence[HeadTones], role: Role, hertz: float
) -> list[Impedance]:
    """Find reference coils of that role at that tone, in heads of the same kind."""
    return [
        found
        for other in references
        if other.kind == head.kind or not (other.kind and head.kind)
        for coil in other.coils
        if coil.role is role and (found := _at(coil, hertz)) is not None
    ]


def put_beside_reference(
    group: Sequence[Seen], reference: list[Impedance], limits: Limits
) -> None:
    """Compare each coil of a group with the median of reference coils, where there are any."""
    if not reference:
        return
    for each in group:
        each.reference = reference
        side = each.beside_reference = beside_others(each.impedance, reference, limits)
        each.point = replace(
            each.point,
            l_ratio=side.l_ratio,
            u_l_ratio=side.u_l_ratio,
            sees_share=each.point.sees_share or _sees(each, side),
        )


def _sees(each: Seen, side: Beside) -> float | None:
    """Smallest share of shorted turns that would have been seen here; None where unknown."""
    if side.loss_limit is None or not side.loss or side.loss <= 0 or each.coil.dc is None:
        return None
    others = each.siblings or each.reference
    model = model_of(median_of(others), each.impedance.frequency_hz, each.coil.dc[0])
    return share_for_q(model, each.impedance.frequency_hz, side.loss / side.loss_limit)
