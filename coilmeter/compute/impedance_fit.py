"""A coil fitted to its impedances at several frequencies.

Model: R_dc + j w L (1 - j d), with a capacitance C across it (`coilmeter.compute.coil_model`
without shorted turns).  The residuals are weighted with the full covariance of all R and X:
the resistor and the meter's input are one error at all frequencies.

Source: JCGM 100:2008 (GUM) 5.2.2 for the covariance; generalised least squares, so that the
sum of squared weighted residuals follows chi-squared where the model holds.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from coilmeter.compute.coil_model import CoilModel
from coilmeter.errors import ImpedanceError
from coilmeter.units.si_text import format_si
from coilmeter.values.impedances import TURN, CoilFit, Impedance

LEAST: Final = 3
"""So many frequencies carry the four figures of a coil."""

POOR: Final = 0.01
"""Residuals less probable than this are more than the uncertainties allow for."""

NEAR: Final = 0.5
"""Above this share of the self-resonance an inductance grows by a third or more."""

_FALLEN: Final = 0.6
"""A core alone does not take L down so far between 1 and 10 kHz (derived model)."""

_TOLD: Final = 2.0
_MOST_LOSS: Final = 0.9
Floats = npt.NDArray[np.float64]


def fit_coil(points: Sequence[Impedance], dc: tuple[float, float] | None = None) -> CoilFit:
    """Fit resistance, inductance, core loss and capacitance.

    Parameters
    ----------
    points
        The coil at three frequencies or more, R measured at each.
    dc
        DC resistance and its standard uncertainty in ohm, where known.

    Raises
    ------
    ImpedanceError
        When there are too few frequencies, or X falls as the frequency grows.

    """
    points = sorted(points, key=lambda point: point.frequency_hz)
    if len({point.frequency_hz for point in points}) < LEAST:
        raise ImpedanceError(
            "frequency",
            f"{len(points)} of them",
            f"{LEAST} frequencies or more, to fit resistance, inductance, core loss and "
            "capacitance",
        )
    check_inductive(points)
    whole = _solved(points, dc, capacitance=True)
    if whole.capacitance_f > _TOLD * whole.u[3]:
        return whole
    limit = float(f"{whole.capacitance_f + _TOLD * whole.u[3]:.2g}")
    return _solved(
        points,
        dc,
        capacitance=False,
        note="No capacitance across the coil is told from none: it is below about "
        f"{format_si(limit, 'F')}.",
    )


def check_inductive(points: Sequence[Impedance]) -> None:
    """Refuse a reactance that falls while the frequency grows.

    Raises
    ------
    ImpedanceError
        When one point has certainly less X than one at a lower frequency.

    """
    ordered = sorted(points, key=lambda point: point.frequency_hz)
    for low, high in pairwise(ordered):
        u = math.hypot(*(math.sqrt(each.covariance_ohm2[1][1]) for each in (low, high)))
        if high.x_ohm < low.x_ohm - 3 * u:
            raise ImpedanceError(
                "frequency",
                f"a reactance of {low.x_ohm:.4g} ohm at {format_si(low.frequency_hz, 'Hz')} "
                f"and of {high.x_ohm:.4g} ohm at {format_si(high.frequency_hz, 'Hz')}",
                "a reactance that grows with the frequency, as a coil's does below its "
                "self-resonance",
                "is the head still connected? Unplug it, or stay at lower frequencies.",
            )


def resonance_words(points: Sequence[Impedance]) -> list[str]:
    """Say where an inductance bends between two tones as by a capacitance across the coil.

    L(f) = L / (1 - (f/f0)^2): at half the self-resonance it has grown by a third.  Above it
    the reactance is that of a capacitor, whose sign sizes of voltages do not tell.
    """
    words = []
    for low, high in pairwise(sorted(points, key=lambda point: point.frequency_hz)):
        ratio = (high.x_ohm / high.frequency_hz) / (low.x_ohm / low.frequency_hz)
        u = ratio * math.hypot(
            *(math.sqrt(each.covariance_ohm2[1][1]) / each.x_ohm for each in (low, high))
        )
        between = (
            f"{format_si(low.frequency_hz, 'Hz')} and {format_si(high.frequency_hz, 'Hz')}"
        )
        if ratio - 2 * u > 1 / (1 - NEAR**2):
            words.append(
                f"L grows by {100 * (ratio - 1):.0f} % between {between}: the coil resonates "
                "not far above, so that L and Q there are not its own. Is the head still "
                "connected? Unplug it, or stay lower."
            )
        elif ratio + 2 * u < _FALLEN:
            words.append(
                f"L falls by {100 * (1 - ratio):.0f} % between {between}: many shorted turns "
                "do that, and so does a coil above its resonance, as on a board that is still "
                "connected. Unplug the head, and read a tone between the two as well."
            )
    return words


def _solved(
    points: Sequence[Impedance],
    dc: tuple[float, float] | None,
    *,
    capacitance: bool,
    note: str = "",
) -> CoilFit:
    from scipy.optimize import least_squares  # noqa: PLC0415 - heavy, and only for a fit
    from scipy.stats import chi2  # noqa: PLC0415 - as above

    seen = np.array([part for point in points for part in (point.r_ohm, point.x_ohm)])
    whiten = np.linalg.inv(np.linalg.cholesky(_covariance(points)))
    first, free = points[0], 4 if capacitance else 3
    start_r = dc[0] if dc else max(first.r_ohm, 1e-3 * first.x_ohm)
    start_l = first.x_ohm / (TURN * first.frequency_hz)
    # What resonates at five times the highest frequency is the size of what can be seen.
    start_c = 1 / ((5 * TURN * points[-1].frequency_hz) ** 2 * start_l)
    scale = np.array([start_r, start_l, 0.1, start_c])[:free]

    def model(q: Floats) -> Floats:
        values = q * scale
        c = float(values[3]) if capacitance else 0.0
        coil = CoilModel(
            float(values[0]),
            float(values[1]),
            min(float(values[2]), _MOST_LOSS),
            capacitance_f=c,
        )
        z = [coil.impedance_ohm(point.frequency_hz) for point in points]
        return np.array([part for each in z for part in (each.real, each.imag)])

    def residuals(q: Floats) -> Floats:
        left = whiten @ (model(q) - seen)
        return left if dc is None else np.append(left, (q[0] * scale[0] - dc[0]) / dc[1])

    begin = np.array([1.0, 1.0, 0.5, 0.5])[:free]
    lower = np.array([1e-6, 1e-6, 0.0, 0.0])[:free]
    found: Any = least_squares(
        residuals, begin, bounds=(lower, np.inf), x_scale="jac", xtol=1e-12, ftol=1e-12
    )
    covariance = np.zeros((4, 4))
    scaled = np.linalg.pinv(found.jac.T @ found.jac, hermitian=True)
    covariance[:free, :free] = scaled * np.outer(scale, scale)
    values = np.zeros(4)
    values[:free] = found.x * scale
    total, dof = 2 * float(found.cost), len(seen) + (dc is not None) - free
    fits = float(chi2.sf(total, dof)) > POOR if dof > 0 else True
    u_r, u_l, u_loss, u_c = (math.sqrt(max(covariance[n, n], 0.0)) for n in range(4))
    result = CoilFit(
        float(values[0]),
        float(values[1]),
        float(values[2]),
        float(values[3]),
        u=(u_r, u_l, u_loss, u_c),
        covariance=tuple(tuple(map(float, row)) for row in covariance),
        chi2=total,
        dof=dof,
        fits=fits,
        notes=(note,) if note else (),
    )
    return _with_notes(result, points)


def _with_notes(fit: CoilFit, points: Sequence[Impedance]) -> CoilFit:
    notes = list(fit.notes)
    resonance = fit.self_resonance_hz
    if resonance is not None and points[-1].frequency_hz > NEAR * resonance:
        notes.append(
            f"The coil resonates with its own capacitance near {format_si(resonance, 'Hz')}: "
            f"an inductance read above {format_si(NEAR * resonance, 'Hz')} is too high."
        )
    if not fit.fits:
        notes.append(
            "Copper, inductance, constant core loss and capacitance alone do not make these "
            "readings: shorted turns, or something else across the coil, would bend them so."
        )
    return replace(fit, notes=tuple(notes))


def _covariance(points: Sequence[Impedance]) -> Floats:
    """Covariance of all R and X, in their order: what shares a key goes together."""
    size = 2 * len(points)
    moves: dict[str, Floats] = {}
    for number, point in enumerate(points):
        for part in point.parts:
            move = moves.setdefault(part.key, np.zeros(size))
            move[2 * number] += part.r_ohm
            move[2 * number + 1] += part.x_ohm
    every = np.array(list(moves.values()))
    covariance: Floats = every.T @ every
    # A hair of each own keeps the square root real where a part is a thousandth of another.
    return covariance + np.diag(1e-12 * np.diag(covariance))
