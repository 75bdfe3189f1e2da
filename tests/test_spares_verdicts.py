"""Verdicts on the bin: computed where evidence or rules have changed, and nowhere else."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

import pytest
from helpers import cli, rows, settings, shipped
from spares_graded import GRADES, HEADS
from spares_helpers import measured, open_bin, put, put_heads, sheet, spares
from sqlalchemy import select

from coilmeter.compute.judge import judge_rows
from coilmeter.spares import judging as judging_module
from coilmeter.spares import verdicts as verdicts_module
from coilmeter.spares.rules import Rules, before, remember
from coilmeter.spares.schema import verdicts
from coilmeter.spares.searching import Wanted, days_ago, search
from coilmeter.spares.store import Bin
from coilmeter.spares.verdicts import refresh, stale
from coilmeter.units import ohms
from coilmeter.values import Grade

RULES: Final = Rules.of(settings())


def wider(low: float, high: float) -> Rules:
    """Make rules in which the band of the heads has other limits."""
    bands = dict(shipped().bands)
    bands["rp-cassette"] = replace(bands["rp-cassette"], low=ohms(low), high=ohms(high))
    return Rules.of(settings(bands=bands))


def grades(shelf: Bin, wanted: Wanted = Wanted()) -> dict[str, str]:  # noqa: B008 - frozen
    """List the heads that are asked for, by name, with their grades."""
    with shelf.read() as connection:
        return {line.head.name: line.grade for line in search(connection, wanted)}


def test_the_table_says_what_the_judge_says(store: str) -> None:
    """For each grade that there is, and the reason word for word."""
    with open_bin(store) as shelf:
        put_heads(shelf, *HEADS)
        refresh(shelf, RULES)
        with shelf.read() as connection:
            found = {line.head.name: line for line in search(connection, Wanted())}
    expected = {head.head: head for head in judge_rows(rows(sheet(*HEADS)), settings())}

    assert GRADES == {name: line.grade for name, line in found.items()}
    for name, line in found.items():
        judged = expected[name]
        values = [c.resistance_20c_ohm for c in judged.coils if c.resistance_20c_ohm]
        assert judged.grade_reason == line.reason
        assert (2, ("rp",)) == (line.coils, line.roles)
        assert min(values, default=None) == line.low_ohm
        assert max(values, default=None) == line.high_ohm


def test_only_what_has_changed_is_judged_again(
    store: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing the second time, one head after it was measured again, all under other rules."""
    judged: list[int] = []
    usual = judging_module.judge_heads

    def counting(of_heads: Any, given: Any) -> Any:
        judged.append(len(of_heads))
        return usual(of_heads, given)

    monkeypatch.setattr(verdicts_module, "judge_heads", counting)
    with open_bin(store) as shelf:
        put_heads(shelf, *HEADS)
        refresh(shelf, RULES)
        refresh(shelf, RULES)
        put_heads(shelf, measured("B", 171.5, 171.9, day="2026-05-01"))
        refresh(shelf, RULES)
        after = grades(shelf)["B"]
        refresh(shelf, wider(300, 400))
        refresh(shelf, RULES)

    assert [5, 1, 5, 5] == judged
    assert Grade.MATCHED == after


def test_a_head_measured_while_it_was_judged_is_stale(store: str) -> None:
    """Its verdict was of what was there before: it does not count afterwards."""
    with open_bin(store) as shelf, open_bin(store) as other:
        put_heads(shelf, HEADS[0])
        with shelf.read() as connection:
            (identity,) = stale(connection, RULES)
            found = verdicts_module.judged_rows(connection, [identity], RULES)
        put_heads(other, measured("A", 171.3, None, day="2026-05-01"))
        with shelf.write() as connection:
            connection.execute(verdicts.insert(), found)
        with shelf.read() as connection:
            still = stale(connection, RULES)

    assert [identity] == still


@pytest.mark.parametrize(
    ("changes", "same"),
    [
        ({}, True),
        ({"kind": "two-erase", "band": "erase"}, True),
        ({"confidence": 0.99}, False),
        ({"leaking_below_ohm": 2e6}, False),
        ({"temperature": "25"}, False),
        ({"meter": "handheld-4000"}, False),
    ],
)
def test_rules_are_known_by_what_a_verdict_rests_on(
    changes: dict[str, Any],
    same: bool,  # noqa: FBT001 - a parameter of the test
) -> None:
    """A kind or band for heads of their own is none of it; all else is."""
    assert same is (Rules.of(settings(**changes)).digest == RULES.digest)


def test_rules_do_not_change_with_words_for_people() -> None:
    """A description or basis judges nothing; a limit does."""
    bands = dict(shipped().bands)
    bands["erase"] = replace(bands["erase"], description="other", basis="other")
    limits = dict(bands) | {"erase": replace(bands["erase"], high=ohms(13.0))}

    assert RULES.digest == Rules.of(settings(bands=bands)).digest
    assert RULES.digest != Rules.of(settings(bands=limits)).digest


