"""Siblings of one head against each other."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from helpers import STATED, one_head, shipped

from coilmeter.compute.matching import Deviations, Shared, deviations, match_zones
from coilmeter.compute.verdict import UNDECIDED
from coilmeter.units import ohms
from coilmeter.values import Condition, Grade, Match

FOUR = {"kind": "four-channel-rp", "meter": "handheld-4000"}


def four(*readings: str, **changes: str) -> dict[str, tuple[Match, int]]:
    """Judge a four-channel head; give match and number of siblings of each coil."""
    lines = "".join(f"{n},{reading}\n" for n, reading in enumerate(readings, 1))
    head = one_head(f"coil,reading\n{lines}", **(FOUR | STATED | changes))
    return {coil.coil: (coil.match, coil.siblings) for coil in head.coils}


def test_deviation_by_hand() -> None:
    """Three siblings of 100, 110, 130 ohm, each known to 1 ohm, worked by hand.

    The median is 110: deviations 100/110 - 1 = -0.090909, 0 and 130/110 - 1 = 0.181818.
    u of the first: sqrt((1/110)^2 + (100/110^2)^2) = sqrt(8.26446e-5 + 6.8301e-5) = 0.0122860
    u of the middle one, which to first order would cancel against itself: its own, 1/110
    u of the last: sqrt((1/110)^2 + (130/110^2)^2) = sqrt(8.26446e-5 + 1.15429e-4) = 0.0140739
    """
    found = deviations(ohms(np.array([100.0, 110.0, 130.0])), ohms(np.ones(3)), [])

    assert [-0.090909, 0.0, 0.181818] == pytest.approx(found.deviation.tolist(), abs=5e-7)
    assert [0.0122860, 1 / 110, 0.0140739] == pytest.approx(found.u.tolist(), abs=5e-8)


def test_median_of_an_even_number_is_the_mean_of_the_middle_two() -> None:
    """Of 10, 20, 40, 100 the median is 30."""
    found = deviations(ohms(np.array([100.0, 20.0, 10.0, 40.0])), ohms(np.ones(4)), [])

    assert [70 / 30, -10 / 30, -20 / 30, 10 / 30] == pytest.approx(found.deviation.tolist())


def test_the_meters_gain_cancels() -> None:
    """What is proportional and shared does not act on a ratio at all."""
    r = np.array([200.0, 210.0, 150.0, 190.0])
    gain = Shared(ohms(0.01 * r), np.zeros(4, int))
    found = deviations(ohms(r), ohms(np.zeros(4)), [gain])

    assert [0.0] * 4 == pytest.approx(found.u.tolist(), abs=1e-15)


def test_gain_of_two_ranges_does_not_cancel() -> None:
    """A coil read on another range has a gain error of its own."""
    r = np.array([390.0, 410.0])
    gain = Shared(ohms(0.01 * r), np.array([0, 1]))
    found = deviations(ohms(r), ohms(np.zeros(2)), [gain])

    assert 0.01 * 2 * 390 * 410 / 800**2 * 2**0.5 == pytest.approx(float(found.u[0]))


def test_a_lead_offset_cancels_between_equals() -> None:
    """The same offset on equal coils leaves their ratio; on unequal ones it does not."""
    lead = Shared(ohms(np.array([0.1, 0.1])), np.array([0, 0]))
    equal = deviations(ohms(np.array([5.0, 5.0])), ohms(np.zeros(2)), [lead])
    unequal = deviations(ohms(np.array([5.0, 6.0])), ohms(np.zeros(2)), [lead])

    assert 0.0 == pytest.approx(float(equal.u[0]), abs=1e-15)
    assert (float(unequal.u[0]) > 0.0) is True


def test_many_heads_at_once_agree_with_one() -> None:
    """Groups along the first axis give what each gives alone."""
    r = np.array([[100.0, 110.0, 130.0], [5.0, 5.2, 4.9]])
    own = np.array([[1.0, 2.0, 3.0], [0.1, 0.1, 0.2]])
    group = np.array([[0, 0, 1], [0, 1, 2]])
    together = deviations(ohms(r), ohms(own), [Shared(ohms(0.01 * r), group)])

    for n in range(2):
        alone = deviations(ohms(r[n]), ohms(own[n]), [Shared(ohms(0.01 * r[n]), group[n])])

        assert alone.deviation.tolist() == together.deviation[n].tolist()
        assert alone.u.tolist() == pytest.approx(together.u[n].tolist(), rel=1e-14)


@pytest.mark.parametrize(
    ("deviation", "u", "zone"),
    [
        (0.0, 0.0, 0),
        (0.0, 0.01, 0),
        (0.04, 0.001, 0),
        (-0.04, 0.001, 0),
        (0.05, 0.001, UNDECIDED),
        (0.08, 0.01, 1),
        (-0.10, 0.01, 1),
        (0.15, 0.01, UNDECIDED),
        (0.30, 0.01, 2),
        (-0.45, 0.02, 2),
        (0.0, 0.5, UNDECIDED),
        (0.05, 0.0, 1),
        (0.15, 0.0, 2),
    ],
)
def test_match_zones(deviation: float, u: float, zone: int) -> None:
    """The size of the deviation on its own scale, by the same rule of decision."""
    found = match_zones(Deviations(np.array([deviation]), np.array([u])), 0.05, 0.15)

    assert [zone] == found.tolist()


def test_four_sound_siblings() -> None:
    """Coils within two per cent of each other are matched (reported: within 2.1 %)."""
    found = four("171.2", "170.1", "172.9", "169.0")

    assert {str(n): (Match.MATCHED, 4) for n in range(1, 5)} == found


def test_one_coil_off() -> None:
    """51 against three of 75 ohm is a mismatch, here at the level of a cassette head."""
    found = four("171.2", "170.1", "120.0", "169.0")

    assert (Match.MISMATCHED, 4) == found["3"]
    assert {Match.MATCHED} == {found[name][0] for name in ("1", "2", "4")}


def test_a_few_per_cent_are_seen_with_a_meter_of_one_per_cent() -> None:
    """The shared gain, leads and temperature cancel, so 8 % off is decided."""
    found = four("171.0", "171.0", "184.7", "171.0", lead="", temperature="")

    assert (Match.NOTICEABLE, 4) == found["3"]


def test_a_faulty_coil_is_no_measure() -> None:
    """Shorted, open and unread coils take no part in the comparison."""
    found = four("171.2", "5.0", "OL 40 Mohm", "169.0")

    assert {(Match.MATCHED, 2)} == {found["1"], found["4"]}
    assert {(Match.NO_SIBLING, 0)} == {found["2"], found["3"]}


def test_two_siblings_only_differ() -> None:
    """Of two coils alone nobody can say which is wrong (common practice, no source)."""
    head = one_head(
        "coil,reading,purpose\n1,171.0,\n2,120.0,\n1-2,OL 40 Mohm,coil-to-coil\n"
        "1,OL 40 Mohm,coil-to-case\n2,OL 40 Mohm,coil-to-case\n",
        kind="two-channel-rp",
        meter="handheld-4000",
        **STATED,
    )

    assert Grade.UNMATCHED == head.grade
    assert "The siblings differ" in head.grade_reason
    assert any(text.startswith("Two siblings only differ") for text in head.cautions)


def test_roles_are_compared_apart() -> None:
    """An erase coil is no sibling of a record/playback coil in the same body."""
    head = one_head(
        "coil,reading\n1,171.0\n2,172.0\nE,5.2\n", kind="two-channel-rp-erase", **STATED
    )

    assert {"1": (Match.MATCHED, 2), "2": (Match.MATCHED, 2), "E": (Match.NO_SIBLING, 0)} == {
        coil.coil: (coil.match, coil.siblings) for coil in head.coils
    }


def test_an_undecided_coil_still_has_siblings() -> None:
    """A value on a zone limit is compared all the same."""
    head = one_head("coil,reading\n1,100.0\n2,101.0\n", kind="two-channel-rp", **STATED)

    assert Condition.UNDECIDED == head.coils[0].verdict
    assert 2 == head.coils[0].siblings


def test_nulls_of_two_meters_are_not_shared() -> None:
    """Two coils nulled by two meters have two nulls: their counts do not cancel.

    Each null leaves u = 5 x 0.1 / sqrt3 = 0.2887 ohm and each reading as much of its own; with
    separate meters a deviation of equal coils at 5 ohm has u = sqrt(2 x 2 x 0.2887^2) / 2 / 5
    = 0.0577, and more by the two gains; with one shared null it would be 0.0408.
    """
    text = "coil,reading,meter\nE1,5.0,handheld-4000\nE2,5.0,mine\n"
    twin = replace(shipped().meter("handheld-4000"), name="mine")
    head = one_head(
        text,
        kind="two-erase",
        meters={**shipped().meters, "mine": twin},
        lead="nulled",
        temperature="20 +/- 0.1",
    )

    assert (head.coils[0].u_deviation or 0.0) > 0.0577


@pytest.mark.parametrize("readings", [("5", "5", "5"), ("5.0", "5.0", "5.0", "5.0", "6.0")])
def test_equal_readings_get_equal_matches(readings: tuple[str, ...]) -> None:
    """Coils that read the same are said the same of, whichever of them is the median."""
    lines = "".join(f"{n},{reading}\n" for n, reading in enumerate(readings, 1))
    head = one_head(f"coil,reading\n{lines}", band="erase", lead="nulled")
    said = {(coil.match, coil.deviation, coil.u_deviation) for coil in head.coils[:3]}

    assert 1 == len(said)


@pytest.mark.parametrize("readings", [("0.0", "0.0"), ("0.1", "-0.1")])
def test_no_deviation_from_nothing(readings: tuple[str, str]) -> None:
    """A median of zero is nothing to deviate from: no number, and no warning."""
    lines = "".join(f"E{n},{reading}\n" for n, reading in enumerate(readings, 1))
    head = one_head(f"coil,reading\n{lines}", kind="two-erase")

    assert [None, None] == [coil.deviation for coil in head.coils]
    assert [None, None] == [coil.u_deviation for coil in head.coils]


def test_equal_readings_are_never_mismatched() -> None:
    """However little is known of two deviations of zero, they are no mismatch."""
    found = match_zones(Deviations(np.zeros(3), np.array([0.1, 3.0, 100.0])), 0.05, 0.15)

    assert [UNDECIDED] * 3 == found.tolist()


def test_the_middle_one_is_not_its_own_measure() -> None:
    """Monte Carlo: the middle one of three is matched wrongly no more often than allowed.

    The coils are spread by 8 %.  Each reading is off by a rectangular error of 0.5 ohm on
    about 5 ohm, as the counts of a hand-held make it.  Wrong means: truly more than 5 % off
    the true median.  What is spoken may be wrong no more often than the confidence allows.
    """
    source = np.random.default_rng(5)
    heads = 20_000
    for half_width in (0.5, 0.25, 0.1):
        true = 5.0 * (1 + 0.08 * source.standard_normal((heads, 3)))
        read = true + source.uniform(-half_width, half_width, true.shape)
        own = ohms(np.full_like(read, half_width / np.sqrt(3)))
        zones = match_zones(deviations(ohms(read), own, []), 0.05, 0.15)
        middle = np.argsort(read, axis=1)[:, 1]
        matched = np.take_along_axis(zones, middle[:, None], axis=1)[:, 0] == 0
        off = np.abs(true / np.median(true, axis=1, keepdims=True) - 1)
        wrong = np.take_along_axis(off, middle[:, None], axis=1)[:, 0] > 0.05

        assert (matched & wrong).sum() <= 0.05 * max(matched.sum(), 1)
