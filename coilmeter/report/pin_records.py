"""A pin map as records for a program: JSON and CSV, SI numbers, the unit in the key."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from coilmeter.compute.pinnet_kinds import KindFit
from coilmeter.compute.pinnet_roles import Proposal
from coilmeter.report.document import role_key
from coilmeter.report.pin_words import MappedHead
from coilmeter.values.pinmaps import PinGroup, PinLink, PinPath

COIL_KEYS: Final = (
    "coil",
    "pins",
    "reading",
    "resistance_ohm",
    "u_resistance_ohm",
    "resistance_20c_ohm",
    "u_ohm",
    "role",
    "band",
    "roles",
    "bands",
)
CSV_KEYS: Final = (
    "head",
    "status",
    "what",
    "name",
    "pins",
    "verdict",
    "reading",
    "resistance_ohm",
    "u_resistance_ohm",
    "bound_ohm",
    "resistance_20c_ohm",
    "u_ohm",
    "role",
    "band",
)


def coil_fields(each: Proposal) -> list[Any]:
    """Values of a coil, in the order of `COIL_KEYS`."""
    link = each.link
    return [
        each.name,
        list(link.pins),
        link.reading or None,
        link.ohm,
        link.u_ohm,
        link.resistance_20c_ohm,
        link.u_20c_ohm,
        role_key(each.role),
        each.band,
        [role_key(role) for role in each.roles],
        list(each.bands),
    ]


def facts(mapped: MappedHead) -> Iterator[tuple[str, Any]]:
    """Give what is true of the map as a whole, as further keys of the JSON document."""
    found = mapped.found
    yield "head", mapped.head
    yield "status", str(found.status)
    yield "readings", found.readings
    yield "pins", [[pin or None for pin in row] for row in found.field.rows]
    yield "case", found.field.case
    yield "groups", [_group(group) for group in found.groups]
    yield "isolation", [_path(mapped, path) for path in found.paths]
    yield "floating", list(found.floating)
    yield (
        "contradictions",
        [
            {"pins": [list(pins) for pins in each.pairs], "told": each.told}
            for each in found.contradictions
        ],
    )
    yield (
        "open",
        [
            {
                "what": str(gap.what),
                "pins": [list(pins) for pins in gap.pairs],
                "told": gap.told,
            }
            for gap in found.gaps
        ],
    )
    yield "kind", mapped.kind or None
    yield "against_kind", list(mapped.against)
    yield (
        "open_of_kind",
        [
            {"coil": coil.name, "pins": list(coil.pins), "certain": coil.certain}
            for coil in mapped.silent
        ],
    )
    yield "fits", [_fit(fit) for fit in mapped.fitting]
    yield "changed", list(mapped.changed)


def _group(group: PinGroup) -> dict[str, Any]:
    return {
        "pins": [list(node) for node in group.nodes],
        "shape": str(group.shape),
        "links": [_link(link) for link in group.links],
        "unseen_above_ohm": group.unseen_above_ohm,
        "told": group.told or None,
    }


def _link(link: PinLink) -> dict[str, Any]:
    return {
        "pins": list(link.pins),
        "resistance_ohm": link.ohm,
        "u_resistance_ohm": link.u_ohm,
        "is_coil": link.is_coil,
    }


def _path(mapped: MappedHead, path: PinPath) -> dict[str, Any]:
    start, end = (list(mapped.found.groups[place].pins) for place in path.between)
    return {
        "from": start,
        "to": end,
        "pins": None if path.pins is None else list(path.pins),
        "verdict": str(path.verdict),
        "reading": path.reading or None,
        "resistance_ohm": path.ohm,
        "u_resistance_ohm": path.u_ohm,
        "bound_ohm": path.bound_ohm,
        "through": list(path.through),
        "places": [place or None for place in path.places],
    }


def _fit(fit: KindFit) -> dict[str, Any]:
    return {
        "kind": fit.kind.name,
        "same_pins": fit.same_pins,
        "coils": {spec.name: list(pins) for pins, spec in fit.coils.items()},
        "open": [spec.name for spec in fit.broken],
    }


def csv_rows(mapped: MappedHead) -> Iterator[list[Any]]:
    """Rows of a CSV file, in the order of `CSV_KEYS`: coils, links, lone pins, paths."""
    found = mapped.found

    def row(what: str, **cells: Any) -> list[Any]:
        every = {"head": mapped.head, "status": str(found.status), "what": what} | cells
        return [every.get(key) for key in CSV_KEYS]

    for each in mapped.proposals:
        yield row(
            "coil",
            name=each.name,
            verdict="open" if each.link.ohm is None else None,
            role=role_key(each.role),
            band=each.band,
            **_values(each.link),
        )
    for group in found.groups:
        for link in group.links:
            if not link.is_coil:
                yield row("link", verdict=str(group.shape), **_values(link))
    for pin in found.floating:
        yield row("pin", name=pin, pins=pin, verdict="no partner")
    for path in found.paths:
        yield row(
            "path",
            name=" to ".join("-".join(found.groups[place].pins) for place in path.between),
            pins="-".join(path.pins or ()) or None,
            verdict=str(path.verdict),
            reading=path.reading or None,
            resistance_ohm=path.ohm,
            u_resistance_ohm=path.u_ohm,
            bound_ohm=path.bound_ohm,
        )


def _values(link: PinLink) -> dict[str, Any]:
    return {
        "pins": "-".join(link.pins),
        "reading": link.reading or None,
        "resistance_ohm": link.ohm,
        "u_resistance_ohm": link.u_ohm,
        "resistance_20c_ohm": link.resistance_20c_ohm,
        "u_ohm": link.u_20c_ohm,
    }
