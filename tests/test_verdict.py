"""Zones, their probabilities, and the rule that turns them into a verdict."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np
import pytest
from helpers import one_coil, one_head, one_path

from coilmeter.compute.verdict import (
    UNDECIDED,
    interval_probability,
    zones_above,
    zones_below,
    zones_of_value,
)
from coilmeter.units import ohms
from coilmeter.values import Condition, EvidenceKind, Isolation

CASSETTE = ohms([20.0, 100.0, 500.0, 10e3])
SHARP = {"meter": "handheld-4000", "lead": "four-wire", "temperature": "20 +/- 0.1"}


@pytest.mark.parametrize(
    ("y", "u", "zone"),
    [
        (5.0, 1.0, 0),
        (60.0, 3.0, 1),
        (171.0, 2.0, 2),
        (2000.0, 20.0, 3),
        (20e3, 200.0, 4),
        (100.0, 2.0, UNDECIDED),
        (500.0, 0.001, UNDECIDED),
        (0.0, 0.3, 0),
    ],
)
def test_zone_of_a_value(y: float, u: float, zone: int) -> None:
    """A value well inside a zone decides it; one on a limit decides nothing, however sharp."""
    zoned = zones_of_value(ohms(y), ohms(u), CASSETTE)

    assert zone == int(zoned.decided)
    assert 1.0 == pytest.approx(float(zoned.probability.sum()), abs=1e-12)


def test_on_a_limit_it_is_even() -> None:
    """A value exactly on a limit has half its probability on either side."""
    zoned = zones_of_value(ohms(100.0), ohms(2.0), CASSETTE)

    assert [0.5, 0.5] == pytest.approx(zoned.probability[1:3].tolist(), abs=1e-12)
    assert [False, True, True, False, False] == zoned.possible.tolist()


def test_truncated_at_zero() -> None:
    """A resistance cannot be negative: what the normal puts below zero is taken off.

    y = 0.1, u = 0.2, limit 0.3: (Phi(1) - Phi(-0.5)) / (1 - Phi(-0.5))
    = (0.841345 - 0.308538) / 0.691462 = 0.770551.
    """
    zoned = zones_of_value(ohms(0.1), ohms(0.2), ohms([0.3]))

    assert 0.770551 == pytest.approx(float(zoned.probability[0]), abs=5e-7)


def test_the_rule_takes_the_confidence_itself() -> None:
    """A zone is the verdict from the confidence on, that value included."""
    y = 100.0 + 2.0 * NormalDist().inv_cdf(0.97)
    exact = float(zones_of_value(ohms(y), ohms(2.0), ohms([100.0])).probability[1])

    assert 1 == int(zones_of_value(ohms(y), ohms(2.0), ohms([100.0]), exact).decided)
    above = math.nextafter(exact, 1.0)
    assert UNDECIDED == int(zones_of_value(ohms(y), ohms(2.0), ohms([100.0]), above).decided)


@pytest.mark.parametrize("u", [0.0, -1.0, math.nan])
def test_no_meter_is_without_error(u: float) -> None:
    """A standard uncertainty of zero, below zero or not a number is refused."""
    with pytest.raises(ValueError, match="above zero"):
        zones_of_value(ohms(5.0), ohms(u), CASSETTE)


@pytest.mark.parametrize("u", [1e3, 1e5, 1e7, 1e9])
def test_knowing_nothing_decides_nothing(u: float) -> None:
    """However uncertain a reading of 200 ohm is, it does not become an open coil."""
    zoned = zones_of_value(ohms(200.0), ohms(u), CASSETTE)

    assert UNDECIDED == int(zoned.decided)


@pytest.mark.parametrize("z", [-30.0, -8.0, -1.5, 0.0, 0.3, 2.0, 6.0])
def test_interval_against_the_standard_library(z: float) -> None:
    """The normal distribution of the standard library as a second opinion."""
    found = interval_probability(np.array([-math.inf, z]), np.array([z, z + 1]))
    normal = NormalDist()

    assert normal.cdf(z) == pytest.approx(float(found[0]), abs=1e-15)
    assert normal.cdf(z + 1) - normal.cdf(z) == pytest.approx(float(found[1]), abs=1e-15)


def test_small_probabilities_keep_their_digits() -> None:
    """Far out, on either side, the same small number and not zero."""
    upper = interval_probability(np.array(10.0), np.array(11.0))
    lower = interval_probability(np.array(-11.0), np.array(-10.0))

    assert float(lower) == float(upper)
    assert 7.619853e-24 == pytest.approx(float(upper), rel=1e-6)


@pytest.mark.parametrize(
    ("bound", "possible", "decided"),
    [
        (10.0, [1, 1, 1, 1, 1], UNDECIDED),
        (20.0, [0, 1, 1, 1, 1], UNDECIDED),
        (400.0, [0, 0, 1, 1, 1], UNDECIDED),
        (500.0, [0, 0, 0, 1, 1], UNDECIDED),
        (10e3, [0, 0, 0, 0, 1], 4),
        (4e7, [0, 0, 0, 0, 1], 4),
    ],
)
def test_lower_bounds(bound: float, possible: list[int], decided: int) -> None:
    """Only zones that reach past the bound remain; one alone is the verdict."""
    zoned = zones_above(ohms(bound), CASSETTE)

    assert possible == zoned.possible.astype(int).tolist()
    assert decided == int(zoned.decided)


@pytest.mark.parametrize(
    ("bound", "possible", "decided"),
    [
        (10.0, [1, 0, 0, 0, 0], 0),
        (20.0, [1, 0, 0, 0, 0], 0),
        (50.0, [1, 1, 0, 0, 0], UNDECIDED),
        (200.0, [1, 1, 1, 0, 0], UNDECIDED),
    ],
)
def test_upper_bounds(bound: float, possible: list[int], decided: int) -> None:
    """Only zones that begin below the bound remain."""
    zoned = zones_below(ohms(bound), CASSETTE)

    assert possible == zoned.possible.astype(int).tolist()
    assert decided == int(zoned.decided)
    assert [math.isnan(p) for p in zoned.probability] == [
        decided == UNDECIDED and bool(may) for may in possible
    ]


def test_a_sound_coil_of_171_ohm() -> None:
    """A record/playback coil of about 171 ohm is intact (common practice, no source)."""
    for meter in ("unstated", "handheld-2000", "handheld-4000", "handheld-6000"):
        coil = one_coil("171.0", band="rp-cassette", meter=meter)

        assert Condition.INTACT == coil.verdict
        assert (coil.probability or 0.0) > 0.9999


def test_overload_on_a_high_range_is_open() -> None:
    """OL on a 40 Mohm range is open (common practice, no source)."""
    coil = one_coil("OL 40 Mohm", band="rp-cassette", meter="handheld-4000")

    assert (Condition.OPEN, 1.0) == (coil.verdict, coil.probability)
    assert (EvidenceKind.ABOVE, 4e7) == (coil.evidence, coil.bound_ohm)


@pytest.mark.parametrize("meter", ["unstated", "handheld-4000", "bench-6-digit"])
@pytest.mark.parametrize("reading", ["OL 400 ohm", "OL"])
def test_overload_on_a_low_range_is_never_open(reading: str, meter: str) -> None:
    """OL on a 400 ohm range, or on one nobody named, leaves intact possible."""
    coil = one_coil(reading, band="rp-cassette", meter=meter)

    assert Condition.UNDECIDED == coil.verdict
    assert {Condition.INTACT, Condition.OPEN} <= set(coil.between)
    assert "range" in coil.next
    assert coil.probability is None


def test_overload_of_an_unnamed_meter_never_opens_an_erase_coil() -> None:
    """OL on no named range of no named meter says less than 200 ohm.

    Bench meters have ranges of 100 ohm and of 10 ohm (reference_data/meters.toml, J8, J9), and
    an older erase coil of 25 ohm is sound (reported by repairers).
    """
    coil = one_coil("OL", band="erase")

    assert Condition.UNDECIDED == coil.verdict


def test_erase_coil_of_5_ohm() -> None:
    """An erase coil reads under about 10 ohm (common practice, no source)."""
    for reading in ("5.0", "10.5"):  # 10.5 ohm: P1 in PROVENANCE.md
        coil = one_coil(reading, band="erase", meter="handheld-4000", lead="nulled")

        assert Condition.INTACT == coil.verdict


def test_a_beeper_cannot_clear_a_coil_of_171_ohm() -> None:
    """Beep at 50 ohm leaves a 171 ohm coil silent (common practice, no source).

    So silence means "not shorted" and no more, and the next thing to read is plain ohms.
    """
    silent = one_coil("silent", band="rp-cassette", meter="handheld-4000")
    beep = one_coil("beep", band="rp-cassette", meter="handheld-4000")

    assert Condition.UNDECIDED == silent.verdict
    assert Condition.SHORTED not in silent.between
    assert {Condition.INTACT, Condition.OPEN} <= set(silent.between)
    assert "plain ohms" in silent.next
    assert (Condition.SHORTED, Condition.LOW) == beep.between
    assert "plain ohms" in beep.next


@pytest.mark.parametrize(
    ("reading", "verdict", "left"),
    [
        # >= 10 Mohm good, 1 to 10 clean and repeat, < 1 leaking, < 10 ohm bridged
        # (common practice, no source)
        ("OL 40 Mohm", Isolation.ISOLATED, ()),
        ("OL 20 Mohm", Isolation.ISOLATED, ()),
        ("OL 10 Mohm", Isolation.ISOLATED, ()),
        ("OL 4 Mohm", Isolation.UNDECIDED, ("doubtful", "isolated")),
        ("OL 400 ohm", Isolation.UNDECIDED, ("leaking", "doubtful", "isolated")),
        ("30 Mohm", Isolation.ISOLATED, ()),
        ("4.0 Mohm", Isolation.UNDECIDED, ("doubtful",)),
        ("0.5 Mohm", Isolation.LEAKING, ()),
        ("200 kohm", Isolation.LEAKING, ()),
        ("0.5", Isolation.BRIDGED, ()),
        ("10.0", Isolation.UNDECIDED, ("bridged", "leaking")),
        ("beep", Isolation.UNDECIDED, ("bridged", "leaking")),
        ("beep 10 ohm", Isolation.BRIDGED, ()),
        ("silent", Isolation.UNDECIDED, ("leaking", "doubtful", "isolated")),
    ],
)
def test_isolation(reading: str, verdict: Isolation, left: tuple[str, ...]) -> None:
    """A path that should not conduct, judged by the same rule on its own scale."""
    path = one_path(reading, meter="handheld-4000")

    assert verdict == path.verdict
    assert left == path.between
    assert bool(path.next) == (verdict is Isolation.UNDECIDED)


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        ("10.0", "on a range that just holds it"),
        ("1.00 Mohm", "on a range that just holds it"),
        ("10.0 Mohm", "clean and dry it, and read it again on the highest range"),
        ("4.0 Mohm", "clean and dry it, and read it again"),
        ("OL 400 ohm", "on a range of at least 10 Mohm"),
        ("silent", "plain ohms on the highest range"),
    ],
)
def test_next_measurement_of_a_path(reading: str, words: str) -> None:
    """An undecided path names the measurement that would decide it."""
    assert words in one_path(reading, meter="handheld-4000").next


def test_faulty_paths() -> None:
    """A path that conducts for certain is a fault even where how much is undecided."""
    readings = ("10.0", "4 Mohm", "0.5", "beep", "beep 50 ohm")
    found = {reading: one_path(reading).faulty for reading in readings}

    assert {"10.0": True, "4 Mohm": False, "0.5": True} == {r: found[r] for r in readings[:3]}
    assert (False, True) == (found["beep"], found["beep 50 ohm"])  # whose threshold?


@pytest.mark.parametrize(
    ("reading", "changes", "words"),
    [
        ("100.0000", SHARP | {"meter": "bench-6-digit"}, "known good head"),
        ("99.2", SHARP, "more accurate meter"),
        ("98.0", {"meter": "handheld-4000", "lead": "nulled"}, "temperature"),
        ("11.6", SHARP | {"band": "erase"}, "finer steps"),
        (
            "0.70000",
            {"band": "erase", "meter": "bench-6-digit", "lead": "0.5 +/- 0.2 ohm"},
            "null",
        ),
        ("1", {"band": "erase", "meter": "bench-6-digit", "lead": "nulled"}, "every digit"),
        ("OL", {}, "on which range it read OL"),
        ("OL 400 ohm", {}, "range of at least 10 kohm"),
        ("beep", {}, "plain ohms"),
    ],
)
def test_next_measurement(reading: str, changes: dict[str, str], words: str) -> None:
    """An undecided verdict names the measurement that would decide it."""
    coil = one_coil(reading, **({"band": "rp-cassette"} | changes))

    assert Condition.UNDECIDED == coil.verdict
    assert words in coil.next


def test_next_measurement_hopes_for_the_confidence_asked_for() -> None:
    """What is advised would decide at the user's own confidence, not at another.

    At 99.2 ohm a meter of no gain error would bring u to 0.30 ohm, 2.6 of them below the limit:
    enough for 0.95 and not for 0.999999, where nothing of the kind would decide.
    """
    usual = one_coil("99.2", band="rp-cassette", **SHARP)
    strict = one_coil("99.2", band="rp-cassette", confidence=0.999999, **SHARP)

    assert "more accurate meter" in usual.next
    assert ";" not in usual.next
    assert usual.next != strict.next


def test_unstable_scatter() -> None:
    """Readings that scatter more than a still joint does are unstable, whatever their mean."""
    text = "coil,reading,count,scatter\n1,171.0,{},{}\n"
    found = {
        (count, scatter): one_head(text.format(count, scatter)).coils[0].verdict
        for count, scatter in ((5, 10), (5, 0.2), (2, 10), (3, 3.5))
    }

    assert {
        (5, 10): Condition.UNSTABLE,
        (5, 0.2): Condition.INTACT,
        (2, 10): Condition.INTACT,
        (3, 3.5): Condition.UNSTABLE,
    } == found
