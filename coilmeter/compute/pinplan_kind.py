"""A head that is said to be of a kind: what tests it, and what speaks against it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Self

from coilmeter.compute.paths import required_paths
from coilmeter.compute.pinnet_pairs import Pair, Pairs
from coilmeter.values import CASE, HeadKind
from coilmeter.values.pinmaps import Missing, PinMap, PinPair


@dataclass(frozen=True, slots=True)
class Expected:
    """What a kind says of pin pairs.

    Parameters
    ----------
    kind
        The kind.
    coils
        Name and pins of each coil.
    paths
        Sides that should not conduct, and for each the pairs of which one is read.

    """

    kind: HeadKind
    coils: tuple[tuple[str, PinPair], ...]
    paths: tuple[tuple[tuple[str, str], tuple[PinPair, ...]], ...]

    @classmethod
    def of(cls, kind: HeadKind) -> Self:
        """Expect what a kind says."""
        pins = {coil.name: coil.pins for coil in kind.coils} | {CASE: (CASE,)}
        paths = tuple(
            (sides, tuple(product(pins[sides[0]], pins[sides[1]])))
            for sides in required_paths(kind, [coil.name for coil in kind.coils])
        )
        return cls(kind, tuple((coil.name, coil.pins) for coil in kind.coils), paths)

    @property
    def points(self) -> tuple[str, ...]:
        """Every pin of the kind, and the case last where it has one."""
        pins = dict.fromkeys(pin for _, pair in self.coils for pin in pair)
        return (*pins, CASE) if self.kind.case else tuple(pins)


@dataclass(frozen=True, slots=True)
class SilentCoil:
    """A coil of a kind that does not conduct, and its pins to no other.

    Parameters
    ----------
    name, pins
        The coil in the kind.
    told
        What was read.
    certain
        Whether both pins were read against all others, so that it is open.

    """

    name: str
    pins: PinPair
    told: str
    certain: bool


def against(expected: Expected, pairs: Pairs) -> list[tuple[PinPair, str]]:
    """Name what readings say against a kind: the pair, and a sentence."""
    return [*_against_coils(expected, pairs), *_against_paths(expected, pairs)]


def wanted(expected: Expected, pairs: Pairs) -> list[PinPair] | None:
    """Pairs that are left to test a kind; None where a search has to begin instead.

    That is so where pins conduct which should not, and where two coils do not.  A leak refutes
    no kind, and one coil may be open: both are faults of this head.
    """
    if any(_against_paths(expected, pairs)) or len([*_against_coils(expected, pairs)]) > 1:
        return None
    coils = [pins for _, pins in expected.coils if not pairs.of(*pins).readings]
    paths = [
        pins
        for _, choices in expected.paths
        if not any(pairs.of(*each).settled for each in choices)
        for pins in choices
    ]
    return [pairs.field.pair(*pins) for pins in (*coils, *paths)]


def is_tested(expected: Expected, pairs: Pairs) -> bool:
    """Whether all that tests a kind was read, and nothing speaks against it."""
    return not against(expected, pairs) and wanted(expected, pairs) == []


def silent_coils(expected: Expected, pairs: Pairs, found: PinMap) -> list[SilentCoil]:
    """Coils of a kind that do not conduct, and whose pins conduct to no other either.

    Such a coil is open, or the head is wired otherwise: that is certain only once both pins
    were read against all others.
    """
    silent = []
    for name, pins in expected.coils:
        pair = pairs.of(*pins)
        if not (pair.readings and pair.no_coil and {*pins} <= {*found.floating}):
            continue
        certain = not any(
            gap.what in {Missing.PARTNER, Missing.ATTACHED}
            and {*pins} & {*ends}
            and CASE not in ends
            for gap in found.gaps
            for ends in gap.pairs
        )
        silent.append(SilentCoil(name, pair.pins, pair.readings[-1].told, certain))
    return silent


def _against_coils(expected: Expected, pairs: Pairs) -> Iterator[tuple[PinPair, str]]:
    for name, pins in expected.coils:
        pair = pairs.of(*pins)
        if pair.readings and pair.no_coil:
            said = pair.readings[-1].told
            yield pair.pins, f"coil {name} should be on {'-'.join(pins)}, and {said}"


def _against_paths(expected: Expected, pairs: Pairs) -> Iterator[tuple[PinPair, str]]:
    joined = _joined(expected)
    for pair in pairs.by_pins.values():
        if not _reads_like_a_coil(pair):
            continue
        first, second = (joined.get(point, {point}) for point in pair.pins)
        if first is not second:
            said = pair.readings[-1].told
            told = f"{' and '.join(pair.pins)} should not be connected, and {said}"
            yield pair.pins, told


def _reads_like_a_coil(pair: Pair) -> bool:
    return bool(pair.readings) and pair.as_coil


def _joined(expected: Expected) -> dict[str, set[str]]:
    """Pins that coils of the kind connect, by each of them."""
    joined: dict[str, set[str]] = {}
    for _, (one, other) in expected.coils:
        both = joined.get(one, {one}) | joined.get(other, {other})
        for point in both:
            joined[point] = both
    return joined


def unknown_points(expected: Expected, points: Sequence[str]) -> list[str]:
    """Pins that a kind has and the field has not."""
    return [point for point in expected.points if point not in points]
