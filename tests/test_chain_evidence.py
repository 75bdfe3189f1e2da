"""Judged heads, flexing and impedance as outcomes of the tests of a chain."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from dataclasses import replace

import pytest
from chain_helpers import shipped_chains
from helpers import one_head

from coilmeter.compute.chain_evidence import (
    OF_CONDITION,
    OF_SIGN,
    OF_STABILITY,
    Place,
    of_heads,
    of_impedance,
)
from coilmeter.values import (
    Condition,
    FlexEvidence,
    HeadResult,
    Isolation,
    Role,
    Stability,
)
from coilmeter.values.impedances import CoilImpedance, HeadImpedance, Sign

HEAD = """head,kind,coil,reading,purpose
A-1,two-channel-rp,1,171.0,
A-1,two-channel-rp,2,OL 40 Mohm,
A-1,two-channel-rp,1,OL 40 Mohm,coil-to-case
A-1,two-channel-rp,2,OL 40 Mohm,coil-to-case
A-1,two-channel-rp,1-2,OL 40 Mohm,coil-to-coil
"""


def told(
    head: HeadResult, fault: str = "playback", track: str = "2", **how: object
) -> set[str]:
    """Give what a head says, as texts with the track."""
    seen = of_heads(shipped_chains()[fault], [head], track, **how)  # type: ignore[arg-type]
    return {f"{each.track}:{each}" for each in seen}


def with_coil(head: HeadResult, place: int, **changes: object) -> HeadResult:
    """Change one coil of a head."""
    coils = list(head.coils)
    coils[place] = replace(coils[place], **changes)  # type: ignore[arg-type]
    return replace(head, coils=tuple(coils))


def test_coils_are_tracks_of_their_names() -> None:
    """An intact coil passes the ohms at the head, an open one fails them; isolation too."""
    expected = {
        "1:ohms-at-head=pass",
        "1:isolation=pass",
        "2:ohms-at-head=fail",
        "2:isolation=pass",
    }

    assert expected == told(one_head(HEAD))


def test_read_at_the_plug_it_is_another_test() -> None:
    """The same readings, taken at the plug."""
    found = told(one_head(HEAD), place=Place.PLUG)

    assert {"1:ohms-at-plug=pass", "2:ohms-at-plug=fail"} <= found
    assert "2:ohms-at-head=fail" not in found


def test_each_source_is_named() -> None:
    """Whoever reads it later sees where it comes from."""
    seen = of_heads(shipped_chains()["playback"], [one_head(HEAD)], "2")

    assert {"head A-1, coil 1", "head A-1, coil 2"} == {each.source for each in seen}


@pytest.mark.parametrize("condition", [*Condition])
def test_every_condition_is_thought_of(condition: Condition) -> None:
    """What is decided says pass or fail; what is not, nothing."""
    head = with_coil(one_head(HEAD), 1, verdict=condition)
    found = {each for each in told(head) if each.startswith("2:ohms")}

    if condition in {Condition.UNDECIDED, Condition.MISSING}:
        assert set() == found
        assert condition not in OF_CONDITION
    else:
        good = condition is Condition.INTACT
        assert {f"2:ohms-at-head={'pass' if good else 'fail'}"} == found


@pytest.mark.parametrize("stability", [*Stability])
def test_every_word_of_flexing_is_thought_of(stability: Stability) -> None:
    """Steady passes, noisy and intermittent fail; creeping and undecided say nothing."""
    unstable = Condition.UNSTABLE if stability.faulty else Condition.INTACT
    head = with_coil(one_head(HEAD), 1, verdict=unstable, flex=FlexEvidence(stability))
    found = {each for each in told(head) if each.startswith("2:")} - {"2:isolation=pass"}

    assert (stability in OF_STABILITY) is stability.decides
    if stability.faulty:
        # Unstable because of the flexing alone: the ohms at rest are another matter.
        assert {"2:flex-lead=fail"} == found
    elif stability is Stability.STEADY:
        assert {"2:flex-lead=pass", "2:ohms-at-head=pass"} == found
    else:
        assert {"2:ohms-at-head=pass"} == found


def test_a_leak_fails_isolation_of_both_sides() -> None:
    """A bridge between two coils is each one's; one path not read decides nothing."""
    head = one_head(HEAD)
    bridged = replace(head.isolation[0], verdict=Isolation.BRIDGED)
    others = [path for path in head.isolation if "case" in {path.start, path.end}]
    both = replace(head, isolation=(replace(bridged, start="1", end="2"), *others))
    missing = replace(head, isolation=(replace(others[0], verdict=Isolation.MISSING),))

    assert {"1:isolation=fail", "2:isolation=fail"} <= told(both)
    assert "isolation" not in " ".join(told(missing))


