"""Independent second opinions: linear propagation by another library, and a Monte Carlo run.

The library `uncertainties` follows each cause as one variable: what two results share is one
object in both.  It knows nothing of this project's formulas.
"""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from helpers import judged, one_head
from uncertainties import ufloat  # type: ignore[import-untyped] # ships no types

from coilmeter.compute.budget import PARTS, Circumstances, budget
from coilmeter.compute.matching import Shared, deviations
from coilmeter.units import in_ohm, ohms
from coilmeter.values import Condition, HeadResult

ALPHA = 0.00393  # 1/K, annealed copper at 20 degC (IEC 60028:1925)
SQRT3 = math.sqrt(3.0)
SQRT12 = math.sqrt(12.0)
Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Bench:
    """How the coils of one head were read: one meter, one null, one sitting."""

    fraction: float
    floor: float
    lead: float
    u_lead: float
    degc: float
    u_k: float

    @classmethod
    def drawn(cls, source: np.random.Generator) -> Bench:
        """Draw circumstances as they occur on a bench."""
        return cls(
            fraction=source.uniform(1e-4, 0.02),
            floor=source.uniform(0.01, 1.0),
            lead=source.uniform(0.0, 0.5),
            u_lead=source.uniform(0.01, 0.3),
            degc=source.uniform(5.0, 45.0),
            u_k=source.uniform(0.1, 4.0),
        )

    def circumstances(self, count: int, scatter: float, rounding: float) -> Circumstances:
        """Say the same to the project."""
        return Circumstances(
            fraction=self.fraction,
            floor=ohms(self.floor),
            rounding=ohms(rounding),
            leads=ohms(self.lead),
            u_leads=ohms(self.u_lead),
            temperature_degc=self.degc,
            u_temperature_k=self.u_k,
            scatter=ohms(scatter),
            count=count,
        )

    def causes(self) -> tuple[Any, Any, Any]:
        """Make the variables that all coils of the head share: gain, leads, temperature."""
        return (
            ufloat(1.0, self.fraction / SQRT3),
            ufloat(self.lead, self.u_lead),
            ufloat(self.degc, self.u_k),
        )


def at_20(read: float, own: float, causes: tuple[Any, Any, Any]) -> Any:
    """Correct one reading, by the other library: `own` is what it does not share."""
    gain, lead, degc = causes
    return (read * gain + ufloat(0.0, own) - lead) / (1 + ALPHA * (degc - 20))


def relative_to_median(values: list[Any]) -> list[Any]:
    """Deviation of each value from the median, the median picked by hand."""
    ranked = sorted(values, key=lambda value: float(value.nominal_value))
    middle = len(ranked) // 2
    median = ranked[middle] if len(ranked) % 2 else (ranked[middle - 1] + ranked[middle]) / 2
    return [value / median - 1 for value in values]


@pytest.mark.parametrize("seed", range(40))
def test_budget_against_linear_propagation(seed: int) -> None:
    """Best estimate, each part and the whole, all causes as separate variables."""
    source = np.random.default_rng(seed)
    bench, read = Bench.drawn(source), float(10 ** source.uniform(-0.5, 5.0))
    count, scatter = int(source.integers(1, 20)), source.uniform(0.01, 2.0)
    rounding = source.uniform(0.01, 1.0)
    gain, lead, degc = bench.causes()
    floor = ufloat(0.0, bench.floor / SQRT3)
    digits = ufloat(0.0, rounding / SQRT12)
    noise = ufloat(0.0, scatter / math.sqrt(count))
    expected = (read * gain + floor + digits + noise - lead) / (1 + ALPHA * (degc - 20))
    found = budget(ohms(read), bench.circumstances(count, scatter, rounding))
    components = expected.error_components()
    causes = dict(zip(PARTS, (gain, floor, digits, lead, noise, degc), strict=True))

    assert expected.nominal_value == pytest.approx(float(in_ohm(found.resistance_20c)))
    assert expected.std_dev == pytest.approx(float(in_ohm(found.u)), rel=1e-9)
    for name, cause in causes.items():
        assert components[cause] == pytest.approx(float(in_ohm(found.parts[name])), rel=1e-9)


