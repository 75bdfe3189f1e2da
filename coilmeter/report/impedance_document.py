"""Impedances as a document for programs: SI numbers, the unit in the key, null for unknown."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from coilmeter.values.impedances import (
        CoilFit,
        CoilImpedance,
        Figure,
        HeadImpedance,
        ImpedancePoint,
    )


def head_document(head: HeadImpedance) -> dict[str, Any]:
    """One head for a program."""
    return {
        "head": head.head,
        "kind": head.kind or None,
        "coils": [
            {"coil": name, **impedance_document(coil)} for name, coil in head.coils.items()
        ],
        "refused": list(head.refused),
        "notes": list(head.notes),
    }


def impedance_document(coil: CoilImpedance) -> dict[str, Any]:
    """All that AC volts said of one coil: SI numbers, null for what is not known."""
    return {
        "sign": coil.sign,
        "why": list(coil.why),
        "next": coil.next or None,
        "points": [_point_document(point) for point in coil.points],
        "fit": None if coil.fit is None else _fit_document(coil.fit),
    }


def _point_document(point: ImpedancePoint) -> dict[str, Any]:
    found, figures = point.impedance, point.figures
    document: dict[str, Any] = {"frequency_hz": found.frequency_hz, "method": found.method}
    named = (
        ("magnitude", "ohm", figures.z),
        ("resistance", "ohm", figures.r),
        ("reactance", "ohm", figures.x),
        ("inductance", "h", figures.l),
        ("q", "", figures.q),
    )
    for name, unit, figure in named:
        document |= _figure_document(name, unit, figure)
    return document | {
        "q_is_upper_limit": found.r_assumed,
        "covariance_ohm2": [list(row) for row in found.covariance_ohm2],
        "r_x_correlation": figures.r_x_correlation,
        "cancels": list(found.cancels),
        "parts": [
            {"cause": part.cause, "key": part.key, "r_ohm": part.r_ohm, "x_ohm": part.x_ohm}
            for part in found.parts
        ],
        "match": point.match,
        "deviation": point.deviation,
        "u_deviation": point.u_deviation,
        "q_ratio": point.q_ratio,
        "u_q_ratio": point.u_q_ratio,
        "p_q_below_limit": point.below_q,
        "reference_ratio": point.l_ratio,
        "u_reference_ratio": point.u_l_ratio,
        "least_shorted_share_seen": point.sees_share,
    }


def _figure_document(name: str, unit: str, figure: Figure) -> dict[str, Any]:
    end = f"_{unit}" if unit else ""
    return {
        f"{name}{end}": known(figure.value),
        f"u_{name}{end}": known(figure.u),
        f"{name}_low{end}": figure.low,
        f"{name}_high{end}": figure.high,
        f"dof_{name}": known(figure.dof),
    }


def _fit_document(fit: CoilFit) -> dict[str, Any]:
    return {
        "resistance_ohm": fit.resistance_ohm,
        "inductance_h": fit.inductance_h,
        "loss": fit.loss,
        "capacitance_f": fit.capacitance_f,
        "u_resistance_ohm": fit.u[0],
        "u_inductance_h": fit.u[1],
        "u_loss": fit.u[2],
        "u_capacitance_f": fit.u[3],
        "covariance": [list(row) for row in fit.covariance],
        "self_resonance_hz": fit.self_resonance_hz,
        "chi_squared": fit.chi2,
        "dof": fit.dof,
        "fits": fit.fits,
        "notes": list(fit.notes),
    }


def known(value: float) -> float | None:
    """Give a finite value; None for an infinite one, which JSON does not know."""
    return value if math.isfinite(value) else None