def test_roles_belong_to_chains() -> None:
    """An erase coil says nothing of playback, a record/playback coil nothing of erasing."""
    head = with_coil(one_head(HEAD), 1, role=Role.ERASE)

    assert {"1"} == {each.partition(":")[0] for each in told(head, track="1")}
    assert {"2:ohms-at-head=fail"} == told(head, "erase")
    assert "1" in {each.partition(":")[0] for each in told(head, "record", track="1")}


def test_a_head_with_one_fitting_coil_is_that_of_the_track() -> None:
    """Whatever the coil is called; and --coil names it where there are several."""
    single = one_head("head,kind,coil,reading\nB-1,one-channel-rp,1,OL 40 Mohm\n")

    assert {"left:ohms-at-head=fail"} == told(single, track="left")
    named = told(one_head(HEAD), track="left", coil="2")
    assert {"left:ohms-at-head=fail", "left:isolation=pass"} <= named
    assert "1:ohms-at-head=pass" in named


def test_a_chain_without_the_test_hears_nothing() -> None:
    """The record chain knows no isolation and no flexing."""
    assert {"1:ohms-at-head=pass", "2:ohms-at-head=fail"} == told(one_head(HEAD), "record")


@pytest.mark.parametrize("sign", [*Sign])
def test_every_sign_of_impedance_is_thought_of(sign: Sign) -> None:
    """No sign passes, what is suspicious fails, and what is undecided says nothing."""
    coils = {name: CoilImpedance((), sign) for name in ("1", "2")}
    head = HeadImpedance("A-1", "two-channel-rp", coils, {"1": Role.RECORD_PLAYBACK})
    seen = of_impedance(shipped_chains()["playback"], [head], "2")

    assert (sign in OF_SIGN) is (sign.suspicious or sign is Sign.NONE)
    outcome = "fail" if sign.suspicious else "pass"
    expected = {f"{track}:inductance={outcome}" for track in "12" if sign in OF_SIGN}
    assert expected == {f"{each.track}:{each}" for each in seen}


def test_impedance_beside_the_ohms_of_a_head() -> None:
    """What AC volts said of a coil stands with its verdict."""
    head = with_coil(one_head(HEAD), 0, impedance=CoilImpedance((), Sign.SHORTED))

    assert "1:inductance=fail" in told(head)
    assert "2:inductance=fail" not in told(head)


def test_impedance_of_one_coil_is_that_of_the_track() -> None:
    """Named or not; and a coil of another role says nothing of this chain."""
    one = HeadImpedance("A-1", "", {"x": CoilImpedance((), Sign.SHORTED)}, {})
    other = replace(one, roles={"x": Role.ERASE})
    chain = shipped_chains()["playback"]

    assert ["3"] == [each.track for each in of_impedance(chain, [one], "3")]
    assert ["3"] == [each.track for each in of_impedance(chain, [one], "3", coil="x")]
    assert ["x"] == [each.track for each in of_impedance(chain, [one], "3", coil="y")]
    assert [] == of_impedance(chain, [other], "3")
    assert [] == of_impedance(replace(chain, tests=()), [one], "3")
