"""Impedances as rows and as a document: for the bench, for programs, for a report."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, Final

from coilmeter.report.impedance_document import head_document, known
from coilmeter.report.listing import Listing
from coilmeter.units.formats import decimals_of
from coilmeter.units.si_text import format_si
from coilmeter.values.impedances import (
    CoilFit,
    CoilImpedance,
    Figure,
    HeadImpedance,
    ImpedancePoint,
    Sign,
)

HEADINGS: Final = ("coil", "tone", "L", "Q", "L, Q beside", "by AC volts")
KEYS: Final = (
    "head",
    "coil",
    "frequency_hz",
    "method",
    "inductance_h",
    "u_inductance_h",
    "resistance_ohm",
    "u_resistance_ohm",
    "reactance_ohm",
    "u_reactance_ohm",
    "magnitude_ohm",
    "u_magnitude_ohm",
    "r_x_correlation",
    "q",
    "q_low",
    "q_high",
    "match",
    "deviation",
    "u_deviation",
    "q_ratio",
    "u_q_ratio",
    "sign",
)


NOT_USED: Final = "not used"
"""In place of the sign of a coil whose voltages could not be used."""


def impedance_listing(
    heads: Sequence[HeadImpedance], confidence: float, *, parts: bool = False
) -> Listing:
    """All coils at all tones, with what each shows and why below."""
    several = len(heads) > 1
    shown, fields, notes = [], [], []
    for head in heads:
        for name, coil in head.coils.items():
            shown += [
                [*([head.head] if several else []), *row] for row in shown_rows(name, coil)
            ]
            fields += [_fields(head.head, name, coil, point) for point in coil.points]
        for name in head.refused:
            if name not in head.coils:
                shown.append([*([head.head] if several else []), name, *[""] * 4, NOT_USED])
                fields.append([head.head, name, *[None] * (len(KEYS) - 3), NOT_USED])
        of_head = [*reasons(head.coils), *head.notes]
        if parts:
            of_head += budget_lines(head.coils)
        notes += [f"{head.head}: {text}" for text in of_head] if several else of_head
    return Listing(
        name="impedances",
        headings=[*(["head"] if several else []), *HEADINGS],
        shown=shown,
        keys=KEYS,
        fields=fields,
        notes=notes,
        facts=(
            ("confidence", confidence),
            ("heads", [head_document(head) for head in heads]),
        ),
        nothing="no coil was measured",
    )


def shown_rows(name: str, coil: CoilImpedance) -> list[list[str]]:
    """Rows of one coil as a person reads them, one a tone; the sign stands at the last."""
    rows = []
    for point in coil.points:
        last = point is coil.points[-1]
        rows.append(
            [
                name,
                format_si(point.impedance.frequency_hz, "Hz"),
                _interval(point.figures.l, "H"),
                q_text(point),
                ", ".join(filter(None, (l_beside(point), q_beside(point)))),
                str(coil.sign) if last else "",
            ]
        )
    return rows


def q_text(point: ImpedancePoint) -> str:
    """Q with the ends of its interval, which is not symmetric; or the end that is known."""
    q = point.figures.q
    if point.impedance.r_assumed:
        return f"below {q.high:.2g}" if q.high is not None else "not measured"
    if q.low is not None and (q.high is None or not math.isfinite(q.value)):
        return f"above {q.low:.2g}"
    if q.low is None or q.high is None:
        return "not known"
    decimals = min(decimals_of((q.high - q.low) / 2), 2)
    return f"{q.value:.{decimals}f} ({q.low:.{decimals}f} to {q.high:.{decimals}f})"


def l_beside(point: ImpedancePoint) -> str:
    """Deviation of the inductance from the siblings' median, else from the reference."""
    if point.deviation is not None:
        return f"{100 * point.deviation:+.1f} %"
    if point.l_ratio is not None:
        return f"{100 * (point.l_ratio - 1):+.1f} % (ref)"
    return ""


def q_beside(point: ImpedancePoint) -> str:
    """Q over the siblings' median, in per cent."""
    return "" if point.q_ratio is None else f"{100 * point.q_ratio:.0f} %"


