"""A tape head as a network of resistors: what a meter would find between any two points.

Not simulated: inductance, capacitance, the core, and thermal voltages.  A head here is its
copper and its leaks, and nothing that depends on time, current or polarity.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from types import MappingProxyType
from typing import Final, TypeAlias

import numpy as np

from coilmeter.errors import InputError, UnknownNameError
from coilmeter.values import CASE, HeadKind

COPPER_PER_K: Final = 0.00393
"""Temperature coefficient of annealed copper at 20 degC, per kelvin.  Source: IEC 60028."""

REFERENCE_DEGC: Final = 20.0

Node: TypeAlias = str | tuple[str, float]
"""A pin's name, ``case``, or a point along a coil as (coil, fraction from its first pin)."""

Coil: TypeAlias = tuple[str, str, float]
"""First pin, second pin, resistance in ohm at 20 degC; infinite for an open coil."""

Leak: TypeAlias = tuple[Node, Node, float]
"""Two nodes and the resistance between them in ohm; zero for a dead short."""


@dataclass(frozen=True)
class SimulatedHead:
    """A head on the bench, with whatever is wrong with it.

    Parameters
    ----------
    coils
        Name of each coil to its two pins and its resistance in ohm at 20 degC (infinite for
        an open one).  Coils that name the same pin share it.
    leaks
        Resistances that do not belong there, between any two nodes.  A leak does not follow
        the temperature of the copper.
    breaks
        Places where a wire has parted, as (coil, fraction from its first pin).
    temperature_degc
        Temperature of the copper.
    case
        Whether there is a metal case to measure against.

    Raises
    ------
    InputError
        When a coil, a leak or a break cannot be, or names what is not there.

    """

    coils: Mapping[str, Coil]
    leaks: tuple[Leak, ...] = ()
    breaks: tuple[tuple[str, float], ...] = ()
    temperature_degc: float = REFERENCE_DEGC
    case: bool = True

    def __post_init__(self) -> None:
        object.__setattr__(self, "coils", MappingProxyType(dict(self.coils)))
        object.__setattr__(self, "leaks", tuple(self.leaks))
        object.__setattr__(self, "breaks", tuple(self.breaks))
        for name, (pin_a, pin_b, ohm) in self.coils.items():
            if not ohm > 0:
                raise InputError(
                    f"coil {name!r} was given {ohm} ohm, expected more than 0",
                    hint="use infinity for an open coil, and a leak of 0 ohm for a short.",
                )
            if pin_a == pin_b:
                raise InputError(f"coil {name!r} begins and ends at pin {pin_a!r}")
        for a, b, ohm in self.leaks:
            self._check_node(a)
            self._check_node(b)
            if not ohm >= 0:
                raise InputError(f"a leak was given {ohm} ohm, expected 0 or more")
        for coil, fraction in self.breaks:
            self._check_node((coil, fraction))
        if not self._copper_factor > 0:
            raise InputError(
                f"saw {self.temperature_degc} degC, expected a temperature of a bench"
            )

    @classmethod
    def of_kind(
        cls,
        kind: HeadKind,
        resistances: Mapping[str, float],
        *,
        temperature_degc: float = REFERENCE_DEGC,
    ) -> SimulatedHead:
        """Make a sound head of `kind` with the given coil resistances in ohm at 20 degC.

        Raises
        ------
        InputError
            When a coil of the kind has no resistance, or one is given for no coil of it.

        """
        names = [coil.name for coil in kind.coils]
        for name in resistances:
            if name not in names:
                raise UnknownNameError(f"coil of {kind.name!r}", name, names)
        missing = [name for name in names if name not in resistances]
        if missing:
            raise InputError(
                f"no resistance was given for coil {', '.join(missing)} of {kind.name!r}",
                hint="give one for each coil, infinity for an open one.",
            )
        return cls(
            {coil.name: (*coil.pins, resistances[coil.name]) for coil in kind.coils},
            temperature_degc=temperature_degc,
            case=kind.case,
        )

    @property
    def pins(self) -> tuple[str, ...]:
        """The pins in the order of the coils, and ``case`` last where there is one."""
        pins = [pin for a, b, _ in self.coils.values() for pin in (a, b)]
        return tuple(dict.fromkeys([*pins, CASE] if self.case else pins))

    def with_resistance(self, coil: str, ohm: float) -> SimulatedHead:
        """Return this head with one coil of another resistance at 20 degC."""
        pin_a, pin_b, _ = self._coil(coil)
        return replace(self, coils={**self.coils, coil: (pin_a, pin_b, ohm)})

    def with_open(self, coil: str, at: float = 0.5) -> SimulatedHead:
        """Return this head with the wire of one coil parted at fraction `at` of its length."""
        return replace(self, breaks=(*self.breaks, (coil, at)))

    def with_shorted_turns(self, coil: str, share: float = 1.0) -> SimulatedHead:
        """Return this head with `share` of the turns of one coil, around its middle, shorted.

        A share of 1 joins the two ends of the coil.
        """
        if not 0 < share <= 1:
            raise InputError(f"saw a share of turns of {share}, expected 0 < share <= 1")
        return self.with_leak((coil, (1 - share) / 2), (coil, (1 + share) / 2), 0.0)

    def with_leak(self, a: Node, b: Node, ohm: float) -> SimulatedHead:
        """Return this head with `ohm` between two nodes that should not be connected."""
        return replace(self, leaks=(*self.leaks, (a, b, ohm)))

    def at_temperature(self, temperature_degc: float) -> SimulatedHead:
        """Return this head with its copper at another temperature."""
        return replace(self, temperature_degc=temperature_degc)

    def resistance_between(self, a: str, b: str) -> float:
        """Resistance between two pins (or a pin and ``case``).

        Returns
        -------
        float
            In ohm at the head's temperature; infinite where nothing connects the two.

        Raises
        ------
        InputError
            When there is no such pin, with those there are.

        """
        self._check_node(a)
        self._check_node(b)
        return network_resistance(self._edges(), a, b)

    @property
    def _copper_factor(self) -> float:
        """Resistance of copper at the head's temperature over that at 20 degC."""
        return 1 + COPPER_PER_K * (self.temperature_degc - REFERENCE_DEGC)

    def _coil(self, name: str) -> Coil:
        """Look a coil up, or say which there are."""
        if name not in self.coils:
            raise UnknownNameError("coil of this head", name, tuple(self.coils))
        return self.coils[name]

    def _check_node(self, node: Node) -> None:
        """Refuse a node that is not there."""
        if isinstance(node, str):
            if node not in self.pins:
                raise UnknownNameError("pin of this head", node, self.pins)
            return
        name, fraction = node
        _, _, ohm = self._coil(name)
        if not 0 <= fraction <= 1:
            raise InputError(
                f"saw fraction {fraction} along coil {name!r}, expected 0 to 1",
                hint="0 is the first pin of the coil, 1 its second pin.",
            )
        if math.isinf(ohm) and 0 < fraction < 1:
            raise InputError(
                f"coil {name!r} has infinite resistance, so no point along it can be told",
                hint="give the coil its sound resistance and open it with a break.",
            )

    def _resolve(self, node: Node) -> Node:
        """Return the pin for a point at the very end of a coil, anything else as it is."""
        if isinstance(node, str):
            return node
        name, fraction = node
        pin_a, pin_b, _ = self.coils[name]
        return {0.0: pin_a, 1.0: pin_b}.get(fraction, node)

    def _edges(self) -> list[tuple[Node, Node, float]]:
        """Give the whole head as resistors between nodes."""
        edges = [(self._resolve(a), self._resolve(b), ohm) for a, b, ohm in self.leaks]
        for name in self.coils:
            edges.extend(self._segments(name))
        return edges

    def _segments(self, name: str) -> Iterable[tuple[Node, Node, float]]:
        """Yield the unbroken pieces of a coil between its ends and the points that leak.

        A point exactly at a break stays with the first pin; a break at the very end of the
        coil parts its second pin.
        """
        ohm = self.coils[name][2] * self._copper_factor
        ends = [node for a, b, _ in self.leaks for node in (a, b)]
        points = {point[1] for point in ends if not isinstance(point, str) and point[0] == name}
        breaks = [at for coil, at in self.breaks if coil == name]
        for start, stop in pairwise(sorted({0.0, 1.0} | points)):
            parted = any(start <= at < stop or at == stop == 1 for at in breaks)
            if not parted:
                piece = (stop - start) * ohm
                yield self._resolve((name, start)), self._resolve((name, stop)), piece


