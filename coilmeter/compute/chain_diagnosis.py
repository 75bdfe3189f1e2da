"""All that can be said of a chain after what was seen, and what to do next."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np

from coilmeter.compute.chain_logic import ALL, Fault, Logic
from coilmeter.compute.chain_model import Model
from coilmeter.compute.chain_next import Candidate, candidates, telling
from coilmeter.compute.chain_posterior import Posterior, posterior
from coilmeter.compute.chain_rollout import SURE, SURE_AT_THE_END, enough
from coilmeter.values.chains import (
    COMPLAINT,
    ChainMap,
    ChainTest,
    Link,
    Outcome,
    Seen,
)

CLEARED_BELOW: Final = 0.02
SUSPECT_FROM: Final = 0.05
"""Probabilities below which a link that a test took for sound is cleared, and from which a
link is a suspect (own)."""

NEIGHBOUR: Final = "neighbour"
"""What a test needs that needs another track which works."""


class Standing(StrEnum):
    """How a link stands."""

    SUSPECT = "suspect"
    CLEARED = "cleared"
    UNKNOWN = "unknown"


class Verdict(StrEnum):
    """What comes next."""

    TEST = "test"
    REPAIR = "repair"
    NOTHING = "nothing broken"
    UNDECIDED = "undecided"
    CLASH = "contradiction"


@dataclass(frozen=True, slots=True)
class LinkResult:
    """How one link stands.

    Parameters
    ----------
    link, standing
        Which, and how.
    probability, common
        That it is broken; and, part of that, that it is so for all tracks at once.
    cleared_by, pointed_to_by
        What was seen that takes it for sound, and that it would explain.

    """

    link: Link
    standing: Standing
    probability: float
    common: float
    cleared_by: tuple[Seen, ...]
    pointed_to_by: tuple[Seen, ...]


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """What is known of a chain.

    Parameters
    ----------
    chain, track, seen
        What it is about.
    links
        In the order of the signal.
    nothing
        Probability that no link is broken.
    verdict, by_odds
        What comes next; and what would, if nothing clashed.
    verdict_links
        The links that are to be repaired, or that stay undecided, in the order in which to
        try them.
    tests
        Those that can split the suspects, the one to make next first.
    explanations
        Sets of the fewest faults that explain everything.
    clashes
        Smallest sets of things seen that cannot all be right; in each, first the one that
        fits the rest least.
    left_out
        Tests that cannot be made, and what for.
    would_decide
        The test left out that would tell most, where nothing else is left.
    ended
        Names of the links that it was, none where nothing was broken; None while it is open.

    """

    chain: ChainMap
    track: str
    seen: tuple[Seen, ...]
    links: tuple[LinkResult, ...]
    nothing: float
    verdict: Verdict
    by_odds: Verdict
    verdict_links: tuple[Link, ...]
    tests: tuple[Candidate, ...]
    explanations: tuple[frozenset[Fault], ...]
    clashes: tuple[tuple[Seen, ...], ...]
    left_out: tuple[tuple[ChainTest, str], ...]
    would_decide: ChainTest | None = None
    ended: tuple[str, ...] | None = None

    @property
    def ranked(self) -> list[LinkResult]:
        """Links, the most probable first."""
        return sorted(self.links, key=lambda each: -each.probability)

    def result(self, link: str) -> LinkResult:
        """Give how a link of that name stands."""
        return next(each for each in self.links if each.link.name == link)


@dataclass(frozen=True, slots=True)
class Bench:
    """What can be done.

    Parameters
    ----------
    cannot
        Tests, and needs of tests, by name, that are not to be had.
    loose
        Whether the head is out of the machine.

    """

    cannot: frozenset[str] = frozenset()
    loose: bool = False


def diagnose(model: Model, seen: Sequence[Seen], track: str, bench: Bench) -> Diagnosis:
    """Say what is broken on a track, how sure that is, and what to test next.

    Parameters
    ----------
    model
        The chain.
    seen
        What was seen on this and other tracks, in its order, with names as the map has them
        (`check_seen`).
    track
        The track in question.
    bench
        What can be done.

    Returns
    -------
    Diagnosis
        Never without suspects: where what was seen contradicts itself, `clashes` says so.

    """
    chain, logic = model.chain, Logic(model.chain, seen)
    now = posterior(model, seen, track)
    left_out = dict(_left_out(chain, seen, track, bench))
    open_tests = [test for test in chain.tests if _is_open(test, seen, track)]
    tests = candidates(
        model,
        now.combinations,
        [test for test in open_tests if test.name not in left_out],
        loose=bench.loose,
    )
    clashes = logic.clashes()
    verdict, links = _verdict(chain, now, tests)
    would_decide = None
    if verdict is Verdict.UNDECIDED:
        missed = [test for test in open_tests if test.name in left_out]
        more = telling(model, now.combinations, missed, loose=bench.loose)
        would_decide = max(more, key=lambda each: each.bits).test if more else None
    return Diagnosis(
        chain=chain,
        track=track,
        seen=tuple(seen),
        links=tuple(_links(chain, now, logic, track)),
        nothing=now.nothing,
        verdict=Verdict.CLASH if clashes else verdict,
        by_odds=verdict,
        verdict_links=tuple(links),
        tests=tuple(tests),
        explanations=tuple(_best_first(model, logic.explanations(), now, track)),
        clashes=tuple(_least_fitting_first(model, each, seen, track) for each in clashes),
        left_out=tuple(
            (test, left_out[test.name]) for test in open_tests if test.name in left_out
        ),
        would_decide=would_decide,
    )


def works(seen: Sequence[Seen]) -> dict[str, bool]:
    """Tell of each track that something was said of whether it does what it should."""
    return {each.track: each.outcome is Outcome.PASS for each in seen if each.name == COMPLAINT}


def _left_out(
    chain: ChainMap, seen: Sequence[Seen], track: str, bench: Bench
) -> Iterator[tuple[str, str]]:
    others = [good for other, good in works(seen).items() if other != track]
    lacking = {NEIGHBOUR} if others and not any(others) else set()
    for test in chain.tests:
        if test.name in bench.cannot:
            yield test.name, "you cannot make it"
        for need in test.needs:
            if need in bench.cannot | lacking:
                yield test.name, need


def _is_open(test: ChainTest, seen: Sequence[Seen], track: str) -> bool:
    """Whether a test is still to be made: not yet, or not since something was repaired.

    What a test did not show before a repair, it does not show after it.
    """
    is_open, showed = True, False
    for each in seen:
        if each.track != track:
            continue
        if each.outcome is Outcome.REPAIRED:
            is_open = is_open or showed
        elif each.name == test.name and each.outcome is not Outcome.SOUND:
            is_open = False
            showed = any(test.meanings.get(each.outcome, ()))
    return is_open


def _verdict(
    chain: ChainMap, now: Posterior, tests: Sequence[Candidate]
) -> tuple[Verdict, list[Link]]:
    if now.nothing >= (SURE if tests else SURE_AT_THE_END):
        return Verdict.NOTHING, []
    cheapest = min((test.minutes for test in tests), default=float("inf"))
    repair = np.array([link.repair_minutes for link in chain.links])
    needed = enough(repair, np.full(len(repair), cheapest))
    order = np.argsort(-now.broken, kind="stable")
    sure = [chain.links[place] for place in order if now.broken[place] >= needed[place]]
    if sure:
        return Verdict.REPAIR, sure
    if tests:
        return Verdict.TEST, []
    worth = np.argsort(-now.broken / repair, kind="stable")
    left = [chain.links[place] for place in worth if now.broken[place] >= SUSPECT_FROM]
    return Verdict.UNDECIDED, left


def _links(chain: ChainMap, now: Posterior, logic: Logic, track: str) -> Iterator[LinkResult]:
    for place, link in enumerate(chain.links):
        probability = float(now.broken[place])
        cleared_by = tuple(logic.clears(link.name, track))
        if probability < CLEARED_BELOW and cleared_by:
            standing = Standing.CLEARED
        else:
            likely = probability >= SUSPECT_FROM
            standing = Standing.SUSPECT if likely else Standing.UNKNOWN
        yield LinkResult(
            link=link,
            standing=standing,
            probability=probability,
            common=float(now.common[place]),
            cleared_by=cleared_by,
            pointed_to_by=tuple(logic.points_to(link.name, track)),
        )


def _best_first(
    model: Model, sets: Sequence[frozenset[Fault]], now: Posterior, track: str
) -> list[frozenset[Fault]]:
    """Sort sets of faults by how probable just these are on the track in question."""

    def probability(faults: frozenset[Fault]) -> float:
        chance = float(now.combinations[model.mask(_here(faults, track))])
        for fault in faults:
            place = model.place(fault.link)
            both = model.own[place] + model.common[place]
            one = model.common[place] if fault.track == ALL else model.own[place]
            chance *= float(one / both if fault.track in {track, ALL} else one)
        return chance

    return sorted(sets, key=lambda each: (-probability(each), sorted(each)))


def _here(faults: frozenset[Fault], track: str) -> set[str]:
    return {fault.link for fault in faults if fault.track in {track, ALL}}


def _least_fitting_first(
    model: Model, clash: Sequence[Seen], seen: Sequence[Seen], track: str
) -> tuple[Seen, ...]:
    """Sort what clashes: first that which the rest makes most improbable."""

    def without(each: Seen) -> float:
        rest = [other for other in seen if other != each]
        return posterior(model, rest, track).log_evidence

    return tuple(sorted(clash, key=lambda each: -without(each)))
