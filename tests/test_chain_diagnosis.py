"""What comes next: test, repair, nothing broken, undecided; repairs that did not help."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import numpy as np
import pytest
from chain_helpers import (
    broken,
    diagnosed,
    link,
    make_chain,
    make_test,
    model_of,
    said,
    shipped_chains,
    with_priors,
)

from coilmeter.compute.chain_diagnosis import Bench, Standing, Verdict, diagnose, works
from coilmeter.compute.chain_model import Model, complaint, repaired_before
from coilmeter.compute.chain_posterior import posterior
from coilmeter.compute.chain_weights import PRIOR_CASES, learn_weights, with_weights
from coilmeter.errors import InputError, UnknownNameError
from coilmeter.values.chains import MOST_LINKS, Outcome, Seen, check_seen

WORKING = [f"{track}:complaint=pass" for track in "124"]


def names(found: object) -> list[str]:
    """Give the names of links of a verdict."""
    return [each.name for each in found]  # type: ignore[attr-defined]


def test_with_little_known_a_test_comes_next() -> None:
    """Nothing is sure after the complaint alone; all links stand, none is cleared."""
    found = diagnosed("playback", *WORKING)

    assert Verdict.TEST is found.verdict
    assert Standing.CLEARED not in {each.standing for each in found.links}
    assert found.tests[0].minutes_to_go == min(each.minutes_to_go for each in found.tests) or (
        found.tests[0].minutes < found.tests[1].minutes
    )
    assert found.nothing < 0.12


def test_a_sure_suspect_is_to_be_repaired() -> None:
    """Everything points to the switch: its repair comes next, and no test first."""
    seen = ("swap-at-plug=stays", "board-side=fail", "tone-at-preamp=pass", "dc-volts=pass")
    found = diagnosed("playback", *WORKING, *seen)

    assert Verdict.REPAIR is found.verdict
    assert ["mode-switch"] == names(found.verdict_links)
    assert found.result("mode-switch").probability > 0.9


def test_two_sure_suspects_are_both_named() -> None:
    """Two faults that are both beyond doubt are repaired together, the surer first."""
    links, several = with_priors([0.1, 0.1, 0.1], ["a", "b", "c"])
    tests = [make_test("sees-a", {"a": 0.99}, false_alarm=0.001)]
    tests += [make_test("sees-b", {"b": 0.95}, false_alarm=0.001)]
    model = Model(make_chain(links, tests, several=several))
    seen = [
        complaint("1"),
        Seen("sees-a", Outcome.FAIL, "1"),
        Seen("sees-b", Outcome.FAIL, "1"),
    ]

    found = diagnose(model, seen, "1", Bench())

    assert Verdict.REPAIR is found.verdict
    assert ["a", "b"] == names(found.verdict_links)


def test_no_test_left_is_undecided_and_says_what_would_decide() -> None:
    """Without scope and live work: suspects by worth of a try, and the test left out."""
    texts = ["known-tape=pass", "look=pass", "ohms-at-plug=pass", "second-deck=fail"]
    texts += ("ohms-at-head=pass", "board-side=pass", "inductance=pass")
    found = diagnosed("record", *texts, cannot=["scope", "live"])

    assert Verdict.UNDECIDED is found.verdict
    worth = [
        found.result(each.name).probability / each.repair_minutes
        for each in found.verdict_links
    ]
    assert sorted(worth, reverse=True) == worth
    assert len(worth) > 1
    assert found.would_decide is not None
    assert {"scope", "live"} & set(found.would_decide.needs)
    assert found.would_decide.name in {test.name for test, _ in found.left_out}


def test_a_tape_that_plays_well_and_all_else_means_nothing_is_broken() -> None:
    """When every test passes and the complaint is taken back, nothing is broken."""
    texts = ("known-tape=pass", "hiss=pass", "look=pass", "swap-at-plug=neither")
    found = diagnosed("playback", *texts, "complaint=pass")

    assert Verdict.NOTHING is found.by_odds
    assert found.nothing > 0.9


def test_tests_that_cannot_be_made_are_left_out_with_the_reason() -> None:
    """By name, by need, and where no other track works to swap with."""
    found = diagnosed("playback", cannot=["hiss", "live"])
    reasons = {test.name: why for test, why in found.left_out}

    assert "you cannot make it" == reasons["hiss"]
    assert {"live"} == {
        reasons[name] for name in ("tone-at-plug", "tone-at-preamp", "dc-volts")
    }
    assert set(reasons).isdisjoint({each.test.name for each in found.tests})

    alone = diagnosed("playback", "1:complaint=fail", "2:complaint=fail")
    assert {"swap-at-plug": "neighbour"} == {test.name: why for test, why in alone.left_out}
    assert {"1": False, "2": False, "3": False} == works(alone.seen)


def test_a_test_is_offered_once() -> None:
    """What was made is not asked again, until something was repaired that it had shown."""
    once = diagnosed("playback", "look=fail", "hiss=pass")
    again = diagnosed(
        "playback", "look=fail", "hiss=pass", "contact=repaired", "complaint=fail"
    )

    assert {"look", "hiss"}.isdisjoint({each.test.name for each in once.tests})
    offered = {each.test.name for each in again.tests}
    assert "hiss" not in offered
    assert "look" in offered


def test_a_repair_that_did_not_help_moves_on() -> None:
    """Dirt cleaned, still dead: the dirt is out, and the rest share what it had."""
    before = diagnosed("playback", *WORKING, "look=fail")
    after = diagnosed("playback", *WORKING, "look=fail", "contact=repaired", "complaint=fail")

    assert "contact" == before.ranked[0].link.name
    assert 0 == after.result("contact").probability
    assert Standing.CLEARED is after.result("contact").standing
    assert "pin-joint" == after.ranked[0].link.name
    assert Verdict.CLASH is not after.verdict


def test_repairs_are_reckoned_exactly() -> None:
    """Two links, one repaired and still dead: Bayes by hand over the four states."""
    links, several = with_priors([0.2, 0.3], ["a", "b"])
    model = Model(make_chain(links, [], several=several, dead=0.9, doubt=0.05))
    seen = [complaint("1"), Seen("a", Outcome.REPAIRED, "1"), complaint("1")]

    def dead(count: int) -> float:
        return 1 - 0.95 * 0.1**count

    priors = {(a, b): (0.2 if a else 0.8) * (0.3 if b else 0.7) for a in (0, 1) for b in (0, 1)}
    weights = {(a, b): priors[a, b] * dead(a + b) * dead(b) for a, b in priors}
    expected = (weights[0, 1] + weights[1, 1]) / sum(weights.values())

    found = posterior(model, seen, "1")
    assert [0, expected] == pytest.approx(list(found.broken), abs=1e-12)
    assert 1 == pytest.approx(float(found.combinations.sum()))


def test_repairs_are_counted_by_track() -> None:
    """What was mended on one track is not mended on another."""
    seen = [Seen("a", Outcome.REPAIRED, "1"), complaint("1"), complaint("2")]

    assert [{"a"}, {"a"}, set()] == [set(mended) for _, mended in repaired_before(seen)]


def test_what_is_broken_in_common_is_told_apart() -> None:
    """All tracks dead: a plug for all of them; one dead: this track's own wire."""
    together = diagnosed("playback", *[f"{t}:complaint=fail" for t in "124"], "look=pass")
    alone = diagnosed("playback", *WORKING, "look=pass")

    plug, own = together.result("cable-plug"), alone.result("cable-plug")
    assert plug.common > 0.9 * plug.probability
    assert own.common < 0.001 < own.probability


