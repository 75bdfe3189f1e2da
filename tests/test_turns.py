"""Shorted turns, wear and what is neither, told from L and Q beside siblings."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from impedance_helpers import HEADER, SOUND, four, one_head, signs, volts_csv

from coilmeter.compute.coil_model import CoilModel, model_of, share_for_q
from coilmeter.compute.turns_compare import beside, certainly_low, deviations_of
from coilmeter.compute.turns_group import Limits
from coilmeter.values.impedances import HeadImpedance, Impedance, Method, Part, Sign

LIKE = (SOUND, CoilModel(302.0, 0.102), CoilModel(297.0, 0.099), CoilModel(300.0, 0.1005))
"""Four coils as alike as those of a good head."""


def measured(*coils: CoilModel, **how: object) -> HeadImpedance:
    """Measure four coils at 10 kHz, unless told otherwise."""
    return one_head(HEADER + volts_csv(four(*coils), **how))  # type: ignore[arg-type]


def with_reference(*coils: CoilModel) -> HeadImpedance:
    """Measure four coils beside a reference head of one coil."""
    text = HEADER + volts_csv(four(*coils))
    return one_head(text + volts_csv({"1": SOUND}, head="good", reference="yes"))


def test_a_sound_head_shows_no_sign() -> None:
    """Four like coils: no sign, matched, and a bound on what would have shown."""
    head = measured(*LIKE)

    assert 4 * ["no sign"] == signs(head)
    for coil in head.coils.values():
        (point,) = coil.points
        assert "matched" == point.match
        assert point.sees_share is not None
        assert 0.002 < point.sees_share < 0.01
        assert "does not show without a reference coil" in coil.why[-1]


@pytest.mark.parametrize("share", [0.01, 0.03, 0.1])
def test_shorted_turns_are_caught(share: float) -> None:
    """One per cent of the turns and more: suspected in that coil and in no other."""
    head = measured(*LIKE[:2], LIKE[2].with_shorted(share), LIKE[3])
    coil = head.coils["3"]

    assert ["no sign", "no sign", "shorted turns suspected", "no sign"] == signs(head)
    words = " ".join(coil.why)
    assert "Not told apart from that" in words
    assert "coupled-coil model" in words
    low, high = shares_in(words)
    assert low <= 100 * share <= high


def shares_in(words: str) -> tuple[float, float]:
    """Find the range of shorted turns that a text names, in per cent."""
    found = re.search(r"If turns are shorted, about ([\d.]+) to ([\d.]+) % of them", words)
    assert found is not None
    return float(found[1]), float(found[2])


def test_shorted_turns_do_not_show_at_1_khz() -> None:
    """At 1 kHz the same coil looks sound: no sign, a wide bound, and the advice to go up."""
    coils = (*LIKE[:2], LIKE[2].with_shorted(0.01), LIKE[3])
    head = measured(*coils, hertz=1e3, ohm=1e3)
    coil = head.coils["3"]

    assert 4 * ["no sign"] == signs(head)
    assert coil.points[0].sees_share is not None
    assert coil.points[0].sees_share > 0.05
    assert "10 kHz" in coil.next


def test_without_ohms_a_series_resistance_is_not_told_apart() -> None:
    """Where the DC resistance is not known, the reasons say so, and no share is named."""
    head = measured(*LIKE[:2], LIKE[2].with_shorted(0.03), LIKE[3], dc=False)
    words = " ".join(head.coils["3"].why)

    assert Sign.SHORTED == head.coils["3"].sign
    assert "in series: its ohms would tell" in words
    assert "If turns are shorted" not in words


def test_a_bad_joint_is_no_short() -> None:
    """Q down because the ohms are up: differs, and the joint is named."""
    joint = CoilModel(1500.0, 0.1, loss=0.05)
    head = measured(LIKE[0], joint, *LIKE[2:])

    assert ["no sign", "differs", "no sign", "no sign"] == signs(head)
    assert "joint" in " ".join(head.coils["2"].why)


def test_a_worn_head_is_told_from_a_shorted_one() -> None:
    """L down in all coils against a reference, R not up: wear, with the gap as a range."""
    head = with_reference(*(coil.worn(0.4, 0.4) for coil in LIKE))

    assert 4 * ["wear suspected"] == signs(head)
    for coil in head.coils.values():
        words = " ".join(coil.why)
        low, high = gap_in(words)
        assert low <= 40 <= high
        assert "assumed: the front gap made 30 to 70 %" in words
        assert "another build of head" in words


def gap_in(words: str) -> tuple[float, float]:
    """Find the depth of the gap that a text names, in per cent."""
    found = re.search(r"If it is wear, (\d+) to (\d+) % of the depth", words)
    assert found is not None
    return float(found[1]), float(found[2])


def test_wear_of_all_does_not_show_without_a_reference() -> None:
    """The same head with nothing to stand beside but itself: no sign, and it says so."""
    head = measured(*(coil.worn(0.4, 0.4) for coil in LIKE))

    assert 4 * ["no sign"] == signs(head)
    assert all("does not show without a reference" in c.why[-1] for c in head.coils.values())


def test_worn_edges() -> None:
    """The first and the last coil low, the inner ones alike: uneven wear."""
    edges = [LIKE[0].worn(0.4, 0.4), *LIKE[1:3], LIKE[3].worn(0.4, 0.4)]
    head = measured(*edges)

    assert ["wear suspected", "no sign", "no sign", "wear suspected"] == signs(head)
    assert "the inner coils" in " ".join(head.coils["1"].why)


def test_one_low_coil_is_neither() -> None:
    """L down in one inner coil, Q not: differs, and no cause is named."""
    head = measured(LIKE[0], LIKE[1].worn(0.4, 0.4), *LIKE[2:])

    assert Sign.DIFFERS == head.coils["2"].sign
    assert "neither the pattern" in " ".join(head.coils["2"].why)


def test_a_worn_coil_with_a_short_is_short() -> None:
    """In a worn head, the coil that has shorted turns too is the one suspected of them."""
    coils = [coil.worn(0.5, 0.4) for coil in LIKE]
    coils[1] = coils[1].with_shorted(0.02)
    head = with_reference(*coils)

    assert Sign.SHORTED == head.coils["2"].sign


def test_two_coils() -> None:
    """One sibling only: the lower Q is suspected, and on what that rests is said."""
    text = HEADER + volts_csv(
        {"1": SOUND, "2": SOUND.with_shorted(0.02)}, kind="two-channel-rp"
    )
    head = one_head(text)

    assert ["no reference", "shorted turns suspected"] == signs(head)
    assert "suspected themselves" in " ".join(head.coils["1"].why)
    assert "rests on one other coil" in " ".join(head.coils["2"].why)


def test_two_of_three_collapsed() -> None:
    """Where the collapsed are the majority, none passes for sound beside the best."""
    text = HEADER + volts_csv(
        {"1": SOUND, "2": SOUND.with_shorted(0.02), "3": SOUND.with_shorted(0.022)}, kind=""
    )
    found = signs(one_head(text))

    assert {"differs", "shorted turns suspected"} >= set(found)


def test_a_coil_alone() -> None:
    """Nothing to stand beside: figures, and no claim."""
    head = one_head(HEADER + volts_csv({"1": SOUND.with_shorted(0.05)}))

    assert ["no reference"] == signs(head)
    assert "as reference" in head.coils["1"].next


def test_a_coil_alone_beside_a_reference() -> None:
    """One coil and a good one of the same kind: shorted turns are suspected."""
    text = HEADER + volts_csv({"1": SOUND.with_shorted(0.02)})
    head = one_head(text + volts_csv({"2": SOUND}, head="good", reference="yes"))

    assert ["shorted turns suspected"] == signs(head)


def test_a_reference_of_another_kind_does_not_count() -> None:
    """A good coil of another kind of head says nothing."""
    text = HEADER + volts_csv({"1": SOUND})
    other = volts_csv({"1": SOUND}, head="good", kind="two-channel-rp", reference="yes")

    assert ["no reference"] == signs(one_head(text + other))


def test_coils_of_unknown_role_that_are_not_alike() -> None:
    """A record and an erase coil without a kind are not compared."""
    text = HEADER + volts_csv({"1": SOUND, "2": CoilModel(5.0, 0.02)}, kind="")

    assert 2 * ["no reference"] == signs(one_head(text))


def test_the_limits_can_be_set() -> None:
    """A stricter limit of Q takes a smaller fall for a collapse."""
    text = HEADER + volts_csv(four(*LIKE[:3], LIKE[3].with_shorted(0.003)))

    assert Sign.SHORTED is not one_head(text).coils["4"].sign
    assert Sign.SHORTED == one_head(text, Limits(q_below=0.9)).coils["4"].sign


def test_a_wide_uncertainty_alone_decides_nothing() -> None:
    """Few counts: undecided, never a suspicion, and what would decide it is said."""
    coils = four(*LIKE[:3], LIKE[3].with_shorted(0.003))
    head = one_head(HEADER + volts_csv(coils, volt=0.012))
    found = head.coils["4"]

    assert Sign.UNDECIDED == found.sign
    assert "more digits" in found.next


def test_thousand_sound_heads_raise_no_suspicion() -> None:
    """Of 1 000 seeded sound heads no more are suspected than the confidence allows.

    Their coils scatter by 3 % in L, 2 % in ohms and 5 % in core loss (invented); the meter's
    counts and its input capacitance lie anywhere within what it states.
    """
    random = np.random.default_rng(7)
    suspected = 0
    for _ in range(1000):
        coils = [
            CoilModel(
                300.0 * (1 + 0.02 * random.standard_normal()),
                0.1 * (1 + 0.03 * random.standard_normal()),
                0.125 * (1 + 0.05 * random.standard_normal()),
            )
            for _ in range(4)
        ]
        farad = 1e-10 + 6e-11 * random.uniform(-1, 1)
        text = volts_csv(four(*coils), random=random, counts=5.0, farad=farad, gain=0.93)
        head = one_head(HEADER + text)
        suspected += any(coil.sign.suspicious for coil in head.coils.values())

    assert suspected <= 50


def coil(r: float, x: float, *parts: Part) -> Impedance:
    """Make an impedance at 10 kHz."""
    return Impedance(10e3, r, x, parts, Method.THREE_VOLTMETER)


@given(st.floats(0.5, 2.0), st.floats(0.2, 3.0), st.floats(1e-4, 0.1))
def test_what_all_share_cancels(size: float, loss: float, u: float) -> None:
    """An error in proportion to each impedance leaves ratios and deviations certain."""
    z = [(1000.0 * loss, 6000.0), (1000.0 * size, 6000.0 * size), (1100.0, 5900.0)]
    coils = [coil(r, x, Part("resistor", "resistor", u * r, u * x)) for r, x in z]
    found = beside(coils[0], coils[1:], q_below=0.7, confidence=0.95)
    away = deviations_of(coils)

    assert 0.0 == pytest.approx(found.u_l_ratio, abs=1e-12)
    assert found.u_q_ratio is not None
    assert 0.0 == pytest.approx(found.u_q_ratio, abs=1e-12)
    assert np.zeros(3) == pytest.approx(away.u, abs=1e-12)


@given(st.floats(0.01, 0.5))
def test_knowing_less_never_decides_more(u: float) -> None:
    """A wider error of one coil never makes its collapse more certain."""
    sound = coil(1000.0, 6000.0, Part("a", "counts", 10.0, 5.0))
    sharp = coil(2500.0, 6000.0, Part("b", "counts", 10.0, 5.0))
    blunt = replace(sharp, parts=(Part("b", "counts", 10.0 + 2500 * u, 5.0),))
    first, second = (
        beside(each, [sound], q_below=0.7, confidence=0.95) for each in (sharp, blunt)
    )

    assert first.below_q is not None
    assert second.below_q is not None
    assert second.below_q <= first.below_q


def test_q_of_a_coil_whose_resistance_is_not_told_from_zero() -> None:
    """Its ratio is not known, and it is no collapse."""
    sound = coil(1000.0, 6000.0, Part("a", "counts", 10.0, 5.0))
    none = coil(-5.0, 6000.0, Part("b", "counts", 50.0, 5.0))
    found = beside(none, [sound], q_below=0.7, confidence=0.95)

    assert None is found.q_ratio
    assert found.below_q is not None
    assert found.below_q < 0.01


def test_certainly_low() -> None:
    """A ratio counts as low where it is so at the confidence, and not by its value alone."""
    assert certainly_low(0.8, 0.02, 0.1, 0.95)
    assert not certainly_low(0.88, 0.02, 0.1, 0.95)
    assert not certainly_low(0.8, 0.2, 0.1, 0.95)


@given(st.floats(0.0005, 0.4))
def test_share_of_shorted_turns_from_q(share: float) -> None:
    """The share that lowers Q so far is found again."""
    ratio = SOUND.with_shorted(share).q_at(10e3) / SOUND.q_at(10e3)
    found = share_for_q(SOUND, 10e3, ratio)

    assert found is not None
    assert share == pytest.approx(found, rel=1e-6)


def test_model_of_a_measured_coil() -> None:
    """Copper, inductance and loss come back from an impedance."""
    model = model_of(SOUND.impedance_ohm(10e3), 10e3, 300.0)

    assert SOUND.inductance_h == pytest.approx(model.inductance_h)
    assert SOUND.loss == pytest.approx(model.loss)
    assert None is share_for_q(SOUND, 10e3, 1e-6)
    assert 0.0 == share_for_q(SOUND, 10e3, 1.2)
