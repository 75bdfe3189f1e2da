"""Rows that could be read two ways are asked about, and doubts are told beside a verdict."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import pytest
from helpers import one_head

from coilmeter.errors import MistakesError, ReadingTextError
from coilmeter.units import parse_reading
from coilmeter.values import Grade


@pytest.mark.parametrize(
    "line", ["1-2,OL 40 Mohm,", "1 to 2,OL 40 Mohm,", "case,OL 40 Mohm,", "Case,5,"]
)
def test_a_name_that_may_be_a_path_is_asked_about(line: str) -> None:
    """Without a kind and a purpose, `1-2` beside coils 1 and 2 is no open coil."""
    with pytest.raises(MistakesError) as caught:
        one_head(f"coil,reading,purpose\n1,171.3,\n2,170.8,\n{line}\n")

    assert "a purpose" in str(caught.value)


def test_with_its_purpose_it_is_a_path() -> None:
    """Said what it is, it is judged as that."""
    head = one_head(
        "coil,reading,purpose\n1,171.3,\n2,170.8,\n1-2,OL 40 Mohm,coil-to-coil\n", band="any"
    )

    assert ["1", "2"] == [coil.coil for coil in head.coils]
    assert ("1", "2") in {(path.start, path.end) for path in head.isolation}


@pytest.mark.parametrize("text", ["OL < 40 Mohm", "beep > 50 ohm", "silent < 50 ohm"])
def test_a_sign_that_turns_the_bound_around_is_refused(text: str) -> None:
    """An OL is never less than its range, a beep never more than its threshold."""
    with pytest.raises(ReadingTextError):
        parse_reading(text)


def test_no_coil_is_dead_by_an_assumed_beeper() -> None:
    """Silent on a meter nobody named: its beeper may sound below 10 ohm only."""
    rows = "coil,reading\nE1,{0}\nE2,{0}\n"
    assumed = one_head(rows.format("silent"), kind="two-erase")
    stated = one_head(rows.format("silent 50 ohm"), kind="two-erase")

    assert (Grade.RECHECK, Grade.DEAD) == (assumed.grade, stated.grade)


def test_coils_of_another_band_are_told() -> None:
    """Erase coils judged as record/playback coils: it may be another kind of head."""
    head = one_head("coil,reading\n1,5.1\n2,5.2\n", kind="two-channel-rp", lead="nulled")

    assert Grade.DEAD == head.grade
    assert any("'erase'" in caution and "another kind" in caution for caution in head.cautions)


def test_coils_of_unknown_role_that_are_nothing_alike_are_not_compared() -> None:
    """8.4 and 300 ohm on an unknown head may be an erase and a record/playback coil."""
    head = one_head("coil,reading\n1,8.4\n2,300.0\n", kind="coils-2")

    assert [None, None] == [coil.deviation for coil in head.coils]