def reasons(coils: Mapping[str, CoilImpedance]) -> list[str]:
    """Sentences for each coil; coils of which the same is said stand together.

    Figures that the table has are left out where nothing is suspected.
    """
    together: dict[tuple[str, str], list[str]] = {}
    for name, coil in coils.items():
        why = coil.why if coil.sign is not Sign.NONE else coil.why[-2:]
        notes = [*why, *(coil.fit.notes if coil.fit else ())]
        text = f"{coil.sign}. {' '.join(notes)}"
        then = f" Next: {coil.next}" if coil.next else ""
        together.setdefault((text, then), []).append(name)
    lines = []
    for (text, then), names in together.items():
        lines.append(f"Coil {', '.join(names)}: {text}{then}")
    return lines + [
        f"Coil {name}, fitted over {len(coil.points)} tones: {fit_text(coil.fit)}"
        for name, coil in coils.items()
        if coil.fit is not None
    ]


def fit_text(fit: CoilFit) -> str:
    """Fitted figures of a coil with their expanded uncertainties (k = 2)."""
    u = [2 * each for each in fit.u]
    capacitance = (
        f", C {format_si(fit.capacitance_f, 'F', u[3])}" if fit.capacitance_f > 0 else ""
    )
    resonance = fit.self_resonance_hz
    own = f", resonance near {format_si(resonance, 'Hz')}" if resonance else ""
    return (
        f"R {format_si(fit.resistance_ohm, 'ohm', u[0])}, "
        f"L {format_si(fit.inductance_h, 'H', u[1])}, "
        f"core loss {format_si(fit.loss, '', u[2])}{capacitance}{own}; chi-squared "
        f"{fit.chi2:.2g} with {fit.dof} degrees of freedom."
    )


def budget_lines(coils: Mapping[str, CoilImpedance]) -> list[str]:
    """Where the uncertainty of L and of R comes from: share of each cause in the variance."""
    lines = []
    for name, coil in coils.items():
        for point in coil.points:
            parts = point.impedance.parts
            causes = dict.fromkeys(part.cause for part in parts)
            shares = []
            for cause in causes:
                x = math.fsum(part.x_ohm**2 for part in parts if part.cause == cause)
                r = math.fsum(part.r_ohm**2 for part in parts if part.cause == cause)
                of_x = 100 * x / point.figures.x.u**2 if point.figures.x.u else 0.0
                of_r = 100 * r / point.figures.r.u**2 if point.figures.r.u else 0.0
                shares.append(f"{cause} {of_x:.0f} / {of_r:.0f} %")
            cancelled = ", ".join(point.impedance.cancels)
            lines.append(
                f"Coil {name} at {format_si(point.impedance.frequency_hz, 'Hz')}, shares in "
                f"the variance of L / of R: {', '.join(shares)}"
                + (f"; cancelled: {cancelled}." if cancelled else ".")
            )
    return lines


def csv_cells(coil: CoilImpedance | None) -> tuple[object, ...]:
    """Tone, L, its u, Q and sign of a coil at its highest tone; five times None without."""
    if coil is None:
        return (None,) * 5
    point = coil.leading
    l, q = point.figures.l, point.figures.q  # noqa: E741 - the symbol of an inductance
    return (point.impedance.frequency_hz, l.value, l.u, known(q.value), coil.sign)


def _fields(head: str, name: str, coil: CoilImpedance, point: ImpedancePoint) -> list[Any]:
    found, figures = point.impedance, point.figures
    return [
        *(head, name, found.frequency_hz, str(found.method)),
        *(figures.l.value, figures.l.u, figures.r.value, figures.r.u),
        *(figures.x.value, figures.x.u, figures.z.value, figures.z.u),
        figures.r_x_correlation,
        *(known(figures.q.value), figures.q.low, figures.q.high),
        *(str(point.match), point.deviation, point.u_deviation),
        *(point.q_ratio, point.u_q_ratio, str(coil.sign)),
    ]


def _interval(figure: Figure, unit: str) -> str:
    """Value with the half-width of its interval."""
    return format_si(figure.value, unit, figure.k * figure.u)
