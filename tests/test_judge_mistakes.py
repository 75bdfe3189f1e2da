"""Rows and settings that cannot be judged: every mistake told, and then no verdict at all."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import pytest
from helpers import TWO, judged, mistakes_of, settings, shipped

from coilmeter.errors import InputError, MistakesError, UnknownNameError
from coilmeter.values import Band


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("coil,reading\n9,5\n", "2: coil: saw '9', expected a coil of two-channel-rp: 1, 2"),
        ("pins,reading\n1-9,5\n", "2: pins: saw '9', expected pins of two-channel-rp: 1, 2, 3"),
        ("coil,reading,kind\n1,5,nope\n", "2: kind: saw 'nope', expected a head kind: "),
        ("coil,reading,meter\n1,5,nope\n", "2: meter: saw 'nope', expected a meter: bench"),
        ("coil,reading,lead\n1,5,9 ohm\n", "2: lead: saw '9 ohm', expected a lead resistance"),
        ("coil,reading,temperature\n1,5,hot\n", "2: temperature: saw 'hot', expected "),
        ("coil,reading,role\n1,5,erase\n", "2: role: saw 'erase', expected record/playback"),
        (
            "coil,reading,range\n1,5,3 kohm\n",
            "2: range: saw '5 on 3 kohm', expected what handheld-4000 can show",
        ),
        (
            "coil,reading,range\n1,900,400 ohm\n",
            "2: range: saw '900 on 400 ohm', expected what handheld-4000 can show",
        ),
        ("coil,reading\n1,-50\n", "2: reading: saw '-50', expected a resistance, which cannot"),
        ("coil,reading\n1,171\n1,172\n", "3: coil: saw '1 of head bench a second time'"),
        ("pins,reading\n1-2,171\n2-1,172\n", "3: coil: saw '1 of head bench a second time'"),
        (
            "coil,reading,purpose\n1,OL,coil-to-case\n1,OL,coil-to-case\n",
            "3: coil: saw '1 to case of head bench a second time'",
        ),
        ("coil,reading,purpose\n,9,lead-null\n", "2: reading: saw '9', expected a lead null"),
        ("coil,reading,purpose\n,OL,lead-null\n", "2: reading: saw 'OL', expected a lead null"),
        ("coil,reading,purpose\n1-case,5,coil\n", "2: purpose: saw 'coil', expected the name"),
        ("pins,reading,purpose\n1-2,5,coil-to-coil\n", "2: purpose: saw 'coil-to-coil', exp"),
        ("pins,reading,purpose\n1-3,5,coil-to-case\n", "2: purpose: saw 'coil-to-case', exp"),
        ("pins,reading,purpose\n1-case,5,coil-to-coil\n", "2: purpose: saw 'coil-to-coil', e"),
        ("coil,reading,purpose\n1-9,OL,coil-to-coil\n", "2: coil: saw '9', expected a coil of"),
        ("pins,reading\n1-2,171\n1-1,5\n", "3: pins: saw '1-1', expected two different pins"),
        ("pins,coil,reading\n3-4,1,171\n", "2: pins: saw '3-4'"),
        ("pins,coil,reading\n3-case,1,OL\n", "2: "),
    ],
)
def test_mistakes(text: str, told: str) -> None:
    """Each mistake tells file, line, column, what was seen and what was expected."""
    first = mistakes_of(text, **TWO)[0]

    assert first.startswith(f"bench.csv:{told}")


def test_all_mistakes_of_a_row_and_of_a_file_together() -> None:
    """A second run must not bring mistakes that the first could have told."""
    told = mistakes_of(
        "coil,reading,meter,lead,temperature\n9,171,nope,9 ohm,hot\n1,x,nope,,\n", **TWO
    )
    places = {mistake.split(": ")[1] for mistake in told if mistake.startswith("bench.csv:2")}

    assert {"coil", "meter", "lead", "temperature"} == places
    assert any(mistake.startswith("bench.csv:3: meter") for mistake in told)


def test_two_kinds_for_one_head() -> None:
    """A head is of one kind."""
    told = mistakes_of("coil,kind,reading\n1,two-channel-rp,171\nE1,two-erase,5\n")

    assert "bench.csv:3: kind: saw 'two-erase', expected one kind" in told[0]


def test_pins_read_both_ways_without_a_kind() -> None:
    """Pins 1-2 and 2-1 are one coil, read twice."""
    told = mistakes_of("pins,reading\n1-2,171\n2-1,172\n")

    assert "second time" in told[0]


def test_a_path_through_the_common_return() -> None:
    """Hot to hot reads the sum of both coils: it is neither a coil nor an isolation path."""
    told = mistakes_of("pins,reading\n1-2,342\n", kind="two-channel-rp-common")

    assert "'free'" in told[0]


@pytest.mark.parametrize("reading", ["1e300", "1e200", "9e307", "1e160"])
def test_huge_numbers_are_refused(reading: str) -> None:
    """No meter shows such numbers: a slip of the pen, and their squares overflow."""
    with pytest.raises(InputError) as caught:
        judged(f"coil,reading\n1,{reading}\n")

    assert reading in str(caught.value)


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"meter": "nope"}, "no meter is called 'nope'"),
        ({"kind": "nope"}, "no head kind is called 'nope'"),
        ({"band": "nope"}, "no band is called 'nope'"),
        ({"confidence": 0.5}, "a confidence of 0.5"),
        ({"confidence": 1.0}, "a confidence of 1"),
        ({"confidence": float("nan")}, "a confidence of nan"),
        ({"leaking_below_ohm": 5.0}, "isolation that leaks below 5 ohm"),
        ({"leaking_below_ohm": 2e7}, "isolation that leaks below 20 Mohm"),
        ({"lead": "9 ohm"}, "9 ohm"),
        ({"temperature": "hot"}, "hot"),
    ],
)
def test_settings_are_checked(changes: dict[str, str | float], word: str) -> None:
    """Names nobody defined and texts that mean nothing are refused before a file is read."""
    made = settings(**changes)
    with pytest.raises(InputError) as caught:
        made.check()

    assert word in str(caught.value)
    assert isinstance(caught.value, InputError | UnknownNameError)


def test_a_band_that_a_kind_names_and_nobody_defines() -> None:
    """Told as a mistake of the row, not as a crash."""
    bands: dict[str, Band] = {"any": shipped().band("any")}
    told = mistakes_of("coil,reading\n1,171\n", bands=bands, kind="two-channel-rp")

    assert "bench.csv:2: band: saw 'rp-cassette', expected a band: any" in told[0]


def test_nothing_is_judged_when_anything_is_wrong() -> None:
    """One mistake in a hundred rows: no verdict at all."""
    lines = "".join(f"H{n},1,171\n" for n in range(100))
    with pytest.raises(MistakesError) as caught:
        judged(f"head,coil,reading\n{lines}H100,1,-50\n", **TWO)

    assert 1 == len(caught.value.mistakes)
    assert "nothing was judged" in str(caught.value)


def test_many_mistakes_are_counted() -> None:
    """Fifty are shown, and how many more there are."""
    with pytest.raises(MistakesError) as caught:
        judged("coil,reading\n" + "".join(f"{n},-50\n" for n in range(60)))

    assert "... and 10 more" in str(caught.value)
    assert "60 mistakes" in str(caught.value)
