"""The bin searched for donors: the right ones, exactly, and the nearest first."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import random
from typing import Final

import pytest
from helpers import cli, rows, settings, shipped
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from spares_helpers import document, measured, open_bin, put, put_heads, sheet, spares

from coilmeter.cli.checking import Job
from coilmeter.cli.demonstration import COILS_OHM, KIND, demo_settings, run_demo
from coilmeter.compute.replacing import fit
from coilmeter.spares.donors import coils_of, donors, sought
from coilmeter.spares.noting import keep_impedance
from coilmeter.spares.reading import find_head
from coilmeter.spares.rules import Rules
from coilmeter.spares.searching import Wanted, candidates
from coilmeter.spares.store import Bin
from coilmeter.spares.verdicts import refresh
from coilmeter.values import HeadResult, ReadingRow
from coilmeter.values.bin import ImpedanceOf, Status

AVAILABLE: Final = Wanted(grades=("matched", "unmatched"), statuses=(Status.AVAILABLE,))


def names(store: str, *words: str, code: int | None = 0) -> list[str]:
    """Names of the heads that are offered."""
    return [each["name"] for each in document(store, "find", *words, code=code)["offers"]]


def test_the_right_donor_for_the_head_of_the_demo(store: str) -> None:
    """Coil 2 open, coil 3 a fifth low, coil 4 leaking: the one like its sound coils is offered.

    A head like the low coil, and one that is nearer on the mean of all coils, are not.
    """
    chosen = demo_settings(shipped())
    with open_bin(store) as shelf:
        # The readings that the demo itself takes, real bytes and all.
        with pytest.MonkeyPatch.context() as patch:
            taken: list[ReadingRow] = []

            def results(job: Job) -> list[HeadResult]:
                taken[:] = job.keeper.rows
                return []

            patch.setattr(Job, "results", results)
            run_demo(chosen, speed=64.0)
        put(shelf, "shelf-3", taken, kind=KIND)
        put_heads(
            shelf,
            measured("like-coil-3", *[148.0] * 4, kind=KIND),
            measured("like-the-mean", *[172.0] * 4, kind=KIND),
            measured("donor", 184.5, 185.2, 184.9, 185.6, kind=KIND),
            measured("donor-with-a-fault", 184.5, None, 184.9, 185.6, kind=KIND),
            measured("other-kind", 184.0, 186.0),
        )
    found = document(store, "find", "shelf-3")["offers"]

    assert 186.0 == COILS_OHM["2"]
    assert ["donor", "like-the-mean", "like-coil-3"] == [each["name"] for each in found]
    assert found[0]["same_pins"]
    assert abs(found[0]["resistance_deviation"]) < 0.01


def combined(head: str, first: float, second: float, erase: float | None) -> str:
    """Write the lines of a head with an erase coil; None for OL."""
    last = "OL,40 Mohm" if erase is None else f"{erase},400 ohm"
    coils = [f"1,{first},400 ohm", f"2,{second},400 ohm", f"E,{last}"]
    paths = [f"{name},OL,40 Mohm" for name in ("1-case", "2-case", "E-case", "1-2", "2-E")]
    purposes = ["coil"] * 3 + ["coil-to-case"] * 3 + ["coil-to-coil"] * 2
    lines = zip([*coils, *paths], purposes, strict=True)
    return "".join(
        f"{head},two-channel-rp-erase,{line},{purpose},2026-03-01T10:{number:02d}:00Z\n"
        for number, (line, purpose) in enumerate(lines)
    )


def test_the_nearest_where_a_coil_has_nothing_to_compare(store: str) -> None:
    """The only erase coil is open: no total is known, and no head may be passed over."""
    heads = (
        combined("broken", 170.0, 171.0, None),
        combined("far-below", 120.0, 120.5, 5.0),
        combined("near", 170.2, 171.1, 5.5),
        combined("far-above", 300.0, 301.0, 5.5),
    )
    spares(store, "add", "-", stdin=sheet(*heads).encode(), code=None)

    assert ["near"] == names(store, "broken", "--most", "1")
    assert "near" == names(store, "broken", "--most", "3")[0]


def test_what_is_not_offered(store: str) -> None:
    """The head itself, used and scrapped ones, faulty ones, those of other roles or bands."""
    with open_bin(store) as shelf:
        put_heads(shelf, *(measured(name, 180.0, 181.0) for name in "ABCD"))
        put_heads(shelf, measured("E", 180.0, None), measured("F", 180.0, 250.0))
        put_heads(shelf, measured("G", 5.0, 5.1, kind="two-erase"))
        put_heads(shelf, measured("H", 180.0, 181.0, kind="two-channel-playback-high"))
    spares(store, "use", "B", "--why", "deck")
    spares(store, "scrap", "C", "--why", "worn")

    assert ["D", "F"] == names(store, "A")
    assert ["D"] == names(store, "A", "--grade", "matched")
    assert [] == names(store, "A", "--grade", "partial", code=None)
    spares(store, "restore", "B", "--why", "came back")
    assert {"B", "D", "F"} == set(names(store, "A"))


def test_pins_come_before_nearness(store: str) -> None:
    """A head on other pins is offered last, however near, and says so."""
    with open_bin(store) as shelf:
        put_heads(
            shelf,
            measured("broken", 180.0, None),
            measured("far", 120.0, 121.0),
            measured("near", 180.1, 180.2, kind="two-channel-rp-common"),
        )
    found = document(store, "find", "broken")["offers"]
    shown = spares(store, "find", "broken")

    assert [("far", True), ("near", False)] == [(e["name"], e["same_pins"]) for e in found]
    assert "others" in shown


def test_inductance_decides_between_like_resistances(store: str) -> None:
    """Where it was measured on both, at one frequency."""
    with open_bin(store) as shelf:
        put_heads(
            shelf,
            measured("broken", 180.0, 180.0),
            measured("closer", 180.0, 180.1),
            measured("right", 181.0, 181.0),
        )
        for name, henry in (("broken", 0.100), ("closer", 0.130), ("right", 0.101)):
            for coil in "12":
                found = ImpedanceOf("", coil, "", 10_000.0, henry, 0.001, "")
                with shelf.write() as connection:
                    keep_impedance(connection, find_head(connection, name), found)
    offers = document(store, "find", "broken")["offers"]

    assert ["right", "closer"] == [each["name"] for each in offers]
    assert [0.01, 0.3] == [pytest.approx(each["inductance_deviation"]) for each in offers]


def test_a_head_of_which_nothing_is_known(store: str) -> None:
    """Offers by layout only, and says so; one that cannot be judged has none at all."""
    with open_bin(store) as shelf:
        put_heads(shelf, measured("dead", None, None), measured("A", 180.0, 181.0))
    found = document(store, "find", "dead")

    assert ["A"] == [each["name"] for each in found["offers"]]
    assert "No coil of dead is sound" in found["notes"][0]
    assert found["offers"][0]["resistance_deviation"] is None


def test_a_head_that_cannot_be_judged(store: str) -> None:
    """Nothing can be compared with it: said, with exit code 1; its history says why."""
    with open_bin(store) as shelf:
        put(shelf, "X", rows("coil,reading\n1,171\n"), kind="gone")
        put_heads(shelf, measured("A", 180.0, 181.0))
    found = document(store, "find", "X", code=1)
    past = document(store, "history", "X")

    assert [] == found["offers"]
    assert "X cannot be judged" in found["notes"][0]
    assert "cannot be judged: kind: saw 'gone'" in past["notes"][0]


def test_none_that_fits(store: str) -> None:
    """Said, with exit code 1."""
    with open_bin(store) as shelf:
        put_heads(shelf, measured("alone", 180.0, 181.0))
    ran = cli("spares", "find", "alone", "--store", store)

    assert 1 == ran.code
    assert "no head of the bin fits" in ran.out


def test_several_heads_get_one_each(store: str) -> None:
    """The nearest of both is given where it is needed most; the third gets none."""
    with open_bin(store) as shelf:
        put_heads(
            shelf,
            measured("X", 180.0, None),
            measured("Y", 182.0, None),
            measured("Z", 300.0, None, kind="coils-2"),
            measured("A", 181.0, 181.0),
            measured("B", 160.0, 160.0),
        )
    found = document(store, "find", "X", "Y", "Z", code=1)["offers"]
    pairs = {each["in_place_of"]: each["name"] for each in found}

    assert {"A", "B", None} == set(pairs.values())
    assert 3 == len(found)
    assert "none" in spares(store, "find", "X", "Y", "Z", code=1)


@hypothesis_settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.integers(1, 6))
def test_the_search_finds_what_looking_at_all_finds(seed: int, most: int) -> None:
    """Ended early by the bound of the totals, it offers exactly the best of all."""
    chance = random.Random(seed)  # noqa: S311 - invented heads
    rules = Rules.of(settings())
    with Bin.empty() as shelf:
        put_heads(shelf, measured("wanted", chance.uniform(120, 300), None, isolated=False))
        kinds = ["two-channel-rp", "two-channel-rp-common"]
        put_heads(
            shelf,
            *(
                measured(
                    f"N{number}",
                    round(chance.uniform(110, 400), 1),
                    round(chance.uniform(110, 400), 1),
                    kind=chance.choice(kinds),
                )
                for number in range(14)
            ),
        )
        refresh(shelf, rules)
        with shelf.read() as connection:
            wanted = sought(connection, find_head(connection, "wanted"))
            found = donors(connection, wanted, most, AVAILABLE)
            fits = {
                (line.head.name, line.head.id): fit(wanted.coils, coils_of(figures))
                for line, _, figures in candidates(connection, AVAILABLE)
            }
    ranks = sorted((each.rank, place) for place, each in fits.items() if each is not None)
    offered = [(each.line.head.name, each.line.head.id) for each in found]

    assert [place for _, place in ranks[:most]] == offered
    assert [rank for rank, _ in ranks[:most]] == [each.fit.rank for each in found]


def test_equal_sets_and_donors_stand_by_name(store: str) -> None:
    """Ids are random within a millisecond: what is equal is ordered by name."""
    names_ = ["d", "B", "a", "C", "b", "A"]
    with open_bin(store) as shelf:
        put_heads(shelf, *(measured(name, 180.0, 181.0) for name in names_))
        put_heads(shelf, measured("broken", 180.0, None))
    sets = document(store, "match", "--sets", "3")["sets"]
    pair = document(store, "match")["sets"]

    assert sorted(names_) == names(store, "broken", "--most", "9")
    assert ["A", "B"] == [each["name"] for each in pair]
    assert [0.0] * 6 == [each["spread"] for each in sets]
    for number in (1, 2, 3):
        of_set = [each["name"] for each in sets if each["set"] == number]
        assert sorted(of_set) == of_set
    assert sets == document(store, "match", "--sets", "3")["sets"]
