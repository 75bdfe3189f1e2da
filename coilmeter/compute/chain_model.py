"""A chain as arrays: one entry for every combination of broken links.

A combination is a whole number, bit *i* of which is set where link *i* is broken.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

import numpy as np
from numpy.typing import NDArray

from coilmeter.errors import InputError
from coilmeter.values.chains import (
    COMPLAINT,
    MOST_LINKS,
    ChainMap,
    ChainTest,
    Outcome,
    Seen,
)

Floats = NDArray[np.float64]

_LEAST: Final = 1e-15

OVERLOOKED: Final = 0.02
"""Chance that a link somebody found sound is broken all the same (own)."""


class Model:
    """A map made ready for reckoning.

    Parameters
    ----------
    chain
        The map.

    Attributes
    ----------
    own, common
        Probability, before anything was seen, that each link is broken on one track alone,
        and for all tracks at once.
    broken
        Of every combination, which links are broken: a column a link.

    """

    def __init__(self, chain: ChainMap) -> None:
        if len(chain.links) > MOST_LINKS:
            raise InputError(
                f"{chain.name}: {len(chain.links)} links, and {MOST_LINKS} at most",
                hint="give the rarest of them the weight 0: that takes them out.",
            )
        self.chain = chain
        self.places = {link.name: place for place, link in enumerate(chain.links)}
        self.size = 1 << len(chain.links)
        self.own, self.common = _priors(chain)
        combinations = np.arange(self.size)[:, None]
        self.broken = (combinations >> np.arange(len(chain.links))) & 1 == 1
        self._signals: dict[str, list[Floats]] = {}

    def signals(self, test: ChainTest) -> list[Floats]:
        """Probability of each signal of a test, for every combination of broken links.

        It shows with 1 - (1 - false alarm) x product over the broken links of (1 - chance).
        """
        if test.name not in self._signals:
            self._signals[test.name] = [
                1 - (1 - signal.false_alarm) * self._product(signal.chances)
                for signal in test.signals
            ]
        return self._signals[test.name]

    def likelihood(self, test: ChainTest, outcome: Outcome) -> Floats:
        """Probability of an outcome of a test, for every combination of broken links.

        Raises
        ------
        InputError
            When that is no outcome of the test.

        """
        if outcome not in test.meanings:
            raise InputError(
                f"{test.name}: saw {str(outcome)!r}, expected one of: "
                f"{', '.join(test.meanings)}, {Outcome.UNKNOWN}"
            )
        whole = np.ones(self.size)
        for shown, chance in zip(test.meanings[outcome], self.signals(test), strict=True):
            whole *= chance if shown else 1 - chance
        return whole

    def of_seen(self, seen: Seen) -> Floats:
        """Probability of what was seen, for every combination of broken links."""
        if seen.outcome is Outcome.UNKNOWN or seen.outcome is Outcome.REPAIRED:
            return np.ones(self.size)
        if seen.outcome is Outcome.SOUND:
            return np.where(self.broken[:, self.place(seen.name)], OVERLOOKED, 1.0)
        # Nothing is impossible: a contradiction must leave suspects.
        return np.maximum(self.likelihood(self.chain.test(seen.name), seen.outcome), _LEAST)

    def place(self, link: str) -> int:
        """Place of a link in the chain; raises `UnknownNameError`."""
        return self.places[self.chain.link(link).name]

    def mask(self, links: Iterable[str]) -> int:
        """Make the combination in which just these links are broken."""
        return sum(1 << self.place(link) for link in set(links))

    def _product(self, chances: Mapping[str, float]) -> Floats:
        whole = np.ones(1)
        for link in self.chain.links:
            whole = np.concatenate([whole, whole * (1 - chances.get(link.name, 0.0))])
        return whole


def repaired_before(seen: Iterable[Seen]) -> list[tuple[Seen, frozenset[str]]]:
    """Give each of what was seen with the links that had been repaired on its track by then."""
    done: dict[str, set[str]] = {}
    paired = []
    for each in seen:
        links = done.setdefault(each.track, set())
        if each.outcome is Outcome.REPAIRED:
            links.add(each.name)
        paired.append((each, frozenset(links)))
    return paired


def complaint(track: str, *, works: bool = False) -> Seen:
    """Say what brought it here: that a track does not do it, or that another one does."""
    return Seen(COMPLAINT, Outcome.PASS if works else Outcome.FAIL, track)


def _priors(chain: ChainMap) -> tuple[Floats, Floats]:
    """Turn weights into probabilities.

    The odds of a link are `several` times its share of the weight: with just one link broken,
    the shares are then those of the weights.
    """
    weights = np.array([link.weight for link in chain.links])
    odds = chain.several * weights / weights.sum()
    broken = odds / (1 + odds)
    common = broken * np.array([link.common for link in chain.links])
    return (broken - common) / (1 - common), common
