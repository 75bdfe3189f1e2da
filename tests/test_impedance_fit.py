"""A coil fitted to its impedances at several tones."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import numpy as np
import pytest
from impedance_helpers import HEADER, SOUND, one_head, volts_csv

from coilmeter.compute.coil_model import CoilModel
from coilmeter.compute.impedance_fit import check_inductive, fit_coil
from coilmeter.errors import ImpedanceError
from coilmeter.values.impedances import CoilFit, Impedance, Method, Part

TONES = ((1e3, 1e3), (2e3, 1e3), (5e3, 4.7e3), (10e3, 10e3), (20e3, 22e3))
"""Frequency and a resistor that fits, in hertz and ohm."""


def points_of(
    coil: CoilModel, random: np.random.Generator | None = None, u: float = 0.003
) -> list[Impedance]:
    """Give impedances with errors of their own and one of the resistor that all share."""
    scale = 0.0 if random is None else random.standard_normal() * 0.005
    found = []
    for hertz, _ in TONES:
        z = coil.impedance_ohm(hertz)
        own = (0.0, 0.0) if random is None else random.standard_normal(2) * u * abs(z)
        measured = z * (1 + scale) + complex(*own)
        parts = (
            Part("resistor", "resistor", 0.005 * z.real, 0.005 * z.imag),
            Part(f"r{hertz}", "counts", u * abs(z), 0.0),
            Part(f"x{hertz}", "counts", 0.0, u * abs(z)),
        )
        found.append(
            Impedance(hertz, measured.real, measured.imag, parts, Method.THREE_VOLTMETER)
        )
    return found


def figures_of(fit: CoilFit) -> tuple[float, float, float, float]:
    """Give the four figures of a fit."""
    return fit.resistance_ohm, fit.inductance_h, fit.loss, fit.capacitance_f


def test_a_coil_without_errors_is_found_again() -> None:
    """Resistance, inductance, loss and capacitance to many digits."""
    coil = CoilModel(300.0, 0.1, capacitance_f=1.5e-10)
    fit = fit_coil(points_of(coil))

    assert (300.0, 0.1, 0.125, 1.5e-10) == pytest.approx(figures_of(fit), rel=1e-4)
    assert fit.fits
    assert coil.self_resonance_hz == pytest.approx(fit.self_resonance_hz, rel=1e-4)


def test_stated_uncertainties_hold_the_truth() -> None:
    """In seeded runs with errors that all tones share, 95 % intervals hold it as often."""
    random = np.random.default_rng(3)
    coil = CoilModel(300.0, 0.1, capacitance_f=1.5e-10)
    truth = (300.0, 0.1, 0.125, 1.5e-10)
    held, fits = np.zeros(4), 0
    for _ in range(300):
        fit = fit_coil(points_of(coil, random))
        held += [
            abs(value - true) <= 1.96 * u
            for value, true, u in zip(figures_of(fit), truth, fit.u, strict=True)
        ]
        fits += fit.fits

    assert np.all(held / 300 > 0.91)
    assert np.all(held / 300 < 0.985)
    assert fits / 300 > 0.96


def test_the_dc_resistance_helps() -> None:
    """With the ohms known, the resistance of the fit is better known, and not another."""
    points = points_of(SOUND, np.random.default_rng(1))
    alone, helped = fit_coil(points), fit_coil(points, (300.0, 1.0))

    assert helped.u[0] < alone.u[0]
    assert 300.0 == pytest.approx(helped.resistance_ohm, abs=3.0)


def test_no_capacitance_is_said_to_be_none_that_shows() -> None:
    """A coil without one: held at zero, with the limit that was seen."""
    fit = fit_coil(points_of(SOUND, np.random.default_rng(2)))

    assert 0.0 == fit.capacitance_f
    assert None is fit.self_resonance_hz
    assert "it is below about" in fit.notes[0]


def test_shorted_turns_do_not_fit() -> None:
    """Residuals beyond what the uncertainties allow for are told."""
    fit = fit_coil(points_of(SOUND.with_shorted(0.03)))

    assert not fit.fits
    assert "shorted turns, or something else" in fit.notes[-1]


def test_near_its_resonance_an_inductance_is_too_high() -> None:
    """Above half of the resonance the reader is told."""
    fit = fit_coil(points_of(CoilModel(300.0, 0.1, capacitance_f=3e-10)))

    assert "resonates with its own capacitance" in fit.notes[-1]


def test_too_few_tones() -> None:
    """Four figures want three tones."""
    with pytest.raises(ImpedanceError, match="3 frequencies or more"):
        fit_coil(points_of(SOUND)[:2])


def test_a_falling_reactance() -> None:
    """Past the resonance, or with a board across, X falls: refused."""
    points = points_of(SOUND)
    with pytest.raises(ImpedanceError, match="still connected"):
        check_inductive([points[0], *points[2:], _with_x(points[4], 25e3, 100.0)])


def _with_x(point: Impedance, hertz: float, x: float) -> Impedance:
    return Impedance(hertz, point.r_ohm, x, point.parts, point.method)


def test_a_file_of_several_tones_is_fitted() -> None:
    """Through the whole way from a file, the coil comes back within its uncertainty."""
    text = HEADER + "".join(
        volts_csv({"1": SOUND}, hertz=hertz, ohm=ohm, volt=0.2) for hertz, ohm in TONES[:4]
    )
    fit = one_head(text).coils["1"].fit

    assert fit is not None
    assert 0.1 == pytest.approx(fit.inductance_h, abs=3 * fit.u[1])
    assert 300.0 == pytest.approx(fit.resistance_ohm, abs=3 * fit.u[0])
