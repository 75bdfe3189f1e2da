"""Posteriors against another library's Bayesian networks, and against plain enumeration."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import itertools
import warnings
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pytest
from chain_helpers import link, make_chain, make_test
from hypothesis import given, settings
from hypothesis import strategies as st

from coilmeter.compute.chain_model import Model, complaint
from coilmeter.compute.chain_posterior import posterior
from coilmeter.values.chains import COMPLAINT, ChainMap, ChainTest, Outcome, Seen

with warnings.catch_warnings():
    # Its compiled part warns on loading; as an error inside it that ends the interpreter.
    warnings.simplefilter("ignore")
    import pyagrum

GUM: Any = pyagrum
"""Its stubs leave out what its classes take."""

TRACKS = ("1", "2", "3")


def drawn(seed: int, links: int, tests: int, *, common: bool) -> ChainMap:
    """Draw a chain with chances and shares of all sizes."""
    rng = np.random.default_rng(seed)
    names = [f"l{number}" for number in range(links)]
    shares = rng.choice([0.0, 0.3, 1.0], size=links) if common else np.zeros(links)
    made = [
        link(name, float(weight), float(share))
        for name, weight, share in zip(names, rng.uniform(0.5, 20, links), shares, strict=True)
    ]
    drawn_tests = []
    for number in range(tests):
        seen = [name for name in names if rng.random() < 0.5] or names[:1]
        chances = {name: float(rng.choice([0.3, 0.5, 0.9, 0.97])) for name in seen}
        alarm = float(rng.choice([0.001, 0.02, 0.1]))
        drawn_tests.append(make_test(f"t{number}", chances, false_alarm=alarm))
    return make_chain(made, drawn_tests, several=0.4, doubt=0.01, dead=0.98)


def observed(chain: ChainMap, seed: int, tracks: Sequence[str]) -> list[Seen]:
    """Draw outcomes of half of the tests on each track, after the complaints."""
    rng = np.random.default_rng(seed + 1000)
    seen = [complaint("1")]
    seen += [complaint(track, works=bool(rng.random() < 0.5)) for track in tracks[1:]]
    for track in tracks:
        for test in chain.tests:
            if rng.random() < 0.5:
                outcome = rng.choice([Outcome.PASS, Outcome.FAIL])
                seen.append(Seen(test.name, Outcome(str(outcome)), track))
    return seen


def network(chain: ChainMap, model: Model, tracks: Sequence[str]) -> Any:
    """Build the same as a Bayesian network: causes in common and alone, joined by or."""
    net = GUM.BayesNet()
    for place, each in enumerate(chain.links):
        net.add(GUM.LabelizedVariable(f"{each.name}*", "", 2))
        net.cpt(f"{each.name}*").fillWith([1 - model.common[place], model.common[place]])
        for track in tracks:
            own, both = f"{each.name}-{track}", f"{each.name}@{track}"
            net.add(GUM.LabelizedVariable(own, "", 2))
            net.cpt(own).fillWith([1 - model.own[place], model.own[place]])
            net.addOR(GUM.LabelizedVariable(both, "", 2))
            net.addArc(own, both)
            net.addArc(f"{each.name}*", both)
    for test in (*chain.tests, chain.complaint):
        for track in tracks:
            name = f"{test.name}@{track}"
            (signal,) = test.signals
            net.addNoisyORNet(GUM.LabelizedVariable(name, "", 2), signal.false_alarm)
            for cause, chance in signal.chances.items():
                net.addWeightedArc(f"{cause}@{track}", name, chance)
    return net


def by_network(
    chain: ChainMap, model: Model, seen: Sequence[Seen], tracks: Sequence[str]
) -> Mapping[str, float]:
    """Infer every link of the first track, and every cause in common."""
    inference = GUM.LazyPropagation(network(chain, model, tracks))
    inference.setEvidence(
        {f"{each.name}@{each.track}": int(each.outcome is Outcome.FAIL) for each in seen}
    )
    inference.makeInference()
    names = [f"{each.name}@{tracks[0]}" for each in chain.links]
    names += [f"{each.name}*" for each in chain.links]
    return {name: float(inference.posterior(name)[1]) for name in names}


def by_this(chain: ChainMap, model: Model, seen: Sequence[Seen]) -> Mapping[str, float]:
    """Reckon the same with this project."""
    found = posterior(model, seen, "1")
    names = [each.name for each in chain.links]
    return dict(zip((f"{n}@1" for n in names), map(float, found.broken), strict=True)) | dict(
        zip((f"{n}*" for n in names), map(float, found.common), strict=True)
    )


@pytest.mark.parametrize("links", range(2, 13))
def test_one_track_as_a_network_says(links: int) -> None:
    """Random chains of up to twelve links: every posterior as pyAgrum infers it."""
    chain = drawn(links, links, 6, common=False)
    model = Model(chain)
    seen = observed(chain, links, TRACKS[:1])

    expected = by_network(chain, model, seen, TRACKS[:1])

    assert expected == pytest.approx(by_this(chain, model, seen), abs=1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_several_tracks_as_a_network_says(seed: int) -> None:
    """Three tracks tied by links that can fail for all of them: as pyAgrum infers it."""
    chain = drawn(seed, 5, 4, common=True)
    model = Model(chain)
    seen = observed(chain, seed, TRACKS)

    expected = by_network(chain, model, seen, TRACKS)

    assert expected == pytest.approx(by_this(chain, model, seen), abs=1e-9)


def plainly(chain: ChainMap, model: Model, seen: Sequence[Seen]) -> list[float]:
    """Enumerate all that can be broken on two tracks, one combination after the other."""
    count = len(chain.links)
    whole, parts = 0.0, [0.0] * count
    for bits in itertools.product([False, True], repeat=3 * count):
        common, own = bits[:count], {"1": bits[count : 2 * count], "2": bits[2 * count :]}
        weight = 1.0
        for place in range(count):
            for broken, chance in (
                (common[place], model.common[place]),
                (own["1"][place], model.own[place]),
                (own["2"][place], model.own[place]),
            ):
                weight *= chance if broken else 1 - chance
        for each in seen:
            test = chain.complaint if each.name == COMPLAINT else _named(chain, each.name)
            (signal,) = test.signals
            quiet = 1 - signal.false_alarm
            for place, one in enumerate(chain.links):
                if common[place] or own[each.track][place]:
                    quiet *= 1 - signal.chances.get(one.name, 0.0)
            weight *= 1 - quiet if each.outcome is Outcome.FAIL else quiet
        whole += weight
        for place in range(count):
            if common[place] or own["1"][place]:
                parts[place] += weight
    return [part / whole for part in parts]


def _named(chain: ChainMap, name: str) -> ChainTest:
    return next(test for test in chain.tests if test.name == name)


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_two_tracks_as_enumeration_says(seed: int) -> None:
    """Three links on two tracks: the sum by structure is the sum over everything."""
    chain = drawn(seed, 3, 3, common=True)
    model = Model(chain)
    seen = observed(chain, seed, TRACKS[:2])

    assert plainly(chain, model, seen) == pytest.approx(
        list(posterior(model, seen, "1").broken), abs=1e-12
    )


@settings(max_examples=50, deadline=None)
@given(seed=st.integers(0, 10_000), data=st.data())
def test_order_does_not_matter(seed: int, data: st.DataObject) -> None:
    """Without repairs, what was seen says the same in any order, and once or twice."""
    chain = drawn(seed, 5, 5, common=True)
    model = Model(chain)
    seen = observed(chain, seed, TRACKS)
    mixed = data.draw(st.permutations(seen))

    first, second = posterior(model, seen, "1"), posterior(model, [*mixed, *mixed], "1")

    assert list(first.broken) == pytest.approx(list(second.broken), abs=1e-12)
    assert first.log_evidence == pytest.approx(second.log_evidence, abs=1e-9)


@settings(max_examples=50, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_probabilities_are_probabilities(seed: int) -> None:
    """They sum to one, lie between 0 and 1, and what is in common is a part of each."""
    chain = drawn(seed, 6, 6, common=True)
    model = Model(chain)

    found = posterior(model, observed(chain, seed, TRACKS), "1")

    assert 1 == pytest.approx(float(found.combinations.sum()), abs=1e-12)
    assert found.combinations.min() >= 0
    assert bool(np.all(found.common <= found.broken + 1e-12))
    assert bool(np.all(found.broken <= 1 + 1e-12))