def test_the_bands_before_are_remembered(store: str) -> None:
    """The last others that were in use, with their limits to the last digit."""
    old = wider(0.1 + 0.2, 1e3 / 3)
    with open_bin(store) as shelf:
        with shelf.read() as connection:
            nothing = before(connection, RULES)
        with shelf.write() as connection:
            remember(connection, wider(1, 2))
            remember(connection, old)
            remember(connection, RULES)
        with shelf.read() as connection:
            found = before(connection, RULES)

    assert nothing is None
    assert found is not None
    assert old.settings.bands["rp-cassette"].limits_ohm == (
        found.settings.bands["rp-cassette"].limits_ohm
    )
    assert old.digest == Rules.of(found.settings).digest


def test_a_head_that_cannot_be_judged_now(store: str) -> None:
    """Its kind, band or coils are no longer defined: said, and the others are judged."""
    with open_bin(store) as shelf:
        put_heads(shelf, *HEADS)
        put(shelf, "X", rows("coil,reading\n1,171\n"), kind="gone")
        put(shelf, "Y", rows("coil,reading\n7,171\n"), kind="two-channel-rp")
        put(shelf, "Z", rows("coil,reading\n1,48\n"), kind="coils-1", band="gone")
        put(shelf, "W", rows("coil,reading,purpose\n,0.2,lead-null\n"), kind="coils-1")
        refresh(shelf, RULES)
        with shelf.read() as connection:
            found = {line.head.name: line for line in search(connection, Wanted())}
    shown = cli("spares", "show", "X", "--store", store)
    listed = spares(store, "list", "--grade", "not judged")

    assert GRADES | dict.fromkeys("WXYZ", "") == {n: line.grade for n, line in found.items()}
    assert "kind: saw 'gone'" in found["X"].reason
    assert "coil: saw '7'" in found["Y"].reason
    assert "no band is called 'gone'" in found["Z"].reason
    assert "nothing to judge" in found["W"].reason
    assert 1 == shown.code
    assert "NOT JUDGED" in shown.out
    assert 4 == listed.count("is not judged: ")


FILTERS: Final[list[tuple[Wanted, set[str]]]] = [
    (Wanted(grades=("partial", "dead")), {"B", "D"}),
    (Wanted(kinds=("two-channel-rp",)), set("ABCDE")),
    (Wanted(kinds=("four-erase",)), set()),
    (Wanted(roles=("rp",)), set("ABCDE")),
    (Wanted(roles=("erase", "record")), set()),
    (Wanted(statuses=("used",)), {"A"}),
    (Wanted(statuses=("available", "scrapped")), set("BCDE")),
    (Wanted(newer_than="2026-04-01"), {"E"}),
    (Wanted(older_than="2026-04-01"), set("ABCD")),
    (Wanted(text="BLUE"), {"C"}),
    (Wanted(text="left deck"), {"A"}),
    (Wanted(text="two-CHANNEL"), set("ABCDE")),
    (Wanted(text="100 %"), {"D"}),
    (Wanted(text="100_%"), set()),
    (Wanted(grades=("matched",), text="blue"), set()),
]


@pytest.mark.parametrize(("wanted", "names"), FILTERS)
def test_heads_that_are_asked_for(store: str, wanted: Wanted, names: set[str]) -> None:
    """By grade, kind, role, status, age and text, each and together; no pattern in a text."""
    with open_bin(store) as shelf:
        put_heads(shelf, *HEADS[:4], measured("E", 171.3, day="2026-06-01"))
    spares(store, "use", "A", "--why", "Left deck")
    spares(store, "note", "C", "from the blue crate")
    spares(store, "note", "D", "100 % sure")
    with open_bin(store) as shelf:
        refresh(shelf, RULES)
        found = grades(shelf, wanted)

    assert names == set(found)


def test_an_age_is_counted_from_now() -> None:
    """So many days ago, in the form that records have."""
    assert days_ago(1) < days_ago(0.5) < days_ago(0)
    assert days_ago(0).endswith("+00:00")


def test_passes_over_arrays_change_nothing(store: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two heads at a time are judged like all at once."""
    with open_bin(store) as shelf:
        put_heads(shelf, *HEADS)
        refresh(shelf, RULES)
        with shelf.read() as connection:
            whole = connection.execute(select(verdicts)).all()
        refresh(shelf, wider(1, 2))
        monkeypatch.setattr(verdicts_module, "PASS", 2)
        refresh(shelf, RULES)
        with shelf.read() as connection:
            parts = connection.execute(select(verdicts)).all()

    assert sorted(whole) == sorted(parts)
