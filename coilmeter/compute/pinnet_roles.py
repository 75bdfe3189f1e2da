"""What the coils of a map may be: bands they lie in, and roles that head kinds give those."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from string import ascii_uppercase
from typing import Final

from coilmeter.compute.verdict import zones_of_value
from coilmeter.errors import InputError
from coilmeter.units import ohms
from coilmeter.values import CASE, ZONES, Band, CoilSpec, Condition, HeadKind, Role
from coilmeter.values.pinmaps import PinLink, PinMap, PinPair, Shape

WHOLE: Final = "any"
"""The band of a coil of which nothing is known."""

_INTACT: Final = ZONES.index(Condition.INTACT)


@dataclass(frozen=True, slots=True)
class Proposal:
    """What one coil of a map may be.

    Parameters
    ----------
    name
        Its name in the map.
    link
        The coil; without a value where it is one that was said to be broken.
    bands
        Bands in which it is intact at the confidence asked for; ``any`` left out.
    roles
        Roles that head kinds give to coils of these bands, in the order of the bands.
    band, role
        The one that is proposed: the only one, else ``any`` and unknown.

    """

    name: str
    link: PinLink
    bands: tuple[str, ...]
    roles: tuple[Role, ...]
    band: str = WHOLE
    role: Role = Role.UNKNOWN


def propose(
    found: PinMap,
    bands: Mapping[str, Band],
    kinds: Mapping[str, HeadKind],
    *,
    confidence: float,
    chosen: Mapping[PinPair, str] | None = None,
    broken: Sequence[PinPair] = (),
) -> tuple[Proposal, ...]:
    """Propose what the coils of a map are, and name them.

    Parameters
    ----------
    found
        The map.
    bands, kinds
        Reference data.
    confidence
        Probability with which a coil must be intact by a band to fit it.
    chosen
        Band of coils for which a person named it.
    broken
        Pairs of pins without partner that a person says are coils.

    """
    links = sorted_links(found, broken)
    of_band = roles_of_bands(kinds)
    made = []
    for link, name in zip(links, letters(len(links)), strict=True):
        fitting = tuple(fitting_bands(link, bands, confidence))
        roles = tuple(dict.fromkeys(role for band in fitting for role in of_band.get(band, ())))
        named = (chosen or {}).get(link.pins, "")
        mine = (named,) if named else fitting
        # A band to which no kind gives a role leaves the role open.
        of_mine = {role for band in mine for role in of_band.get(band, (Role.UNKNOWN,))}
        role = of_mine.pop() if len(of_mine) == 1 else Role.UNKNOWN
        made.append(
            Proposal(name, link, fitting, roles, mine[0] if len(mine) == 1 else WHOLE, role)
        )
    return tuple(made)


def sorted_links(found: PinMap, broken: Sequence[PinPair] = ()) -> list[PinLink]:
    """Coils of a map in the order of the field, those that are said to be broken included."""
    links = [*found.coils, *(PinLink(pins) for pins in broken)]
    order = {point: place for place, point in enumerate(found.field.points)}
    return sorted(links, key=lambda link: tuple(order[pin] for pin in link.pins))


def fitting_bands(link: PinLink, bands: Mapping[str, Band], confidence: float) -> list[str]:
    """Bands by which a coil is intact with the confidence asked for."""
    if link.resistance_20c_ohm is None or not link.u_20c_ohm:
        return []
    value, u = ohms(link.resistance_20c_ohm), ohms(link.u_20c_ohm)
    fitting = []
    for name, band in bands.items():
        zoned = zones_of_value(value, u, ohms(list(band.limits_ohm)), confidence)
        if name != WHOLE and int(zoned.decided) == _INTACT:
            fitting.append(name)
    return fitting


def roles_of_bands(kinds: Mapping[str, HeadKind]) -> dict[str, tuple[Role, ...]]:
    """Roles that coils of each band have in the head kinds known."""
    roles: dict[str, tuple[Role, ...]] = {}
    for kind in kinds.values():
        for coil in kind.coils:
            if coil.role is not Role.UNKNOWN and coil.role not in roles.get(coil.band, ()):
                roles[coil.band] = (*roles.get(coil.band, ()), coil.role)
    return roles


def settled_by(
    proposals: Sequence[Proposal], specs: Mapping[PinPair, CoilSpec]
) -> tuple[Proposal, ...]:
    """Take band and role from what the kinds that fit agree on, where they were open."""
    return tuple(
        Proposal(each.name, each.link, each.bands, each.roles, spec.band, spec.role)
        if each.role is Role.UNKNOWN
        and each.band == WHOLE
        and (spec := specs.get(each.link.pins)) is not None
        else each
        for each in proposals
    )


def letters(count: int) -> list[str]:
    """Names of so many coils: letters, which no number of a pin can be taken for."""
    return [ascii_uppercase[place] for place in range(count)]


_UNFIT: Final = {
    Shape.BRIDGED: "a bridge is in it, so that which pins belong to a coil is not certain",
    Shape.HIDDEN: "a common point is not brought out, so that no two pins are a coil",
    Shape.NETWORK: "it is a network in which no coils can be told",
    Shape.OPEN: "what lies between its pins is not known yet",
    Shape.JOINED: "a dead short joins pins",
}


def kind_of(
    name: str, found: PinMap, proposals: Sequence[Proposal], description: str, basis: str
) -> HeadKind:
    """Make a head kind of a map.

    Raises
    ------
    InputError
        When the map is not certain, or its coils cannot be told by two pins each.

    """
    again = "map a sound head of this sort, or write the kind by hand."
    if found.contradictions or found.gaps:
        first = [*(each.told for each in found.contradictions), *_first(found)][0]
        raise InputError(
            f"{name}: not saved, because the map is {found.status}: {first}",
            hint="read what it asks for, and save it then.",
        )
    for group in found.groups:
        joined = any(len(node) > 1 for node in group.nodes)
        why = _UNFIT.get(Shape.JOINED if joined else group.shape, "")
        if why:
            raise InputError(f"{name}: not saved. {', '.join(group.pins)}: {why}", hint=again)
    ends = [pin for each in proposals for pin in each.link.pins]
    if not proposals or CASE in ends:
        why = "a coil returns through the case" if proposals else "there is no coil in it"
        raise InputError(f"{name}: not saved, because {why}", hint=again)
    return HeadKind(
        name=name,
        description=description,
        coils=tuple(
            CoilSpec(each.name, each.role, each.link.pins, each.band) for each in proposals
        ),
        case=found.field.case,
        basis=basis,
    )


def _first(found: PinMap) -> list[str]:
    return [gap.told for gap in found.gaps]
