"""Many heads without a verdict: only those asked for are judged, and whoever waits is told."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from typing import Final

import pytest
from helpers import cli, settings
from spares_helpers import document, measured, open_bin, put_heads, spares

from coilmeter.spares import verdicts as verdicts_module
from coilmeter.spares.rules import Rules
from coilmeter.spares.searching import Wanted
from coilmeter.spares.store import Bin
from coilmeter.spares.verdicts import refresh, stale

PLAYBACK: Final = "two-channel-playback-high"
RULES: Final = Rules.of(settings())
HEADS: Final = (
    measured("A-1", 171.3, 172.0),
    measured("A-2", 171.3, None),
    measured("B-1", 150.0, 190.0),
    measured("B-2", 300.0, 302.0, kind=PLAYBACK),
    measured("B-3", 171.3),
)


@pytest.fixture
def filled(store: str) -> str:
    """Make a bin of heads that nobody has judged yet."""
    with open_bin(store) as shelf:
        put_heads(shelf, *HEADS)
    return store


def outdated(shelf: Bin) -> int:
    """Count the heads without a verdict."""
    with shelf.read() as connection:
        return len(stale(connection, RULES))


@pytest.mark.parametrize(
    ("wanted", "left"),
    [
        (Wanted(), 0),
        (Wanted(text="a-"), 3),
        (Wanted(kinds=(PLAYBACK,)), 4),
        (Wanted(statuses=("used",)), 5),
        (Wanted(older_than="2026-01-01"), 5),
        # A grade or role is only known once a head is judged.
        (Wanted(grades=("dead",)), 0),
        (Wanted(roles=("playback",)), 0),
    ],
)
def test_only_what_can_be_meant_is_judged(filled: str, wanted: Wanted, left: int) -> None:
    """What evidence leaves out needs no verdict."""
    with open_bin(filled) as shelf:
        refresh(shelf, RULES, among=wanted)

        assert left == outdated(shelf)


@pytest.mark.parametrize(
    "words",
    [("--text", "A-"), ("--kind", PLAYBACK), ("--grade", "partial"), ("--role", "playback")],
)
def test_a_part_is_listed_like_the_whole(filled: str, words: tuple[str, str]) -> None:
    """The first list of a new bin says what it says once all are judged."""
    first = document(filled, "list", *words)["heads"]
    spares(filled, "list")

    assert first == document(filled, "list", *words)["heads"]
    assert first


def test_whoever_waits_is_told(filled: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """From some thousand heads on, pass by pass; here from four, in passes of two."""
    monkeypatch.setattr(verdicts_module, "MANY", 4)
    monkeypatch.setattr(verdicts_module, "PASS", 2)
    told: list[str] = []
    with open_bin(filled) as shelf:
        refresh(shelf, RULES, told.append)
        refresh(shelf, RULES, told.append)

    assert "judging 5 heads" in told[0]
    assert [f"{done} of 5 heads judged." for done in (2, 4, 5)] == told[1:]


def test_stopped_amid_it_nothing_is_judged_twice(
    filled: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ctrl-C after the first pass: its verdicts stay, and the next list goes on from there."""
    monkeypatch.setattr(verdicts_module, "MANY", 4)
    monkeypatch.setattr(verdicts_module, "PASS", 2)

    def impatient(text: str) -> None:
        if text.startswith("2 of"):
            raise KeyboardInterrupt

    with open_bin(filled) as shelf:
        with pytest.raises(KeyboardInterrupt):
            refresh(shelf, RULES, impatient)

        assert 3 == outdated(shelf)
    ran = cli("spares", "list", "--store", filled)
    assert 0 == ran.code
    assert all(name in ran.out for name in ("A-1", "A-2", "B-1", "B-2", "B-3"))
