"""Which isolation paths a head must have been measured on before it can be called sound."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from coilmeter.values import CASE, HeadKind


def required_paths(kind: HeadKind | None, coils: Sequence[str]) -> list[tuple[str, str]]:
    """Pairs of sides, in the order to measure them.

    Each group of coils that no pin joins is read against the case, where there is one, and
    against the next group.  Groups further apart are left out: bridges form between
    neighbours, and a report says which paths were read.

    Parameters
    ----------
    kind
        Head kind, None where it is not known: then every coil stands alone and a case is
        taken to exist.
    coils
        Names of the coils, in order.

    """
    groups = list(coils) if kind is None else [group[0] for group in joined_coils(kind)]
    with_case = kind is None or kind.case
    to_case = [(name, CASE) for name in groups] if with_case else []
    return [*itertools.pairwise(groups), *to_case]


def joined_coils(kind: HeadKind) -> list[list[str]]:
    """Coils of a kind, grouped by the pins they share, in order."""
    groups: list[tuple[list[str], set[str]]] = []
    for coil in kind.coils:
        touching = [group for group in groups if group[1] & set(coil.pins)]
        merged: tuple[list[str], set[str]] = (
            [name for names, _ in touching for name in names] + [coil.name],
            set(coil.pins).union(*(pins for _, pins in touching)),
        )
        position = groups.index(touching[0]) if touching else len(groups)
        groups = [group for group in groups if group not in touching]
        groups.insert(position, merged)
    return [names for names, _ in groups]
