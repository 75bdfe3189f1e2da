"""Which isolation paths a head must have been measured on before it can be called sound."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Self

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


@dataclass(frozen=True, slots=True)
class Layout:
    """Which paths a head needs, and which coils a common return makes one for them.

    Parameters
    ----------
    required
        Paths to be read, as pairs of sides.
    joined
        The coils that one pin or more join, by the name of each coil that is not alone.

    """

    required: tuple[tuple[str, str], ...]
    joined: Mapping[str, tuple[str, ...]]

    @classmethod
    def of(cls, kind: HeadKind | None, coils: Sequence[str]) -> Self:
        """Lay out a head of a kind, or of coils of which no more is known."""
        groups = [] if kind is None else [group for group in joined_coils(kind) if group[1:]]
        joined = {name: tuple(group) for group in groups for name in group}
        return cls(tuple(required_paths(kind, coils)), joined)

    def unread(self, read: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
        """Paths that are required and not among those read, whichever joined coil it was."""
        done = {frozenset(map(self._group, path)) for path in read}
        return [path for path in self.required if frozenset(map(self._group, path)) not in done]

    def _group(self, side: str) -> str:
        return self.joined.get(side, (side,))[0]


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
