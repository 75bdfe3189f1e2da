"""A tape head as a network of resistors: what a meter would find between any two points.

Not simulated: thermal voltages, and that two coils on one core see each other.  To an
ohmmeter a head here is its copper and its leaks, and nothing that depends on time, current or
polarity; what it is at a tone stands in its cores, see `coilmeter.sources.simulated_tone_head`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from types import MappingProxyType
from typing import Final, TypeAlias

from coilmeter.errors import InputError, UnknownNameError
from coilmeter.sources.simulated_core import Core, core_for
from coilmeter.sources.simulated_network import Node, network_resistance
from coilmeter.values import CASE, HeadKind

COPPER_PER_K: Final = 0.00393
"""Temperature coefficient of annealed copper at 20 degC, per kelvin.  Source: IEC 60028."""

REFERENCE_DEGC: Final = 20.0

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
    taps
        Pins that are connected to a point along a coil, as (coil, fraction).
    cores
        What a coil is beside its copper, by name; one that is not named has what is expected
        of its resistance.

    Raises
    ------
    InputError
        When a coil, a leak, a break or a tap cannot be, or names what is not there.

    """

    coils: Mapping[str, Coil]
    leaks: tuple[Leak, ...] = ()
    breaks: tuple[tuple[str, float], ...] = ()
    temperature_degc: float = REFERENCE_DEGC
    case: bool = True
    taps: Mapping[str, tuple[str, float]] = field(default_factory=dict)
    cores: Mapping[str, Core] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "cores", MappingProxyType(dict(self.cores)))
        object.__setattr__(self, "coils", MappingProxyType(dict(self.coils)))
        object.__setattr__(self, "taps", MappingProxyType(dict(self.taps)))
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
        for point in (*self.breaks, *self.taps.values()):
            self._check_node(point)
        ends = {pin for pin_a, pin_b, _ in self.coils.values() for pin in (pin_a, pin_b)}
        for pin in self.taps:
            if pin in {*ends, CASE}:
                raise InputError(f"pin {pin!r} cannot be a tap: it has another place already")
        if not self.copper_factor > 0:
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
        pins = [pin for a, b, _ in self.coils.values() for pin in (a, b)] + [*self.taps]
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

    def with_core(self, coil: str, **changes: float) -> SimulatedHead:
        """Return this head with fields of the core of one coil changed."""
        core = replace(self.core_of(coil), **changes)
        return replace(self, cores={**self.cores, coil: core})

    def core_of(self, coil: str) -> Core:
        """Give the core of a coil."""
        _, _, ohm = self._coil(coil)
        return self.cores.get(coil) or core_for(ohm)

    def mended(self, coil: str | None = None) -> SimulatedHead:
        """Return this head without breaks, leaks and wear, or without those of one coil.

        The resistance of each coil stays.
        """
        cores = {
            name: replace(core, gap_left=1.0) if coil in {None, name} else core
            for name, core in self.cores.items()
        }
        if coil is None:
            return replace(self, leaks=(), breaks=(), cores=cores)
        self._coil(coil)
        leaks = [
            leak
            for leak in self.leaks
            if all(isinstance(node, str) or node[0] != coil for node in leak[:2])
        ]
        breaks = [place for place in self.breaks if place[0] != coil]
        return replace(self, leaks=tuple(leaks), breaks=tuple(breaks), cores=cores)

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
    def copper_factor(self) -> float:
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
        edges = [(self._resolve(a), self._resolve(b), ohm) for a, b, ohm in self._joined()]
        for name in self.coils:
            edges.extend(self._segments(name))
        return edges

    def _joined(self) -> tuple[Leak, ...]:
        """Whatever is connected beside the coils themselves: leaks and taps."""
        return (*self.leaks, *((pin, point, 0.0) for pin, point in self.taps.items()))

    def _segments(self, name: str) -> Iterable[tuple[Node, Node, float]]:
        """Yield the unbroken pieces of a coil between its ends, taps and points that leak.

        A point exactly at a break stays with the first pin; a break at the very end of the
        coil parts its second pin.
        """
        ohm = self.coils[name][2] * self.copper_factor
        ends = [node for a, b, _ in self._joined() for node in (a, b)]
        points = {point[1] for point in ends if not isinstance(point, str) and point[0] == name}
        breaks = [at for coil, at in self.breaks if coil == name]
        for start, stop in pairwise(sorted({0.0, 1.0} | points)):
            parted = any(start <= at < stop or at == stop == 1 for at in breaks)
            if not parted:
                piece = (stop - start) * ohm
                yield self._resolve((name, start)), self._resolve((name, stop)), piece
