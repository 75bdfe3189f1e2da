"""Suspects to the letter: topology of the trade, fewest faults, and what clashes."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import itertools

import pytest
from chain_helpers import broken, diagnosed, said, shipped_chains
from hypothesis import given
from hypothesis import strategies as st

from coilmeter.compute.chain_diagnosis import Standing, Verdict
from coilmeter.compute.chain_logic import ALL, Fault, Logic, fewest_sets, minimal_sets
from coilmeter.values.chains import Outcome, Seen

conflicts = st.lists(st.frozensets(st.integers(0, 6), min_size=1, max_size=4), max_size=5)
ALL_WORK = [f"{track}:complaint=pass" for track in "124"]
ALL_FAIL = [f"{track}:complaint=fail" for track in "124"]


def clash_names(fault: str, *texts: str) -> set[frozenset[str]]:
    """Give the sets of things seen that clash, as texts."""
    logic = Logic(shipped_chains()[fault], said(fault, *texts))
    return {frozenset(str(seen) for seen in clash) for clash in logic.clashes()}


def explained(fault: str, *texts: str) -> set[frozenset[Fault]]:
    """Give the sets of the fewest faults that explain all."""
    return set(Logic(shipped_chains()[fault], said(fault, *texts)).explanations())


# The rules of topology below are derived from the paths of the signal.


def test_one_track_that_does_not_erase_is_never_the_oscillator() -> None:
    """Coil, lead or enable, or contact; what all tracks share is cleared by the others."""
    found = diagnosed("erase", *ALL_WORK)
    likely = {name for name, chance in broken(found).items() if chance > 0.05}

    assert {"coil-open", "cable-plug", "track-enable", "contact"} == likely
    assert Standing.CLEARED is found.result("oscillator").standing
    assert found.result("oscillator").probability < 0.001
    assert {"coil-open", "cable-plug", "track-enable", "contact"} <= {
        fault.link for faults in found.explanations for fault in faults
    }
    assert "oscillator" not in {fault.link for faults in found.explanations for fault in faults}


def test_all_tracks_that_do_not_erase_are_oscillator_supply_or_lead() -> None:
    """With a clean face and a tape that erases elsewhere, only these two are left on top."""
    found = diagnosed("erase", *ALL_FAIL, "look=pass", "tape-elsewhere=pass")
    first, second = (each.link.name for each in found.ranked[:2])

    assert {"oscillator", "cable-plug"} == {first, second}
    assert found.result("cable-plug").common > 0.9 * found.result("cable-plug").probability
    alone = ("coil-open", "track-enable", "shorted-turns")
    assert max(broken(found)[name] for name in alone) < 0.03
    assert all(fault.track == ALL for faults in found.explanations for fault in faults)


def test_field_on_all_tracks_and_the_old_tone_remains() -> None:
    """Bias seen at every erase coil: contact, height or tape, and no electronics."""
    field = [f"{track}:erase-field=pass" for track in "1234"]
    found = diagnosed("erase", *ALL_FAIL, *field)

    assert {"contact", "tape-format"} == {
        name for name, chance in broken(found).items() if chance > 0.05
    }
    cleared = ("coil-open", "cable-plug", "oscillator", "track-enable")
    assert {Standing.CLEARED} == {found.result(name).standing for name in cleared}


def test_a_tone_at_the_face_that_comes_through_clears_all_that_is_electrical() -> None:
    """Contact, height and gap remain, and what such a tone may miss."""
    found = diagnosed("playback", *ALL_WORK, "tone-at-face=pass")
    electrical = ("coil-open", "pin-joint", "cable-plug", "mode-switch", "preamp")

    assert "contact" == found.ranked[0].link.name
    assert found.ranked[0].probability > 5 * found.ranked[1].probability
    assert max(broken(found)[name] for name in electrical) < 0.02
    assert {Standing.CLEARED} == {found.result(name).standing for name in electrical}


def test_both_functions_dead_are_what_they_share() -> None:
    """A track that neither plays nor records: coil, joint, lead, switch, or contact."""
    found = diagnosed("playback", *ALL_WORK, "look=pass", "records-too=fail")
    shared = {"coil-open", "pin-joint", "cable-plug", "mode-switch"}

    assert shared == {each.link.name for each in found.ranked[:4]}
    assert sum(broken(found)[name] for name in shared) > 0.8


def test_only_one_function_dead_is_the_board() -> None:
    """A track that records and does not play: what comes behind the switch, or itself."""
    found = diagnosed("playback", *ALL_WORK, "look=pass", "records-too=pass")
    board = {"mode-switch", "coupling-open", "coupling-leaky", "preamp", "output-stage"}

    assert board == {each.link.name for each in found.ranked[:5]}
    cleared = ("coil-open", "pin-joint", "cable-plug", "contact")
    assert {Standing.CLEARED} == {found.result(name).standing for name in cleared}


def test_a_known_tape_that_plays_clears_coil_lead_and_contact_of_recording() -> None:
    """Where one head records and plays, a pass clears all three at once."""
    found = diagnosed("record", "known-tape=pass")
    cleared = ("coil-open", "cable-plug", "contact")

    assert {Standing.CLEARED} == {found.result(name).standing for name in cleared}
    assert ["known-tape=pass"] == [str(each) for each in found.result("contact").cleared_by]


def test_two_faults_at_once_are_found() -> None:
    """An open coil and a dead board channel: no single fault explains both."""
    texts = ("ohms-at-head=fail", "ohms-at-plug=fail", "flex-lead=pass", "tone-at-preamp=fail")
    found = diagnosed("playback", *ALL_WORK, *texts, "isolation=pass")

    pairs = {frozenset(fault.link for fault in faults) for faults in found.explanations}
    assert {2} == {len(faults) for faults in found.explanations}
    assert {"coil-open", "preamp"} in pairs
    assert found.result("coil-open").probability > 0.8


@given(conflicts)
def test_minimal_sets_are_minimal_and_all_there(sets: list[frozenset[int]]) -> None:
    """Exactly the sets that hit every conflict and of which no member can be spared."""
    members = sorted(set().union(*sets)) if sets else []
    hitting = [
        frozenset(chosen)
        for size in range(len(members) + 1)
        for chosen in itertools.combinations(members, size)
        if all(set(chosen) & each for each in sets)
    ]
    minimal = {each for each in hitting if not any(other < each for other in hitting)}

    assert minimal == set(minimal_sets(sets))
    assert len(minimal) == len(minimal_sets(sets))


@given(conflicts)
def test_fewest_sets_are_the_smallest_of_the_minimal_ones(sets: list[frozenset[int]]) -> None:
    """What is found without making all of them is what would come first."""
    every = minimal_sets(sets)
    fewest = len(every[0])

    assert {each for each in every if len(each) == fewest} == set(fewest_sets(sets))


def test_a_conflict_with_nobody_in_it_has_no_explanation() -> None:
    """Nothing hits an empty set, and more faults than anyone looks for are not listed."""
    assert [] == fewest_sets([frozenset([1]), frozenset()])
    assert [] == minimal_sets([frozenset()])
    assert [] == fewest_sets([frozenset([n]) for n in range(9)])


def test_a_failure_that_others_rule_out_clashes_with_them() -> None:
    """Open at the head, good at the plug, isolation good: one of the three is wrong."""
    texts = ("ohms-at-head=fail", "ohms-at-plug=pass", "isolation=pass")

    assert {frozenset(texts)} == clash_names("playback", *texts, "look=pass")
    assert set() == explained("playback", *texts)


def test_one_test_that_says_two_things_clashes_with_itself() -> None:
    """Passed and failed on one track; on another track it is another matter."""
    once = ("hiss=pass", "hiss=fail")

    assert {frozenset(once)} == clash_names("playback", *once)
    assert set() == clash_names("playback", "hiss=pass", "1:hiss=fail")


def test_a_complaint_that_its_own_test_denies_is_named() -> None:
    """It does not play, and a known tape plays: the tape, a setting, or it comes and goes."""
    expected = {frozenset({"complaint=fail", "known-tape=pass"})}

    assert expected == clash_names("playback", "known-tape=pass")


def test_everything_good_and_still_dead_names_the_fewest_that_clash() -> None:
    """All tests of erasing good but the complaint: the smallest set, complaint included."""
    texts = ("look=pass", "tape-elsewhere=pass", "current=pass")
    found = clash_names("erase", *texts, "ohms-at-plug=pass", "oscillator=pass")

    assert {frozenset({"complaint=fail", *texts})} == found


def test_what_another_track_shows_can_clash_too() -> None:
    """All tracks lack the erase field and the oscillator is good, and so is each coil."""
    tracks = [f"{track}:erase-tone=fail" for track in "12"]
    good = ["look=pass", "1:current=pass", "tape-elsewhere=pass", "1:look=pass"]

    found = clash_names("erase", *tracks, *good)

    assert all("erase-tone=fail" in clash or "complaint=fail" in clash for clash in found)
    assert found


def test_a_repair_comes_between_what_was_seen_before_and_after() -> None:
    """A coil that read open and reads well since its joint was mended is no clash."""
    before = ("ohms-at-head=fail", "pin-joint=repaired")

    assert set() == clash_names("playback", *before, "ohms-at-head=pass")
    assert set() != clash_names("playback", *before, "ohms-at-head=pass", "ohms-at-head=fail")


def test_what_was_repaired_explains_what_came_before_it() -> None:
    """The dirt was cleaned and it is still dead: another link, and one is enough."""
    seen = ("look=fail", "contact=repaired", "complaint=fail")
    found = {frozenset(fault.link for fault in each) for each in explained("playback", *seen)}

    assert frozenset({"contact"}) not in found
    assert frozenset({"coupling-open"}) in found


def test_a_link_found_sound_is_cleared_by_that() -> None:
    """A cable that somebody replaced is no suspect; nor does it explain anything."""
    found = diagnosed("playback", "cable-plug=sound")

    assert Standing.CLEARED is found.result("cable-plug").standing
    assert ["cable-plug=sound"] == [str(x) for x in found.result("cable-plug").cleared_by]
    assert "cable-plug" not in {f.link for each in found.explanations for f in each}


def test_unknown_says_nothing() -> None:
    """A test that told nothing clears nothing, clashes with nothing, and is not asked again."""
    found = diagnosed("playback", "look=unknown")

    assert broken(diagnosed("playback")) == pytest.approx(broken(found))
    assert "look" not in {each.test.name for each in found.tests}
    assert set() == clash_names("playback", "look=unknown", "look=pass")


def test_a_swap_clears_one_side_and_points_to_the_other() -> None:
    """Follows: board and switch are cleared; stays: the head's side is."""
    follows, stays = (
        diagnosed("playback", f"swap-at-plug={to}") for to in ("follows", "stays")
    )

    board = ("mode-switch", "coupling-open", "preamp")
    head = ("coil-open", "contact", "cable-plug")
    assert {Standing.CLEARED} == {follows.result(name).standing for name in board}
    assert {Standing.CLEARED} == {stays.result(name).standing for name in head}
    assert sum(broken(follows)[name] for name in head) > 0.5
    assert sum(broken(stays)[name] for name in board) > 0.5


def test_contradiction_comes_first_and_leaves_suspects() -> None:
    """The clash is named, the least fitting part first; probabilities are never all zero."""
    found = diagnosed(
        "playback", "ohms-at-head=fail", "ohms-at-plug=pass", "isolation=pass", "hiss=pass"
    )

    assert Verdict.CLASH is found.verdict
    assert Verdict.CLASH is not found.by_odds
    assert "ohms-at-head" == found.clashes[0][0].name
    assert sum(broken(found).values()) > 0.9
    assert Seen("ohms-at-head", Outcome.FAIL, "3") in found.clashes[0]