def test_standings_need_a_test_and_a_probability() -> None:
    """Cleared needs both; a test that took a likely link for sound does not clear it."""
    found = diagnosed("playback", "ohms-at-head=fail", "ohms-at-plug=pass", "isolation=pass")

    assert found.result("pin-joint").cleared_by
    assert Standing.SUSPECT is found.result("pin-joint").standing
    assert Standing.CLEARED is found.result("coil-case").standing


def test_names_that_mean_nothing_are_refused() -> None:
    """A test, link or outcome that the chain does not know, with what it does."""
    chain = shipped_chains()["playback"]

    with pytest.raises(UnknownNameError, match="no test of playback is called 'nose'") as test:
        check_seen(chain, Seen("nose", Outcome.PASS, "3"))
    assert "look (U)" in test.value.known
    with pytest.raises(UnknownNameError, match="no link of playback"):
        check_seen(chain, Seen("nose", Outcome.SOUND, "3"))
    with pytest.raises(InputError, match="swap-at-plug: saw 'pass'") as outcome:
        check_seen(chain, Seen("G", Outcome.PASS, "3"))
    assert "follows, stays, both, neither, unknown" in outcome.value.hint
    with pytest.raises(InputError, match="expected one of: pass, fail"):
        model_of("playback").likelihood(chain.test("look"), Outcome.FOLLOWS)


def test_letters_and_blanks_are_understood() -> None:
    """A letter in either case, and a name with blanks."""
    chain = shipped_chains()["playback"]

    assert "ohms-at-plug" == chain.test("b").name
    assert "known-tape" == chain.test("Known tape").name
    assert "B" == check_seen(chain, Seen("B", Outcome.FAIL, "3")).name.replace(
        "ohms-at-plug", "B"
    )


def test_a_chain_may_not_be_longer_than_all_combinations_allow() -> None:
    """One link too many is refused with what to do."""
    links = [link(f"l{number}") for number in range(MOST_LINKS + 1)]

    with pytest.raises(InputError, match="19 links, and 18 at most") as caught:
        Model(make_chain(links, []))
    assert "weight 0" in caught.value.hint


def test_priors_are_the_shares_of_the_weights() -> None:
    """With just one link broken, each is as probable as its share of the weight."""
    model = model_of("playback")
    prior = posterior(model, [], "3").combinations
    singles = prior[[1 << place for place in range(len(model.chain.links))]]

    weights = np.array([each.weight for each in model.chain.links])
    assert list(weights / weights.sum()) == pytest.approx(list(singles / singles.sum()))


def test_closed_cases_move_the_weights() -> None:
    """Twenty cases' worth before; ten cases of contact: Dirichlet mean and deviation."""
    chain = shipped_chains()["erase"]
    total = sum(each.weight for each in chain.links)
    learnt = {
        each.link.name: each for each in learn_weights(chain, {"contact": 10.0, "gone": 3.0})
    }

    prior = PRIOR_CASES * 25 / total
    share = (prior + 10) / 30
    contact = learnt["contact"]
    assert (prior, 10.0, share) == pytest.approx((contact.prior, contact.cases, contact.share))
    assert (share * (1 - share) / 31) ** 0.5 == pytest.approx(contact.u_share)
    assert 1 == pytest.approx(sum(each.share for each in learnt.values()))
    assert 100 * share == pytest.approx(
        with_weights(chain, list(learnt.values())).link("contact").weight
    )


def test_weights_move_the_suspects() -> None:
    """A bench where it is always the cable suspects the cable first."""
    chain = shipped_chains()["playback"]
    own = with_weights(chain, learn_weights(chain, {"cable-plug": 40.0}))

    found = diagnose(Model(own), said("playback"), "3", Bench())

    assert "cable-plug" == found.ranked[0].link.name
    assert broken(found)["cable-plug"] > broken(diagnosed("playback"))["cable-plug"]
