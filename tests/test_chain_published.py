"""The search for a broken link against worked examples from outside."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from chain_helpers import make_chain, make_test, with_priors
from published import agrees, case

from coilmeter.compute.chain_logic import fewest_sets, minimal_sets
from coilmeter.compute.chain_model import Model, complaint
from coilmeter.compute.chain_next import candidates
from coilmeter.compute.chain_posterior import posterior
from coilmeter.compute.chain_rollout import Table, greedy_minutes
from coilmeter.values.chains import ChainTest, Outcome, Seen


def cascade(*priors: float) -> Model:
    """Make a cascade of inverters; a probe behind one shows each broken one before it."""
    names = ["A", "B", "C", "D"]
    links, several = with_priors(priors, names)
    probes: list[ChainTest] = [
        make_test(probe, dict.fromkeys(names[:count], 1.0))
        for count, probe in enumerate(("a", "b", "c"), start=1)
    ]
    return Model(make_chain(links, probes, several=several))


def best_probe(model: Model) -> str:
    """Name the probe that tells most of a cascade whose output is wrong."""
    seen = posterior(model, [complaint("1")], "1")
    found = candidates(model, seen.combinations, model.chain.tests)
    return max(found, key=lambda each: each.bits).test.name


def test_polybox() -> None:
    """Two conflicts, four minimal diagnoses; the fewest faults are the single ones."""
    entry = case("10.1")  # de Kleer and Williams 1987
    conflicts = [frozenset(each) for each in entry["inputs"]["conflicts"]]
    diagnoses = {frozenset(each) for each in entry["expected"]["diagnoses"]}

    assert diagnoses == set(minimal_sets(conflicts))
    assert {each for each in diagnoses if len(each) == 1} == set(fewest_sets(conflicts))


def test_polybox_as_a_table_of_coverage() -> None:
    """Each conflict is a test that failed: the two single faults come first, equally."""
    entry = case("10.1")  # de Kleer and Williams 1987, adapted
    names = ["A1", "A2", "M1", "M2", "M3"]
    links, several = with_priors([0.01] * 5, names)
    tests = [
        make_test(f"t{number}", dict.fromkeys(conflict, 1.0))
        for number, conflict in enumerate(entry["inputs"]["conflicts"])
    ]
    model = Model(make_chain(links, tests, several=several))

    seen = [Seen(test.name, Outcome.FAIL, "1") for test in tests]
    found = dict(zip(names, posterior(model, seen, "1").broken, strict=True))

    assert found["A1"] == pytest.approx(found["M1"], rel=1e-12)
    assert min(found["A1"], found["M1"]) > 0.45
    assert max(found["A2"], found["M2"], found["M3"]) < 0.05


def test_inverters_priors() -> None:
    """Probability that all four are good, and that just one is not."""
    entry = case("10.3")  # de Kleer and Williams 1987; a TU Delft thesis
    prior = posterior(cascade(*[entry["inputs"]["p"]] * 4), [], "1").combinations

    assert agrees(entry, "prior_ok") == prior[0]
    assert agrees(entry, "prior_single") == prior[1]


def test_inverters_posterior() -> None:
    """Probability of one single fault once the output is wrong."""
    entry = case("10.3")  # adapted from de Kleer and Williams 1987
    model = cascade(*[entry["inputs"]["p"]] * 4)

    found = posterior(model, [complaint("1")], "1").combinations

    assert agrees(entry, "single_posterior") == found[1]


def test_inverters_best_probe() -> None:
    """The middle one; a likelier first inverter moves it to the first."""
    entry = case("10.3")  # adapted from de Kleer and Williams 1987
    p, first = entry["inputs"]["p"], entry["inputs"]["p_first_unequal"]

    assert entry["expected"]["best"] == best_probe(cascade(p, p, p, p))
    assert entry["expected"]["best_unequal"] == best_probe(cascade(first, p, p, p))


def five_links() -> tuple[Model, dict[str, object]]:
    """Make the chain of five links, with a probe behind the second."""
    entry = case("10.6")  # no published number; two libraries agree
    names = [f"{number}" for number in range(1, 6)]
    links, several = with_priors(entry["inputs"]["p"], names)
    probe = make_test("probe", {"1": 1.0, "2": 1.0})
    return Model(make_chain(links, [probe], several=several)), entry


@pytest.mark.parametrize("number", range(1, 6))
def test_five_links_dead(number: int) -> None:
    """Each link, given that the chain is dead."""
    model, entry = five_links()

    found = posterior(model, [complaint("1")], "1").broken

    assert agrees(entry, f"p{number}") == found[number - 1]


@pytest.mark.parametrize("number", [3, 4, 5])
def test_five_links_probed(number: int) -> None:
    """Each link behind a good probe."""
    model, entry = five_links()

    seen = [complaint("1"), Seen("probe", Outcome.PASS, "1")]
    found = posterior(model, seen, "1").broken

    assert agrees(entry, f"probed{number}") == found[number - 1]


def test_twenty_questions() -> None:
    """Any yes-or-no question, one minute each: as many as the best code has letters."""
    entry = case("10.5")  # Cover and Thomas, Example 5.6.1
    p = np.array(entry["inputs"]["p"])
    rows = []
    for size in range(1, len(p)):
        for chosen in itertools.combinations(range(len(p)), size):
            yes = np.isin(np.arange(len(p)), chosen).astype(float)
            rows += [yes, 1 - yes]
    table = Table(
        chances=np.array(rows),
        of_test=np.repeat(np.arange(len(rows) // 2), 2),
        minutes=np.ones(len(rows) // 2),
        broken=np.eye(len(p)),
        repair_minutes=np.full(len(p), 1000.0),
    )
    left = np.ones((1, len(rows) // 2), dtype=bool)

    questions = greedy_minutes(table, p[None, :], left, np.ones(1))[0]
    entropy = -float(np.sum(p * np.log2(p)))

    assert agrees(entry, "L") == questions
    assert agrees(entry, "H") == entropy
    assert entropy <= questions < entropy + 1
