"""A meter proved: the model, against outside figures, against chance, and its limits."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math

import numpy as np
import pytest
from helpers import meter_table
from hypothesis import given
from hypothesis import strategies as st
from published import agrees, case
from uncertainties import ufloat  # type: ignore[import-untyped] # ships no types

from coilmeter.compute.proof import (
    check_resistor,
    gain_factor,
    of_resistors,
    overall,
    substituted,
)
from coilmeter.compute.proof_leads import (
    check_null,
    lead_null,
    mean_u_ohm,
    stated_limit_ohm,
)
from coilmeter.errors import ReadingTextError
from coilmeter.units.tolerances import LETTERS, parse_with_tolerance
from coilmeter.values.proofs import KnownResistor, Outcome, ResistorCheck, Taken
from coilmeter.values.unproved import KnownMeters, unproved

NULL = Taken(0.2, 0.02, 10, 0.1)
LEADS = lead_null(NULL, None)
TABLE = meter_table("handheld-4000")


def resistor(ohm: float = 220.0, tolerance: float = 0.01) -> KnownResistor:
    """Make a known resistor."""
    return KnownResistor(f"{ohm:g} ohm {100 * tolerance:g}%", ohm, tolerance)


def read(ohm: float, step: float = 0.1) -> Taken:
    """Make readings of a resistor, leads of 0.2 ohm included."""
    return Taken(ohm + 0.2, 0.03, 10, step)


def outcome(ohm: float, tolerance: float = 0.01) -> ResistorCheck:
    """Judge a reading of 220 ohm."""
    return check_resistor(resistor(220.0, tolerance), read(ohm), LEADS, TABLE)


@pytest.mark.parametrize(
    ("ohm", "tolerance", "expected"),
    [
        (220.0, 0.01, Outcome.ACCEPTED),
        (223.0, 0.01, Outcome.ACCEPTED),
        (220.0 * 1.03, 0.01, Outcome.REFUSED),
        (220.0 * 0.97, 0.01, Outcome.REFUSED),
        (224.1, 0.01, Outcome.UNDECIDED),
        (220.0, 0.05, Outcome.UNDECIDED),
        (220.0 * 1.03, 0.05, Outcome.UNDECIDED),
        (220.0 * 1.10, 0.05, Outcome.REFUSED),
    ],
)
def test_what_a_resistor_says(ohm: float, tolerance: float, expected: Outcome) -> None:
    """A 3 % gain error is refused by a 1 % resistor, and a 5 % one decides nothing of it."""
    assert expected is outcome(ohm, tolerance).outcome


def test_a_resistor_too_wide_names_one_that_would_do() -> None:
    """What would decide is said, and does decide."""
    check = outcome(220.0, 0.05)

    assert "take one of 1 % or less" in check.why
    assert Outcome.ACCEPTED is outcome(220.0, 0.01).outcome


def test_past_the_ranges_nothing_is_said() -> None:
    """A resistor the meter cannot read is no proof."""
    big = check_resistor(resistor(90e6), read(90e6, 1e4), LEADS, TABLE)

    assert Outcome.UNDECIDED is big.outcome


def test_substitution_of_a_published_example() -> None:
    """A standard resistor of 10 kohm by substitution (EA-4/02 M:2022, S3), budget and all."""
    entry = case("2.1")
    given_ = entry["inputs"]
    ratios = np.array(given_["r_obs"])
    u_ratio = ratios.std(ddof=1) / math.sqrt(len(ratios))
    u_known = math.sqrt(
        (given_["U_RS_k2"] / 2) ** 2 + (given_["a_D"] ** 2 + given_["a_TS"] ** 2) / 3
    )
    ohm, u = substituted(
        given_["R_S"] + given_["dR_D"],
        u_known,
        float(ratios.mean()),
        math.hypot(u_ratio, given_["a_rC_triangular"] / math.sqrt(6)),
        u_less_ohm=given_["a_TX"] / math.sqrt(3),
    )

    only = {
        "u_D_mohm": substituted(0.0, given_["a_D"] / math.sqrt(3), 1.0, 0.0),
        "u_TS_mohm": substituted(0.0, given_["a_TS"] / math.sqrt(3), 1.0, 0.0),
        "u_rC_mohm": substituted(ohm, 0.0, 1.0, given_["a_rC_triangular"] / math.sqrt(6)),
        "u_r_mohm": substituted(ohm, 0.0, 1.0, float(u_ratio)),
        "u_TX_mohm": substituted(0.0, 0.0, 1.0, 0.0, u_less_ohm=given_["a_TX"] / math.sqrt(3)),
    }

    assert agrees(entry, "R_X") == ohm
    assert agrees(entry, "u_mohm") == 1e3 * u
    assert [agrees(entry, name) for name in only] == [1e3 * part for _, part in only.values()]


def test_substitution_against_an_independent_oracle() -> None:
    """The same law of propagation by another library, with something to take off."""
    standard, ratio, less = ufloat(220.0, 0.05), ufloat(1.031, 0.0004), ufloat(0.3, 0.02)
    expected = standard * ratio - less

    assert (expected.nominal_value, expected.std_dev) == pytest.approx(
        substituted(220.0, 0.05, 1.031, 0.0004, less_ohm=0.3, u_less_ohm=0.02)
    )


def test_budget_against_an_independent_oracle() -> None:
    """E_n is the deviation over twice the u that another library propagates."""
    check = outcome(221.5)
    limit = stated_limit_ohm(TABLE, 221.7, 0.1)
    assert limit is not None
    reading = ufloat(221.7, math.hypot(limit / math.sqrt(3), mean_u_ohm(read(221.5))))
    difference = reading - ufloat(0.2, LEADS.u_ohm) - ufloat(220.0, 2.2 / math.sqrt(3))

    assert difference.nominal_value == pytest.approx(check.deviation_ohm)
    assert difference.nominal_value / (2 * difference.std_dev) == pytest.approx(check.e_n)


def test_sound_meters_are_hardly_ever_refused() -> None:
    """Errors anywhere within both limits, scatter included: refused less than 1 in 1000."""
    random = np.random.default_rng(11)
    refused = 0
    for _ in range(4000):
        true = 220.0 * (1 + 0.01 * random.uniform(-1, 1))
        limit = stated_limit_ohm(TABLE, true, 0.1)
        assert limit is not None
        shown = true + limit * random.uniform(-1, 1) + 0.2 + 0.01 * random.standard_normal()
        taken = Taken(round(shown, 1), 0.03, 10, 0.1)
        refused += check_resistor(resistor(), taken, LEADS, TABLE).outcome is Outcome.REFUSED

    assert refused <= 4


def test_meters_far_off_are_never_accepted() -> None:
    """At four times what it states, whatever the resistor within its tolerance."""
    random = np.random.default_rng(12)
    for _ in range(2000):
        true = 220.0 * (1 + 0.01 * random.uniform(-1, 1))
        shown = true + 4 * 2.26 * random.choice((-1, 1)) + 0.2
        taken = Taken(round(shown, 1), 0.03, 10, 0.1)
        found = check_resistor(resistor(), taken, LEADS, TABLE)

        assert found.outcome is not Outcome.ACCEPTED


@given(st.floats(-50, 50), st.floats(1e-4, 0.4))
def test_wider_limits_never_refuse_more(off: float, tolerance: float) -> None:
    """What a narrow resistor does not refuse, a wide one does not either."""
    narrow, wide = outcome(220.0 + off, tolerance), outcome(220.0 + off, tolerance * 1.2)

    assert not (wide.outcome is Outcome.REFUSED and narrow.outcome is not Outcome.REFUSED)


@pytest.mark.parametrize(
    ("null", "swapped", "expected", "word"),
    [
        (NULL, NULL, Outcome.ACCEPTED, ""),
        (NULL, None, Outcome.ACCEPTED, ""),
        (Taken(-1.5, 0.02, 10, 0.1), None, Outcome.REFUSED, "below zero"),
        (Taken(3.0, 0.02, 10, 0.1), None, Outcome.REFUSED, "bad leads"),
        (Taken(0.5, 0.9, 10, 0.1), None, Outcome.REFUSED, "scatter"),
        (NULL, Taken(1.4, 0.02, 10, 0.1), Outcome.REFUSED, "swapped"),
    ],
)
def test_shorted_leads(
    null: Taken, swapped: Taken | None, expected: Outcome, word: str
) -> None:
    """Below zero, too high, restless, or one-sided: each is refused in words."""
    found, why = check_null(null, swapped, TABLE)

    assert expected is found
    assert word in why


@pytest.mark.parametrize(
    ("parts", "expected"),
    [
        ([], Outcome.UNDECIDED),
        ([Outcome.ACCEPTED], Outcome.ACCEPTED),
        ([Outcome.ACCEPTED, Outcome.UNDECIDED], Outcome.UNDECIDED),
        ([Outcome.UNDECIDED, Outcome.REFUSED], Outcome.REFUSED),
    ],
)
def test_what_it_comes_to(parts: list[Outcome], expected: Outcome) -> None:
    """One refusal refuses, and everything must be accepted."""
    assert expected is overall([(part, "") for part in parts])[0]


def test_a_weak_resistor_takes_nothing_from_a_strong_one() -> None:
    """One that reads as it should and proves nothing; one in doubt does take its proof."""
    strong, weak = outcome(220.0), outcome(220.5, 0.05)
    doubtful = outcome(224.1)

    assert Outcome.UNDECIDED is weak.outcome is doubtful.outcome
    assert Outcome.ACCEPTED is overall(of_resistors([strong, weak]))[0]
    assert Outcome.UNDECIDED is overall(of_resistors([weak]))[0]
    assert Outcome.UNDECIDED is overall(of_resistors([strong, doubtful]))[0]
    assert Outcome.REFUSED is overall(of_resistors([strong, outcome(240.0)]))[0]
    assert Outcome.UNDECIDED is overall(of_resistors([]))[0]


def test_leads_either_way_round_against_an_independent_oracle() -> None:
    """Mean of both; half the difference is a limit of its own."""
    one, other = Taken(0.2, 0.02, 10, 0.1), Taken(0.5, 0.04, 16, 0.1)
    found = lead_null(one, other)
    mean = (ufloat(0.2, mean_u_ohm(one)) + ufloat(0.5, mean_u_ohm(other))) / 2
    expected = mean + ufloat(0.0, 0.15 / math.sqrt(3))

    assert expected.nominal_value == pytest.approx(found.ohm)
    assert expected.std_dev == pytest.approx(found.u_ohm)
    assert -0.15 == pytest.approx(found.thermal_ohm)
    assert 0.04 == found.scatter_ohm


def test_one_reading_says_nothing_of_its_scatter() -> None:
    """A typed one may be off by a whole last digit to either side (GUM 4.3.7)."""
    assert 0.1 / math.sqrt(3) == pytest.approx(mean_u_ohm(Taken(0.2, step_ohm=0.1)))
    assert 0.1 / math.sqrt(12) == pytest.approx(mean_u_ohm(Taken(0.2, 0.0, 4, 0.1)))


def test_gain_factor_undoes_the_gain() -> None:
    """Multiplied by it, the readings are those of the resistor."""
    factor, u = gain_factor(outcome(220.0 * 1.03))

    assert 1 / 1.03 == pytest.approx(factor, rel=1e-6)
    assert 0.01 / math.sqrt(3) == pytest.approx(u / factor, rel=0.05)


def test_what_reads_nothing_has_no_gain() -> None:
    """The clips were left together while the resistor was asked for."""
    check = outcome(0.0)

    assert Outcome.REFUSED is check.outcome
    with pytest.raises(ValueError, match="has no gain"):
        gain_factor(check)


@pytest.mark.parametrize(
    ("text", "ohm", "tolerance"),
    [
        ("220 ohm 1%", 220.0, 0.01),
        ("4k7 +/- 0.5 %", 4700.0, 0.005),
        ("4K7 ± 5%", 4700.0, 0.05),
        ("220R F", 220.0, 0.01),
        ("4k7J", 4700.0, 0.05),
        ("0R22 1 %", 0.22, 0.01),
        ("47R5F", 47.5, 0.01),
        ("1 kohm B", 1000.0, 0.001),
        ("100 ohm 0,1 %", 100.0, 0.001),
        ("4M7K", 4.7e6, 0.1),
        ("220RJ", 220.0, 0.05),
        ("R47 2 %", 0.47, 0.02),
        ("2,2 kohm 1 %", 2200.0, 0.01),
        ("220.13 +/- 0.05 ohm", 220.13, 0.05 / 220.13),
        ("4.7 ± 0.01 kohm", 4700.0, 0.01 / 4.7),
    ],
)
def test_values_with_tolerance(text: str, ohm: float, tolerance: float) -> None:
    """As people and the code of IEC 60062 write them."""
    assert (ohm, tolerance) == pytest.approx(parse_with_tolerance(text))


@pytest.mark.parametrize(
    "text",
    [
        *("", "220 ohm", "10K", "220 ohm Z", "OL 1%", "0 ohm 1%", "220 ohm 0%", "220 ohm 80%"),
        *("220 F", "220 G", "4m7 1%", "-220 ohm 1%", "220 +/- 0 ohm", "220 +/- 400 ohm"),
        *("0 +/- 1 ohm", "nan 1%", "9**9 1%"),
    ],
)
def test_no_value_with_tolerance(text: str) -> None:
    """A letter behind a bare number is a prefix; what has no tolerance proves nothing."""
    with pytest.raises(ReadingTextError):
        parse_with_tolerance(text)


def test_tolerance_letters() -> None:
    """The usual letters (IEC 60062:2016; from memory, not verified)."""
    usual = {"B": 0.1, "C": 0.25, "D": 0.5, "F": 1, "G": 2, "J": 5, "K": 10, "M": 20}

    assert usual == {letter: LETTERS[letter] for letter in usual}


def test_a_meter_that_is_not_proved_is_wider_and_known_by_name() -> None:
    """Ranges stay; accuracy is the worse of stated and default; it is found, never listed."""
    meter = TABLE.meter
    known = KnownMeters({meter.name: meter})
    wide = known[f"{meter.name} (not proved)"]

    assert unproved(meter) == wide == unproved(wide)
    assert [each.full_scale for each in meter.ranges] == [
        each.full_scale for each in wide.ranges
    ]
    assert all(each.fraction >= 0.01 for each in wide.ranges)
    assert all(each.floor >= 5 * each.resolution for each in wide.ranges)
    assert [meter.name] == list(known)
    assert f"{meter.name} (not proved)" in known
    assert "other (not proved)" not in known
    assert None is known.get("other")
