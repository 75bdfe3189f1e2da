"""Sets of matched heads from the bin: of one layout, of the least spread, no head twice."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from typing import Final

import pytest
from helpers import cli, rows
from spares_helpers import document, measured, open_bin, put, put_heads, sheet

FOUR: Final = "four-channel-rp"


def test_heads_of_one_kind_that_bands_divide(store: str) -> None:
    """Of one kind and two bands they are of two layouts: no kind would help."""
    with open_bin(store) as shelf:
        for name, band in (("A", ""), ("B", "any")):
            taken = rows(sheet(measured(name, 180.0, 181.0)))
            put(shelf, name, taken, band=band)
    ran = cli("spares", "match", "--store", store)

    assert 2 == ran.code
    assert "by other bands or pins" in ran.err


def test_sets_from_the_bin(store: str) -> None:
    """The pair that is nearest, then two pairs of the least spread in all, no head twice."""
    with open_bin(store) as shelf:
        put_heads(
            shelf,
            *(
                measured(name, ohm, ohm, kind="two-channel-rp")
                for name, ohm in (("A", 201.0), ("B", 203.0), ("C", 204.8), ("D", 207.0))
            ),
            measured("broken", 101.5, None),
        )
    one = document(store, "match")["sets"]
    two = document(store, "match", "--sets", "2")["sets"]
    three = document(store, "match", "--sets", "3", code=1)
    triple = document(store, "match", "--size", "3")["sets"]

    assert ["B", "C"] == [each["name"] for each in one]
    assert [{"A", "B"}, {"C", "D"}] == sorted(
        ({each["name"] for each in two if each["set"] == number} for number in (1, 2)), key=min
    )
    assert "2 of 3 sets" in three["notes"][0]
    assert 3 == len(triple)
    assert pytest.approx(2 * 0.9 / 203.9) == one[0]["spread"]


def test_sets_are_of_one_layout(store: str) -> None:
    """Heads of several kinds are no match for each other: which is meant, is asked."""
    with open_bin(store) as shelf:
        put_heads(
            shelf,
            measured("A", 180.0, 181.0),
            measured("B", 180.0, 181.0),
            measured("C", 180.0, 181.0, kind="two-channel-rp-common"),
        )
    several = cli("spares", "match", "--store", store)
    one = document(store, "match", "--kind", "two-channel-rp")["sets"]

    assert 2 == several.code
    assert "--kind: two-channel-rp, two-channel-rp-common" in several.err
    assert {"A", "B"} == {each["name"] for each in one}


def test_nothing_that_matches(store: str) -> None:
    """An empty bin, one head, heads too far apart: said, with exit code 1."""
    with open_bin(store) as shelf:
        put_heads(shelf, measured("A", 180.0, 181.0))
    alone = cli("spares", "match", "--store", store)
    with open_bin(store) as shelf:
        put_heads(shelf, measured("B", 250.0, 251.0))
    apart = cli("spares", "match", "--store", store)

    assert (1, 1) == (alone.code, apart.code)
    assert "no heads of the bin are so much alike" in apart.out
    assert 0 == cli("spares", "match", "--within", "40", "--store", store).code


def test_four_channels_are_compared_in_their_places(store: str) -> None:
    """Coil by coil, not by the mean: the pair alike in the mean only is not taken."""
    with open_bin(store) as shelf:
        put_heads(
            shelf,
            measured("A", 180.0, 184.0, 180.0, 184.0, kind=FOUR),
            measured("B", 184.0, 180.0, 184.0, 180.0, kind=FOUR),
            measured("C", 181.0, 185.0, 181.0, 185.0, kind=FOUR),
        )
    found = document(store, "match")["sets"]

    assert ["A", "C"] == [each["name"] for each in found]
