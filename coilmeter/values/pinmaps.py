"""Which pins of a head belong together: the field they lie in, and what was found in it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

from coilmeter.values.specs import CASE
from coilmeter.values.words import Isolation

PinPair: TypeAlias = tuple[str, str]
"""Two different points: pins, or a pin and ``case``."""

FEWEST_PINS = 2
MOST_PINS = 16


@dataclass(frozen=True, slots=True)
class PinField:
    """The pins as they lie, and whether there is a metal case beside them.

    Parameters
    ----------
    rows
        Names of the pins, row by row; an empty text is a place without a pin.
    case
        Whether there is a case to measure against.

    """

    rows: tuple[tuple[str, ...], ...]
    case: bool = True

    @property
    def pins(self) -> tuple[str, ...]:
        """Every pin, row by row."""
        return tuple(pin for row in self.rows for pin in row if pin)

    @property
    def points(self) -> tuple[str, ...]:
        """Every pin, and the case last where there is one."""
        return (*self.pins, CASE) if self.case else self.pins

    def places(self) -> dict[str, tuple[int, int]]:
        """Row and column of each pin, from 0."""
        return {
            pin: (down, across)
            for down, row in enumerate(self.rows)
            for across, pin in enumerate(row)
            if pin
        }

    def pair(self, first: str, second: str) -> PinPair:
        """Give two points in the order of the field."""
        order = self.points
        return (first, second) if order.index(first) < order.index(second) else (second, first)


class Shape(StrEnum):
    """What a group of pins that conduct to each other is recognised as."""

    COIL = "coil"
    COMMON_RETURN = "common return"
    TAP_OR_RETURN = "centre tap or common return"
    UNEQUAL = "two unequal coils on a common pin"
    CHAIN = "series chain"
    BRIDGED = "bridged coils"
    HIDDEN = "hidden common point"
    NETWORK = "network"
    JOINED = "joined pins"
    ALONE = "floating pin"
    CASE = "case"
    OPEN = "not yet known"


class MapStatus(StrEnum):
    """How far a pin map can be relied on."""

    CERTAIN = "certain"
    OPEN = "open"
    CONTRADICTORY = "contradictory"


@dataclass(frozen=True, slots=True)
class PinLink:
    """A resistance between two points that is there by itself, not by way of others.

    Parameters
    ----------
    pins
        Its two ends; of pins that are joined, the first.
    ohm, u_ohm
        Resistance with the leads off, and its standard uncertainty; None where only a beep
        or a pair that was not read stands for it.
    resistance_20c_ohm, u_20c_ohm
        The same as a copper winding, at 20 degC.
    reading
        The reading as it was written; empty where it follows from several.
    is_coil
        Whether it is taken for a winding, and not for a bridge.

    """

    pins: PinPair
    ohm: float | None = None
    u_ohm: float | None = None
    resistance_20c_ohm: float | None = None
    u_20c_ohm: float | None = None
    reading: str = ""
    is_coil: bool = True


@dataclass(frozen=True, slots=True)
class PinGroup:
    """Points that conduct to each other as coils do, or one point by itself.

    Parameters
    ----------
    nodes
        Its points; those that a dead short joins stand together.
    shape
        What it is recognised as.
    links
        The resistances it is made of.
    told
        One sentence on it.
    unseen_above_ohm
        A further resistance between two of its points, above this, would not have been
        told from none; None where there is no room for one.

    """

    nodes: tuple[tuple[str, ...], ...]
    shape: Shape
    links: tuple[PinLink, ...] = ()
    told: str = ""
    unseen_above_ohm: float | None = None

    @property
    def pins(self) -> tuple[str, ...]:
        """Every point of it."""
        return tuple(pin for node in self.nodes for pin in node)

    @property
    def coils(self) -> tuple[PinLink, ...]:
        """Those of its links that are windings."""
        return tuple(link for link in self.links if link.is_coil)


@dataclass(frozen=True, slots=True)
class PinPath:
    """What lies between two groups.

    Parameters
    ----------
    between
        Places of the two groups in the map.
    verdict
        Isolated, leaking, bridged, undecided or missing.
    pins
        The two points that were read; None where none were.
    reading
        The reading as it was written, the lowest where there are several.
    ohm, u_ohm
        Resistance of what joins them, without the coils on the way, and its standard
        uncertainty; None where it is only bounded.
    bound_ohm
        It is above this; None where it has a value.
    places
        Where on each of the two groups it joins, in words; empty where that is not known.
    through
        Points by way of which it conducts, so that there is nothing between the two
        themselves; empty where it is direct.

    """

    between: tuple[int, int]
    verdict: Isolation
    pins: PinPair | None = None
    reading: str = ""
    ohm: float | None = None
    u_ohm: float | None = None
    bound_ohm: float | None = None
    places: tuple[str, str] = ("", "")
    through: tuple[str, ...] = ()


class Missing(StrEnum):
    """What a pair that was not read, or not well enough, keeps open."""

    PARTNER = "partner"
    INNER = "inner"
    ATTACHED = "attached"
    APART = "apart"
    VALUE = "value"
    DOUBT = "doubt"


@dataclass(frozen=True, slots=True)
class Gap:
    """Pairs of which any one would decide a question that is open.

    Parameters
    ----------
    what
        The question.
    pairs
        The pairs, in the order of the field.
    told
        One sentence: what is open, and why.

    """

    what: Missing
    pairs: tuple[PinPair, ...]
    told: str


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Readings that cannot all be right: the pairs concerned, and a sentence with them."""

    pairs: tuple[PinPair, ...]
    told: str


@dataclass(frozen=True, slots=True)
class PinMap:
    """Everything that pair readings say of the pins of a head.

    Parameters
    ----------
    field
        The pins.
    groups
        In the order of the field; the case, where there is one, is a group too, unless a
        coil or a short joins it to pins.
    paths
        What lies between each two groups.
    gaps
        What is open, and which pairs decide.
    contradictions
        Readings that cannot all be right.
    readings
        How many readings it rests on.

    """

    field: PinField
    groups: tuple[PinGroup, ...]
    paths: tuple[PinPath, ...]
    gaps: tuple[Gap, ...]
    contradictions: tuple[Contradiction, ...]
    readings: int = 0

    @property
    def status(self) -> MapStatus:
        """How far it can be relied on."""
        if self.contradictions:
            return MapStatus.CONTRADICTORY
        return MapStatus.OPEN if self.gaps else MapStatus.CERTAIN

    @property
    def coils(self) -> tuple[PinLink, ...]:
        """Every winding, in the order of the field."""
        return tuple(link for group in self.groups for link in group.coils)

    @property
    def floating(self) -> tuple[str, ...]:
        """Pins that conduct to no other one as a coil does."""
        return tuple(
            pin for group in self.groups if group.shape is Shape.ALONE for pin in group.pins
        )

    @property
    def faulty(self) -> bool:
        """Whether something conducts that should not, or a pin belongs to no coil told."""
        odd = {Shape.ALONE, Shape.BRIDGED, Shape.NETWORK, Shape.HIDDEN, Shape.JOINED}
        conducting = {Isolation.BRIDGED, Isolation.LEAKING}
        return any(
            group.shape in odd
            or (CASE in group.pins and group.shape is not Shape.CASE)
            or any(len(node) > 1 for node in group.nodes)
            for group in self.groups
        ) or any(path.verdict in conducting for path in self.paths)
