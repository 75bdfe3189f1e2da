"""A head's whole evidence to one grade."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import pytest
from helpers import STATED, one_head

from coilmeter.compute.grade import NOT_PROVEN, grade
from coilmeter.values import (
    CoilResult,
    Condition,
    Grade,
    HeadResult,
    Isolation,
    IsolationResult,
    Match,
    Role,
)

SOUND = "1,171.0,\n2,172.0,\n"
PATHS = "1-2,OL 40 Mohm,coil-to-coil\n1,OL 40 Mohm,coil-to-case\n2,OL 40 Mohm,coil-to-case\n"


def coil(
    name: str,
    verdict: Condition = Condition.INTACT,
    between: tuple[Condition, ...] = (),
    match: Match = Match.MATCHED,
    deviation: float | None = 0.0,
) -> CoilResult:
    """Make a coil of which only the verdict matters."""
    return CoilResult(
        name,
        Role.RECORD_PLAYBACK,
        None,
        verdict,
        between=between,
        match=match,
        deviation=deviation,
        siblings=4,
    )


def path(
    verdict: Isolation, start: str = "1", between: tuple[str, ...] = ()
) -> IsolationResult:
    """Make a path of which only the verdict matters."""
    return IsolationResult(start, "case", verdict, between=between)


def two(rows: str, **changes: str) -> HeadResult:
    """Judge a two-channel head."""
    settings = {"kind": "two-channel-rp", "meter": "handheld-4000"} | STATED | changes
    return one_head(f"coil,reading,purpose\n{rows}", **settings)


GOOD = path(Isolation.ISOLATED)
OFF = Match.NOTICEABLE


@pytest.mark.parametrize(
    ("coils", "paths", "expected"),
    [
        ([coil("1"), coil("2")], [GOOD], Grade.MATCHED),
        ([coil("1"), coil("2", match=OFF, deviation=0.08)], [GOOD], Grade.UNMATCHED),
        ([coil("1"), coil("2", Condition.OPEN)], [GOOD], Grade.PARTIAL),
        ([coil("1"), coil("2")], [path(Isolation.LEAKING)], Grade.PARTIAL),
        ([coil("1"), coil("2")], [path(Isolation.BRIDGED)], Grade.PARTIAL),
        ([coil("1", Condition.OPEN), coil("2", Condition.SHORTED)], [GOOD], Grade.DEAD),
        ([coil("1"), coil("2", Condition.UNSTABLE)], [GOOD], Grade.UNSTABLE),
        ([coil("1"), coil("2", Condition.MISSING)], [GOOD], Grade.RECHECK),
        ([coil("1"), coil("2")], [path(Isolation.MISSING)], Grade.RECHECK),
        ([coil("1"), coil("2", match=Match.UNDECIDED)], [GOOD], Grade.RECHECK),
        (
            [coil("1"), coil("2", Condition.UNDECIDED, (Condition.LOW, Condition.INTACT))],
            [GOOD],
            Grade.RECHECK,
        ),
        (
            [coil("1"), coil("2", Condition.UNDECIDED, (Condition.HIGH, Condition.OPEN))],
            [GOOD],
            Grade.PARTIAL,
        ),
        (
            [coil("1"), coil("2")],
            [path(Isolation.UNDECIDED, between=("leaking", "doubtful", "isolated"))],
            Grade.RECHECK,
        ),
        (
            [coil("1"), coil("2")],
            [path(Isolation.UNDECIDED, between=("bridged", "leaking"))],
            Grade.PARTIAL,
        ),
    ],
)
def test_grades(coils: list[CoilResult], paths: list[IsolationResult], expected: Grade) -> None:
    """Each grade from the evidence it stands for, ending with what it does not prove."""
    found, reason = grade(coils, paths)

    assert expected == found
    assert reason.endswith(NOT_PROVEN)


def test_a_partial_head_lists_its_sound_coils() -> None:
    """What is sound and what is not stands in the reason, by name."""
    coils = [coil("1"), coil("2", Condition.OPEN), coil("3"), coil("4", Condition.SHORTED)]
    _, reason = grade(coils, [path(Isolation.LEAKING, "3")])

    assert "2 of 4 coils intact; sound: coil 1. Faulty: " in reason
    assert "coil 2 open; coil 4 shorted; 3 to case leaking" in reason


def test_an_unstable_head_still_tells_its_faults() -> None:
    """A shorted coil is not passed over because another one is unstable."""
    coils = [coil("1", Condition.UNSTABLE), coil("2", Condition.SHORTED)]
    found, reason = grade(coils, [path(Isolation.LEAKING)])

    assert Grade.UNSTABLE == found
    assert "coil 2 shorted" in reason
    assert "1 to case leaking" in reason


def test_open_questions_are_named() -> None:
    """Missing coils, undecided coils, unread paths: each by name."""
    coils = [
        coil("1", Condition.UNDECIDED, (Condition.INTACT, Condition.HIGH)),
        coil("2", Condition.MISSING),
        coil("3", match=Match.UNDECIDED),
    ]
    _, reason = grade(coils, [path(Isolation.MISSING), path(Isolation.UNDECIDED, "3")])

    assert "undecided coil 1" in reason
    assert "coil not measured 2" in reason
    assert "match undecided for coil 3" in reason
    assert "isolation undecided 3 to case" in reason
    assert "isolation not measured 1 to case" in reason


def test_matched_needs_every_path() -> None:
    """Coils alone never make a head matched."""
    assert Grade.RECHECK == two(SOUND).grade
    assert Grade.MATCHED == two(SOUND + PATHS).grade


def test_no_coil_read_is_not_matched() -> None:
    """A file that holds isolation readings and no coil proves no coil sound."""
    head = one_head("coil,reading,purpose\n1,OL 40 Mohm,coil-to-case\n")

    assert Grade.MATCHED != head.grade
    assert "siblings matched" not in head.grade_reason


def test_isolation_that_nobody_read_is_not_called_good() -> None:
    """A head without case and with one coil has no path to read, and none was read."""
    _, reason = grade([coil("1", match=Match.NO_SIBLING, deviation=None)], [])

    assert "isolation good" not in reason


def test_a_leaking_coil_named_by_its_pins_is_not_sound() -> None:
    """Without a kind, a pin that leaks to the case belongs to the coil read on that pin."""
    head = one_head(
        "pins,reading\n1-2,171.0\n3-4,172.0\n1-case,0.2 Mohm\n", meter="handheld-4000", **STATED
    )

    assert Grade.PARTIAL == head.grade
    assert "sound: 1-2" not in head.grade_reason


def test_a_head_named_by_its_pins_can_be_matched() -> None:
    """Without a kind, paths read between pins count for the coils on those pins."""
    head = one_head(
        "pins,reading,purpose\n1-2,171.0,coil\n3-4,172.0,coil\n1-3,OL 40 Mohm,coil-to-coil\n"
        "2-case,OL 40 Mohm,coil-to-case\n4-case,OL 40 Mohm,coil-to-case\n",
        meter="handheld-4000",
        band="rp-cassette",
        **STATED,
    )

    assert Grade.MATCHED == head.grade


@pytest.mark.parametrize("pins", ["1-case", "2-case", "R-case"])
def test_any_pin_of_a_common_return_reaches_the_case_for_all(pins: str) -> None:
    """Coils joined by a pin are one group: a path from any of its pins is read for all."""
    head = one_head(
        f"pins,reading\n1-R,171.0\n2-R,172.0\n{pins},OL 40 Mohm\n",
        kind="two-channel-rp-common",
        meter="handheld-4000",
        **STATED,
    )

    assert Grade.MATCHED == head.grade
    assert [Isolation.ISOLATED] == [path.verdict for path in head.isolation]


def test_the_other_end_of_an_open_coil_can_be_read_too() -> None:
    """What the caution asks for must be possible: a path from each end of an open coil."""
    text = (
        "pins,reading\n1-2,171.0\n3-4,OL 40 Mohm\n1-3,OL 40 Mohm\n1-case,OL 40 Mohm\n"
        "3-case,OL 40 Mohm\n"
    )
    changes = {"kind": "two-channel-rp", "meter": "handheld-4000"} | STATED
    asked = one_head(text, **changes)
    done = one_head(text + "4-case,0.1 Mohm\n", **changes)

    assert any("read the other end too" in caution for caution in asked.cautions)
    assert "leaking" in done.grade_reason
