"""Weights of links from the user's own closed cases.

The shares of the weights are a Dirichlet distribution: the shipped ones count as so many
cases seen before, and each closed case adds one to the link that it was.

Source: conjugate prior of the multinomial distribution; title in PROVENANCE.md.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from coilmeter.values.chains import ChainMap, Link

PRIOR_CASES: Final = 20.0
"""How many cases the shipped weights count for (own)."""


@dataclass(frozen=True, slots=True)
class Learnt:
    """Weight of one link.

    Parameters
    ----------
    link
        Which, with its weight before.
    prior, cases
        Share of the weights before, as cases, and how many closed cases it was.
    share, u_share
        Mean and standard deviation of its share now.

    """

    link: Link
    prior: float
    cases: float
    share: float
    u_share: float


def learn_weights(chain: ChainMap, closed: Mapping[str, float]) -> list[Learnt]:
    """Count closed cases into the weights.

    Parameters
    ----------
    chain
        The map, with the weights before.
    closed
        How many cases each link was, by name; those of links it does not have are left out.

    """
    total = sum(link.weight for link in chain.links)
    counts = [closed.get(link.name, 0.0) for link in chain.links]
    strength = PRIOR_CASES + sum(counts)
    found = []
    for link, count in zip(chain.links, counts, strict=True):
        prior = PRIOR_CASES * link.weight / total
        share = (prior + count) / strength
        spread = math.sqrt(share * (1 - share) / (strength + 1))
        found.append(Learnt(link, prior, count, share, spread))
    return found


def with_weights(chain: ChainMap, learnt: list[Learnt]) -> ChainMap:
    """Give the map with the shares as its weights, in percent."""
    links = tuple(replace(each.link, weight=100 * each.share) for each in learnt)
    return replace(chain, links=links)