def network_resistance(
    edges: Sequence[tuple[Node, Node, float]], start: Node, end: Node
) -> float:
    """Resistance between two nodes of any network of resistors, in ohm.

    Nodes joined by zero ohm are made one; of the rest, the part that can be reached from
    `start` gives one Laplacian of conductances, whose reduced form (with `end` grounded) is
    solved for one ampere fed into `start`.

    Parameters
    ----------
    edges
        Pairs of nodes with their resistance in ohm, zero or more; infinite ones connect
        nothing.
    start, end
        The two nodes; each may be absent from `edges`.

    Returns
    -------
    float
        In ohm; infinite where nothing connects the two.

    Source: D. J. Klein and M. Randic, Resistance distance, J. Math. Chem. 12 (1993) 81-95.

    """
    joined = _groups([(a, b) for a, b, ohm in edges if ohm == 0], [start, end])
    live = [
        (joined.get(a, a), joined.get(b, b), ohm)
        for a, b, ohm in edges
        if 0 < ohm < math.inf and joined.get(a, a) != joined.get(b, b)
    ]
    source, sink = joined[start], joined[end]
    if source == sink:
        return 0.0
    reach = _groups([(a, b) for a, b, _ in live], [source, sink])
    if reach[source] != reach[sink]:
        return math.inf
    nodes = [node for node, group in reach.items() if group == reach[source] and node != sink]
    index = {node: place for place, node in enumerate(nodes)}
    laplacian = np.zeros((len(nodes), len(nodes)))
    for a, b, ohm in live:
        rows = [index[node] for node in (a, b) if node in index]
        for row in rows:
            laplacian[row, row] += 1 / ohm
        if len(rows) == 2:  # noqa: PLR2004 - neither end is the grounded one
            laplacian[rows[0], rows[1]] -= 1 / ohm
            laplacian[rows[1], rows[0]] -= 1 / ohm
    current = np.zeros(len(nodes))
    current[index[source]] = 1.0
    return float(np.linalg.solve(laplacian, current)[index[source]])


def _groups(pairs: Iterable[tuple[Node, Node]], alone: Iterable[Node]) -> dict[Node, Node]:
    """Return each node's representative, where `pairs` are connected and `alone` also exist."""
    parent: dict[Node, Node] = {node: node for node in alone}

    def root(node: Node) -> Node:
        parent.setdefault(node, node)
        while parent[node] != node:
            node = parent[node]
        return node

    for a, b in pairs:
        parent[root(a)] = root(b)
    return {node: root(node) for node in parent}