@pytest.mark.parametrize("seed", range(40))
def test_matching_against_linear_propagation(seed: int) -> None:
    """Two to eight siblings; gain, null and temperature are one variable for all of them."""
    source = np.random.default_rng(1000 + seed)
    bench, n = Bench.drawn(source), 2 + seed % 7
    read = source.uniform(5.0, 400.0) * source.uniform(0.8, 1.2, n)
    causes = bench.causes()
    coils = [at_20(float(value), bench.floor / SQRT3, causes) for value in read]
    expected = relative_to_median(coils)
    found = budget(ohms(read), bench.circumstances(1, 0.0, 0.0))
    same = np.zeros(n, int)
    shared = [
        Shared(ohms(np.broadcast_to(in_ohm(found.parts[name]), n)), same)
        for name in ("gain", "leads", "temperature")
    ]
    own = ohms(np.full(n, in_ohm(found.parts["floor"])))
    compared = deviations(found.resistance_20c, own, shared)

    assert [value.nominal_value for value in expected] == pytest.approx(
        compared.deviation.tolist(), abs=1e-12
    )
    spread = [value.std_dev for value in expected]
    if n % 2:
        # The middle one cancels against itself to first order; what is its own must stay.
        middle = int(np.argsort(read)[n // 2])
        spread[middle] = float(in_ohm(own)[middle]) / coils[middle].nominal_value
    assert spread == pytest.approx(compared.u.tolist(), rel=1e-6, abs=1e-12)


def test_the_judge_against_linear_propagation() -> None:
    """From the text of a file to deviation and uncertainty, against the same by hand.

    Stated: 0.8 % + 5 counts of 0.1 ohm, leads 0.2 +/- 0.1 ohm, 27 +/- 2 degC.
    """
    read = [212.4, 215.0, 190.3, 208.8]
    head = one_head(
        "coil,reading\n" + "".join(f"{n},{value}\n" for n, value in enumerate(read, 1)),
        kind="four-channel-rp",
        meter="handheld-4000",
        lead="0.2 +/- 0.1 ohm",
        temperature="27 +/- 2",
    )
    bench = Bench(0.008, 0.5, 0.2, 0.1 / SQRT3, 27.0, 2 / SQRT3)
    causes = bench.causes()
    coils = [at_20(value, bench.floor / SQRT3, causes) for value in read]
    expected = relative_to_median(coils)

    assert [value.nominal_value for value in coils] == pytest.approx(
        [coil.resistance_20c_ohm for coil in head.coils]
    )
    assert [value.std_dev for value in coils] == pytest.approx(
        [coil.u_ohm for coil in head.coils]
    )
    assert [value.nominal_value for value in expected] == pytest.approx(
        [coil.deviation for coil in head.coils]
    )
    assert [value.std_dev for value in expected] == pytest.approx(
        [coil.u_deviation for coil in head.coils], rel=1e-6
    )


def test_one_hard_number_of_matching() -> None:
    """Two coils of 100 and 104 ohm, each with counts of 0.5 ohm and a shared null of 0.3 ohm.

    d = r1/m - 1 with m = 102: 100/102 - 1 = -0.0196078.  With S = r1 + r2 = 204, d = (r1-r2)/S,
    so the slopes are 2 r2/S^2 = 208/41616 = 0.00499808 and -2 r1/S^2 = -0.00480584.
    own:    0.5/sqrt3 x sqrt(0.00499808^2 + 0.00480584^2) = 0.288675 x 0.00693375 = 0.00200160
    shared: 0.3 x (0.00499808 - 0.00480584) = 0.3 x 0.00019224 = 0.00005767
    together sqrt(0.00200160^2 + 0.00005767^2) = 0.00200243
    """
    own, lead = ohms(np.full(2, 0.5 / SQRT3)), ohms(np.full(2, 0.3))
    found = deviations(ohms(np.array([100.0, 104.0])), own, [Shared(lead, np.zeros(2, int))])

    assert -0.0196078 == pytest.approx(float(found.deviation[0]), abs=5e-8)
    assert 0.00200243 == pytest.approx(float(found.u[0]), abs=5e-9)


# Monte Carlo of the whole chain --------------------------------------------------------------

HEADS = 3000
COILS = 4
FRACTION, FLOOR = 0.008, 0.5  # what the hand-held of 4000 counts states on its 400 ohm range
CONFIDENCE = 0.95
ABOUT_THE_LIMIT, SOUND = (80.0, 120.0), (150.0, 200.0)


@functools.cache
def simulated(low: float, high: float) -> tuple[Floats, list[HeadResult]]:
    """Make true coils between two resistances, read them, and judge what was read.

    Each head has one meter (its gain error rectangular within the stated fraction), one null
    and one sitting; the counts of each reading are an error of its own.
    """
    source = np.random.default_rng(20261125)
    true = source.uniform(low, high, (HEADS, COILS))
    gain = 1 + source.uniform(-FRACTION, FRACTION, (HEADS, 1))
    leads = source.uniform(0.1, 0.4, (HEADS, 1))
    warmth = 1 + ALPHA * (source.uniform(21.0, 25.0, (HEADS, 1)) - 20)
    counts = source.uniform(-FLOOR, FLOOR, (HEADS, COILS))
    null = leads + source.uniform(-FLOOR, FLOOR, (HEADS, 1))
    read = (true * warmth + leads) * gain + counts
    lines = ["head,coil,reading,purpose"]
    for number in range(HEADS):
        lines.append(f"H{number},,{null[number, 0]:.1f},lead-null")
        lines += [f"H{number},{coil + 1},{read[number, coil]:.1f}," for coil in range(COILS)]
    heads = judged(
        "\n".join(lines),
        kind="four-channel-rp",
        meter="handheld-4000",
        temperature="23 +/- 2",
        confidence=CONFIDENCE,
    )
    return true, heads


def columns(heads: list[HeadResult], name: str) -> Floats:
    """Gather one figure of all coils, a row a head."""
    return np.array([[getattr(coil, name) for coil in head.coils] for head in heads], float)


@pytest.mark.parametrize("ends", [ABOUT_THE_LIMIT, SOUND])
def test_spread_of_the_estimates(ends: tuple[float, float]) -> None:
    """What is stated as u is the spread of the error, within a few per cent."""
    true, heads = simulated(*ends)
    error = columns(heads, "resistance_20c_ohm") - true
    pulls = error / columns(heads, "u_ohm")

    assert 1.0 == pytest.approx(float(np.std(pulls)), abs=0.04)
    assert 0.0 == pytest.approx(float(np.mean(pulls)), abs=0.06)


def test_spread_of_the_deviations() -> None:
    """What is stated as u of a deviation is its spread: the shared errors did cancel.

    Had they been taken for each coil's own, the spread would be a fraction of what is stated.
    """
    true, heads = simulated(*SOUND)
    expected = true / np.median(true, axis=1, keepdims=True) - 1
    pulls = (columns(heads, "deviation") - expected) / columns(heads, "u_deviation")

    assert 1.0 == pytest.approx(float(np.std(pulls)), abs=0.06)


def test_verdicts_are_as_good_as_they_say() -> None:
    """Of the coils called intact, and of those called low, at most one in twenty is not."""
    true, heads = simulated(*ABOUT_THE_LIMIT)
    verdicts = np.array([[coil.verdict for coil in head.coils] for head in heads])
    for verdict, wrong in ((Condition.INTACT, true < 100.0), (Condition.LOW, true > 100.0)):
        called = verdicts == verdict
        share = float(np.mean(wrong[called]))
        allowance = 3 * math.sqrt(CONFIDENCE * (1 - CONFIDENCE) / int(called.sum()))

        assert int(called.sum()) > 4000
        assert share <= 1 - CONFIDENCE + allowance


def test_stated_probabilities_are_calibrated() -> None:
    """Of the coils given an intact probability near one half, about half are intact.

    True coils are spread evenly about the limit, so no other expectation enters.
    """
    true, heads = simulated(*ABOUT_THE_LIMIT)
    stated = np.array([[coil.zones[2] for coil in head.coils] for head in heads], float)
    for low, high in ((0.1, 0.3), (0.3, 0.5), (0.5, 0.7), (0.7, 0.9)):
        chosen = (stated >= low) & (stated < high)
        found = float(np.mean(true[chosen] >= 100.0))

        assert float(np.mean(stated[chosen])) == pytest.approx(
            found, abs=4 * 0.5 / math.sqrt(int(chosen.sum()))
        )
