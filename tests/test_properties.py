"""What must hold for any input at all, each in one sentence."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import random

import numpy as np
import pytest
from helpers import judged, one_coil
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from strategies import (
    bands,
    confidences,
    huge_u,
    limits,
    meters,
    relative_u,
    resistances,
    shown_readings,
)

from coilmeter.compute.matching import Deviations, Shared, deviations, match_zones
from coilmeter.compute.verdict import UNDECIDED, zones_above, zones_below, zones_of_value
from coilmeter.units import ohms
from coilmeter.values import Condition, HeadResult

TRUNCATION_IS_SMALL = 0.4
slow = hypothesis_settings(deadline=None, max_examples=60)


def zone_of(y: float, ends: list[float]) -> int:
    """Give the zone that holds a value."""
    return int(np.searchsorted(ends, y))


def said(head: HeadResult) -> dict[str, object]:
    """Give everything that is said of a head, by name of coil and path."""
    return {coil.coil: coil for coil in head.coils} | {
        f"{path.start}-{path.end}": path for path in head.isolation
    }


@given(resistances, huge_u, limits())
def test_probabilities_sum_to_one(y: float, relative: float, ends: list[float]) -> None:
    """The zones share all there is, and none has less than nothing."""
    zoned = zones_of_value(ohms(y), ohms(y * relative), ohms(ends))

    assert 1.0 == pytest.approx(float(zoned.probability.sum()), abs=1e-12)
    assert float(zoned.probability.min()) >= 0.0


@given(resistances, huge_u, st.floats(1.0, 1e4), limits(), confidences)
def test_knowing_less_never_decides_more(
    y: float, relative: float, wider: float, ends: list[float], confidence: float
) -> None:
    """A wider u decides nothing else, and never raises the probability of its zone.

    The latter while u stays below 0.4 of the value: beyond, truncation at zero, which the
    zones owe to a resistance, moves what would be negative into all zones alike.
    """
    narrow = zones_of_value(ohms(y), ohms(y * relative), ohms(ends), confidence)
    wide = zones_of_value(ohms(y), ohms(y * relative * wider), ohms(ends), confidence)
    zone = zone_of(y, ends)

    if int(wide.decided) != UNDECIDED:
        assert int(narrow.decided) == int(wide.decided)
    if relative * wider <= TRUNCATION_IS_SMALL:
        assert float(wide.probability[zone]) <= float(narrow.probability[zone]) + 1e-12


@given(resistances, relative_u, limits(), st.floats(0.51, 0.99), st.floats(1.0, 2.0))
def test_a_higher_confidence_never_decides_more(
    y: float, relative: float, ends: list[float], low: float, factor: float
) -> None:
    """What is decided at a confidence is decided alike at a lower one."""
    high = min(1 - (1 - low) / factor, 0.9999)
    strict = zones_of_value(ohms(y), ohms(y * relative), ohms(ends), high)
    lax = zones_of_value(ohms(y), ohms(y * relative), ohms(ends), low)

    assert int(strict.decided) in {UNDECIDED, int(lax.decided)}


@given(resistances, st.floats(1.0, 100.0), limits())
def test_a_tighter_bound_never_undecides(b: float, factor: float, ends: list[float]) -> None:
    """A higher lower bound, or a lower upper bound, leaves no zone that was ruled out."""
    scale = ohms(ends)
    loose_above, tight_above = zones_above(ohms(b), scale), zones_above(ohms(b * factor), scale)
    loose_below, tight_below = zones_below(ohms(b * factor), scale), zones_below(ohms(b), scale)

    for loose, tight in ((loose_above, tight_above), (loose_below, tight_below)):
        assert not np.any(tight.possible & ~loose.possible)
        assert np.any(tight.possible)
        assert int(loose.decided) in {UNDECIDED, int(tight.decided)}


@given(resistances, resistances, limits())
def test_a_bound_never_rules_out_the_truth(truth: float, b: float, ends: list[float]) -> None:
    """The zone of a resistance beyond the bound stays possible."""
    zoned = (zones_above if truth > b else zones_below)(ohms(b), ohms(ends))

    assert bool(zoned.possible[zone_of(truth, ends)]) or truth == b


@given(
    st.lists(st.tuples(resistances, relative_u), min_size=1, max_size=8), limits(), confidences
)
def test_arrays_agree_with_single_values(
    values: list[tuple[float, float]], ends: list[float], confidence: float
) -> None:
    """Judging many at once gives exactly what judging each gives."""
    y, u = np.array(values).T
    many = zones_of_value(ohms(y), ohms(y * u), ohms(ends), confidence)
    each = [zones_of_value(ohms(a), ohms(a * b), ohms(ends), confidence) for a, b in values]

    assert [one.probability.tolist() for one in each] == many.probability.T.tolist()
    assert [int(one.decided) for one in each] == many.decided.tolist()
    for judge in (zones_above, zones_below):
        together = judge(ohms(y), ohms(ends))

        assert [int(judge(ohms(a), ohms(ends)).decided) for a, _ in values] == (
            together.decided.tolist()
        )


@given(shown_readings(), bands, meters)
@slow
def test_the_unit_never_changes_a_verdict(reading: str, band: str, meter: str) -> None:
    """Ohm, kilo-ohm, mega-ohm, point or comma: the same digits, the same verdict."""
    number = float(reading)
    decimals = len(reading.partition(".")[2])
    texts = [
        f"{reading} ohm",
        f"{number / 1e3:.{decimals + 3}f} kohm",
        f"{number / 1e6:.{decimals + 6}f} Mohm",
        f'"{reading.replace(".", ",")}"',
        f'"{number / 1e3:.{decimals + 3}f} k"'.replace(".", ","),
    ]
    plain = one_coil(reading, band=band, meter=meter)
    others = [one_coil(text, band=band, meter=meter) for text in texts]

    assert [plain.verdict] * len(texts) == [coil.verdict for coil in others]
    assert [plain.next] * len(texts) == [coil.next for coil in others]
    for coil in others:
        assert plain.u_ohm == pytest.approx(coil.u_ohm, rel=1e-9)


@given(st.lists(shown_readings(), min_size=4, max_size=4), st.randoms(use_true_random=False))
@slow
def test_the_order_of_rows_never_changes_a_verdict(
    readings: list[str], chance: random.Random
) -> None:
    """Rows shuffled, nulls and isolation among them: the same is said of everything."""
    lines = [f"{n},{reading}," for n, reading in enumerate(readings, 1)]
    lines += [",0.2,lead-null", "1-2,OL 40 Mohm,coil-to-coil", "3,0.5 Mohm,coil-to-case"]
    shuffled = chance.sample(lines, len(lines))
    heads = [
        judged("coil,reading,purpose\n" + "\n".join(order), kind="four-channel-rp", band="any")[
            0
        ]
        for order in (lines, shuffled)
    ]

    assert said(heads[0]) == said(heads[1])
    assert heads[0].grade == heads[1].grade


@given(st.lists(shown_readings(), min_size=2, max_size=8))
@slow
def test_a_head_is_judged_alike_alone_and_among_others(readings: list[str]) -> None:
    """A hundred thousand heads at once say of each what it says alone."""
    lines = [f"H{n},1,{reading}" for n, reading in enumerate(readings)]
    lines += [f"H{n},2,171.0" for n in range(len(readings))]
    together = judged("head,coil,reading\n" + "\n".join(lines))
    alone = [
        judged("head,coil,reading\n" + "\n".join(lines[n :: len(readings)]))[0]
        for n in range(len(readings))
    ]

    assert alone == together


@given(st.integers(2, 8), st.floats(1.0, 1e4), st.integers(0, 2**32 - 1))
def test_scaling_siblings_changes_nothing(n: int, factor: float, seed: int) -> None:
    """A deviation is a ratio: all resistances times a number give the same match."""
    source = np.random.default_rng(seed)
    r = source.uniform(50.0, 500.0, n)
    u = source.uniform(0.1, 5.0, n)
    group = source.integers(0, 3, n)
    found = [
        deviations(ohms(k * r), ohms(k * u), [Shared(ohms(k * 0.01 * r), group)])
        for k in (1.0, factor)
    ]

    assert found[0].deviation.tolist() == pytest.approx(found[1].deviation.tolist(), abs=1e-12)
    assert found[0].u.tolist() == pytest.approx(found[1].u.tolist(), rel=1e-9, abs=1e-12)


@given(st.integers(2, 8), st.integers(0, 2**32 - 1))
def test_the_order_of_siblings_changes_nothing(n: int, seed: int) -> None:
    """Siblings in another order: the same deviation of each."""
    source = np.random.default_rng(seed)
    r, u = source.uniform(50.0, 500.0, n), source.uniform(0.1, 5.0, n)
    order = source.permutation(n)
    plain = deviations(ohms(r), ohms(u), [])
    mixed = deviations(ohms(r[order]), ohms(u[order]), [])

    assert plain.deviation[order].tolist() == pytest.approx(mixed.deviation.tolist(), abs=1e-12)
    assert plain.u[order].tolist() == pytest.approx(mixed.u.tolist(), rel=1e-9)


@given(st.floats(-0.9, 5.0), st.floats(1e-6, 1.0), st.floats(1.0, 100.0))
def test_knowing_less_never_matches_more(size: float, u: float, wider: float) -> None:
    """A deviation known less well is put into the same class or into none."""
    sharp, blunt = (
        int(match_zones(Deviations(np.array([size]), np.array([width])), 0.05, 0.15)[0])
        for width in (u, u * wider)
    )

    assert blunt in {UNDECIDED, sharp}


@given(shown_readings(), bands)
@slow
def test_a_verdict_is_never_more_than_its_evidence(reading: str, band: str) -> None:
    """A decided verdict has a probability of at least the confidence, an undecided one less."""
    coil = one_coil(reading, band=band)
    decided = coil.verdict not in {Condition.UNDECIDED, Condition.UNSTABLE}

    assert decided == ((coil.probability or 0.0) >= 0.95)
    assert decided == (not coil.between)
    assert decided == (not coil.next)
