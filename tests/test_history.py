"""A head measured twice: E_n, with what both sittings share left out."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any, Final

import numpy as np
import pytest
from helpers import rows, settings
from hypothesis import given
from hypothesis import strategies as st
from published import agrees, case

from coilmeter.compute.budget import PARTS
from coilmeter.compute.history import (
    Constancy,
    Measured,
    change_of,
    e_n,
    measured,
)
from coilmeter.errors import MistakesError
from coilmeter.values import Condition

SAID: Final = {"meter": "handheld-4000", "lead": "nulled", "temperature": "20 +/- 0.5"}


def found(text: str, **changes: Any) -> Measured:
    """Judge one reading of one coil, as one sitting."""
    every = measured(rows(f"coil,reading\n1,{text}\n"), settings(**(SAID | changes)))
    return every["1"]


def test_worked_example() -> None:
    """A value and a reference with their expanded uncertainties."""
    entry = case("5.9")  # ISO 13528:2022 9.7, numbers of this project's own
    given_ = entry["inputs"]

    assert agrees(entry, "En") == e_n(given_["x"], given_["X"], given_["U_x"], given_["U_X"])


def test_figures_are_those_of_the_judge() -> None:
    """Value, uncertainty and its parts, range and verdict of each coil."""
    text = "coil,reading,purpose\n,0.2,lead-null\n1,171.3,\n2,OL 40 Mohm,\n"
    every = measured(rows(text), settings(meter="handheld-4000", kind="two-channel-rp"))
    first, second = every["1"], every["2"]

    assert 171.1 == pytest.approx(first.ohm)
    assert first.u_ohm == pytest.approx(math.hypot(*first.parts_ohm))
    assert (Condition.INTACT, Condition.OPEN) == (first.verdict, second.verdict)
    assert (None, "OL 40 Mohm") == (second.ohm, second.reading)
    assert "handheld-4000" == first.meter


def test_the_error_of_the_meter_cancels() -> None:
    """Of 0.8 % of 171 ohm nothing is left but the part of the change itself."""
    first, second = found("171.3"), found("172.3")
    change = change_of(first, second)
    gains = [each.parts_ohm[PARTS.index("gain")] for each in (first, second)]
    others = [
        part
        for each in (first, second)
        for name, part in zip(PARTS, each.parts_ohm, strict=True)
        if name != "gain"
    ]
    u = math.hypot(gains[1] - gains[0], *others)

    assert change.u_change == pytest.approx(u / 171.3)
    assert change.change == pytest.approx(1.0 / 171.3)
    assert change.e_n == pytest.approx(1.0 / (2 * u))


@pytest.mark.parametrize(
    ("changes", "same_meter"),
    [
        ({"meter": "bench-6-digit"}, True),
        ({}, False),
    ],
)
def test_another_meter_shares_nothing(
    changes: dict[str, Any],
    same_meter: bool,  # noqa: FBT001 - a parameter of the test
) -> None:
    """Its stated error counts in full, on both sides."""
    first, second = found("171.3"), found("175.0", **changes)
    change = change_of(first, second, same_meter=same_meter)
    u = math.hypot(*first.parts_ohm, *second.parts_ohm)

    assert change.u_change == pytest.approx(u / 171.3)


def test_another_range_shares_nothing() -> None:
    """The stated error is that of one range."""
    first, second = found("399.9"), found("401")
    change = change_of(first, second)

    assert first.range_number != second.range_number
    assert change.u_change == pytest.approx(
        math.hypot(*first.parts_ohm, *second.parts_ohm) / 399.9
    )


@pytest.mark.parametrize(
    ("before", "after", "word"),
    [
        ("171.3", "171.5", Constancy.CONSISTENT),
        ("171.3", "174.5", Constancy.CHANGED),
        ("174.5", "171.3", Constancy.CHANGED),
        ("171.3", "OL 40 Mohm", Constancy.CHANGED),
        ("OL 40 Mohm", "OL 40 Mohm", Constancy.CONSISTENT),
        ("171.3", "OL 400 ohm", Constancy.UNDECIDED),
        ("beep", "171.3", Constancy.UNDECIDED),
        ("0.0", "171.3", Constancy.CHANGED),
    ],
)
def test_what_follows(before: str, after: str, word: Constancy) -> None:
    """By E_n between two values; by the conditions where one is only a bound."""
    change = change_of(found(before, band="rp-cassette"), found(after, band="rp-cassette"))

    assert word is change.word


def test_an_unstable_coil_has_no_history() -> None:
    """The mean of readings that jump about is compared with nothing."""
    steady = found("171.3")
    unstable = replace(steady, verdict=Condition.UNSTABLE, ohm=90.0)

    assert Constancy.UNDECIDED is change_of(steady, unstable).word
    assert Constancy.UNDECIDED is change_of(unstable, steady).word


@given(st.floats(100.0, 370.0), st.floats(-0.03, 0.03))
def test_there_and_back_is_the_same(ohm: float, off: float) -> None:
    """E_n knows no direction, and more change is never less of it."""
    first, second = found(f"{ohm:.1f}"), found(f"{ohm * (1 + off):.1f}")
    further = found(f"{ohm * (1 + 2 * off):.1f}")
    there, back = change_of(first, second), change_of(second, first)

    assert there.e_n is not None
    assert there.e_n == pytest.approx(back.e_n)
    assert there.e_n <= (change_of(first, further).e_n or 0) + 1e-9


def test_a_sound_coil_is_seldom_called_changed() -> None:
    """Seeded simulation: the same coil, one meter with a fixed gain, counts and noise.

    Rectangular errors of the stated counts; with U = 2 u nearly all are consistent.
    """
    chance = np.random.default_rng(11)
    words = []
    for _ in range(200):
        gain = 1 + chance.uniform(-0.008, 0.008)
        taken = [f"{171.3 * gain + chance.uniform(-0.5, 0.5):.1f}" for _ in range(2)]
        words.append(change_of(found(taken[0]), found(taken[1])).word)

    assert words.count(Constancy.CONSISTENT) >= 195


def test_readings_that_do_not_fit() -> None:
    """They are refused as the judge refuses them."""
    with pytest.raises(MistakesError):
        measured(rows("coil,reading\n7,171\n"), settings(kind="two-channel-rp"))
