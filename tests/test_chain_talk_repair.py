"""The end of a case at the prompt: a link that is sure, its repair, and what came of it."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from pathlib import Path

import pytest
from chain_talks import BEGIN, asked, seen, talk


def test_found_closes_at_any_time(tmp_path: Path) -> None:
    """With a link of the chain."""
    ran = talk(tmp_path, *BEGIN, "found nose", "found contact")

    assert "no link of playback is called 'nose'" in ran.err
    assert "case playback-3 is closed: contact." in ran.err
    assert 0 == ran.code


SURE = (
    *BEGIN,
    *(
        "test G",
        "follows",
        "test B",
        "no",
        "test C",
        "no",
        "saw coil-open=sound",
        "test A",
        "no",
    ),
)
"""Answers after which the joint is sure."""


def test_a_repair_that_did_not_help_goes_on(tmp_path: Path) -> None:
    """It is cleared, the complaint counts again, and the next test is asked."""
    ran = talk(tmp_path, *SURE, "yes", "perhaps", "no")

    assert "yes, no, or later" in ran.err
    assert ["3:pin-joint=repaired", "3:complaint=fail"] == seen(tmp_path)[-2:]
    assert "\n[" in ran.err.partition("cleared: pin-joint")[2]


@pytest.mark.parametrize("word", ["later", "quit"])
@pytest.mark.parametrize("before", [(), ("",)])
def test_later_leaves_it_open(tmp_path: Path, word: str, before: tuple[str, ...]) -> None:
    """Before or after the repair: nothing is closed."""
    ran = talk(tmp_path, *SURE, *before, word)

    assert "stays open" in ran.err
    assert 1 == ran.code
    assert "REPAIR pin-joint" in ran.out


def test_another_link_was_repaired(tmp_path: Path) -> None:
    """It is closed as that one."""
    ran = talk(tmp_path, *SURE, "nose", "cable-plug", "yes")

    assert "saw 'nose', expected one of the words above" in ran.err
    assert "is closed: cable-plug." in ran.err


def test_testing_can_go_on_though_one_is_sure(tmp_path: Path) -> None:
    """One more is asked for by that word; why and draw answer there too."""
    ran = talk(tmp_path, *SURE, "why", "how", "test", "yes")

    assert "Suspects: pin-joint" in ran.err
    assert "name one: how look." in ran.err
    assert asked(ran)[-1] not in {"swap-at-plug", "ohms-at-plug", "flex-lead", "ohms-at-head"}


def test_undecided_names_what_to_try(tmp_path: Path) -> None:
    """With tests left out, nothing tells them apart: an order, and what would decide."""
    needs = ["known-tape", "lcr", "tone-source", "spare-coil", "voltmeter", "second-deck"]
    left_out = [word for need in [*needs, "live"] for word in ("--cannot", need)]
    words = ("--fault", "playback", "--track", "3", "--failing", "all", *left_out)
    ran = talk(tmp_path, *["unknown"] * 12, words=words)

    assert "UNDECIDED between" in ran.err
    assert "In this order they are worth a try:" in ran.err
    assert "1. contact: clean face, pad and roller" in ran.err
    assert "would tell more; left out:" in ran.err
