"""Small chains, and things seen, for the tests of the search for a broken link."""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence

import numpy as np

from coilmeter.catalog.chain_maps import load_chains
from coilmeter.compute.chain_diagnosis import Bench, Diagnosis, diagnose
from coilmeter.compute.chain_model import Model, complaint
from coilmeter.values.chains import (
    COMPLAINT,
    ChainMap,
    ChainTest,
    HowTo,
    Link,
    Outcome,
    Seen,
    Signal,
    check_seen,
)

HOW = HowTo(connect="clip", expect="a value", passed="good", failed="bad")
TRACK = "3"


@functools.cache
def shipped_chains() -> dict[str, ChainMap]:
    """Read the shipped chains, once."""
    return load_chains()


@functools.cache
def model_of(fault: str) -> Model:
    """Make a shipped chain ready, once."""
    return Model(shipped_chains()[fault])


def link(name: str, weight: float = 1.0, common: float = 0.0, minutes: float = 30.0) -> Link:
    """Make a link."""
    return Link(name, f"the {name}", "somewhere", weight, common, f"mend {name}", minutes)


def make_test(
    name: str,
    chances: Mapping[str, float],
    *,
    minutes: float = 5.0,
    false_alarm: float = 0.0,
    certain: float = 0.9,
) -> ChainTest:
    """Make a test that passes or fails; chances from `certain` on are taken for certain."""
    sure = frozenset(each for each, chance in chances.items() if chance >= certain)
    signal = Signal(dict(chances), sure, false_alarm)
    return ChainTest(name, "", f"the {name}", f"{name}?", minutes, minutes, (), (signal,), HOW)


def make_chain(
    links: Sequence[Link],
    tests: Sequence[ChainTest],
    *,
    several: float = 0.2,
    doubt: float = 0.0,
    dead: float = 1.0,
) -> ChainMap:
    """Make a chain whose complaint shows with every link alike."""
    chances = {each.name: dead for each in links}
    signal = Signal(chances, frozenset(chances), doubt)
    said = ChainTest(COMPLAINT, "", "dead", "Does it go?", 1, 1, (), (signal,), HOW)
    return ChainMap(
        "chain", "it does not go", "go", tuple(links), tuple(tests), said, "", several, {}
    )


def with_priors(priors: Sequence[float], names: Sequence[str]) -> tuple[list[Link], float]:
    """Give links with these probabilities of being broken, and the odds they add up to."""
    odds = [p / (1 - p) for p in priors]
    return [link(name, each) for name, each in zip(names, odds, strict=True)], sum(odds)


def said(fault: str, *texts: str, track: str = TRACK) -> list[Seen]:
    """Read ``TEST=OUTCOME`` or ``TRACK:TEST=OUTCOME``, after the complaint about the track."""
    seen = [complaint(track)]
    for text in texts:
        left, _, outcome = text.rpartition("=")
        where, _, name = left.rpartition(":")
        known = Seen(name, Outcome(outcome), where or track)
        seen.append(check_seen(shipped_chains()[fault], known))
    return seen


def diagnosed(
    fault: str, *texts: str, cannot: Sequence[str] = (), loose: bool = False
) -> Diagnosis:
    """Diagnose a shipped chain after things seen on track 3."""
    bench = Bench(frozenset(cannot), loose)
    return diagnose(model_of(fault), said(fault, *texts), TRACK, bench)


def broken(diagnosis: Diagnosis) -> dict[str, float]:
    """Give the probability of each link."""
    return {each.link.name: each.probability for each in diagnosis.links}


def random_chain(rng: np.random.Generator, links: int, tests: int) -> ChainMap:
    """Draw a chain with tests that see some of its links, and not all."""
    names = [f"l{number}" for number in range(links)]
    drawn = [
        link(
            name,
            float(rng.choice([1, 2, 5, 10, 20])),
            minutes=float(rng.choice([5, 10, 30, 60, 90])),
        )
        for name in names
    ]
    made: list[ChainTest] = []
    while len(made) < tests:
        cells = rng.choice([0.0, 0.5, 0.97], size=links, p=[0.5, 0.15, 0.35])
        chances = {name: float(cell) for name, cell in zip(names, cells, strict=True) if cell}
        if 0 < len(chances) < links:
            minutes = float(rng.choice([1, 2, 3, 5, 8]))
            made.append(make_test(f"t{len(made)}", chances, minutes=minutes, false_alarm=0.02))
    return make_chain(drawn, made, doubt=0.005, dead=0.99)
