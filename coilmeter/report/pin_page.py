"""A pin map as one page of HTML, with the field drawn."""

from __future__ import annotations

import math
from typing import Any, Final

from coilmeter.report.pin_drawing import lettered
from coilmeter.report.pin_rows import map_listing
from coilmeter.report.pin_words import MappedHead, headline, summary
from coilmeter.report.rendering import rendered
from coilmeter.report.safe import printable
from coilmeter.units import format_ohm
from coilmeter.values import CASE
from coilmeter.values.pinmaps import PinField, PinLink, PinMap, PinPair

ACROSS: Final = 110
DOWN: Final = 64
MARGIN: Final = 60
_BULGE: Final = 0.22
_LEAST_BULGE: Final = 16.0
_CASE_ROOM: Final = 36
_BESIDE: Final = 7.0
"""How far the name of a coil stands from its line."""

_RADIUS: Final = 13
_PER_CHARACTER: Final = 4


def map_page(mapped: MappedHead) -> str:
    """Write the page: how certain it is, the drawing, the coils, and what is to be said."""
    listing, found = map_listing(mapped), mapped.found
    return rendered(
        "pins.html.j2",
        title=f"Pins of {mapped.head}",
        headline=headline(mapped),
        grade="matched" if mapped.sound else "partial",
        summary=summary(mapped),
        drawing=drawing(found, mapped.broken),
        headings=listing.headings,
        rows=listing.shown,
        nothing=listing.nothing,
        notes=listing.notes,
    )


def drawing(found: PinMap, broken: tuple[PinPair, ...] = ()) -> dict[str, Any]:
    """Give places and lines of the field, for the template: pins, and a curve a coil."""
    places = _places(found.field)
    coils = [
        _curve(places, name, link, broken=link.pins in broken)
        for name, link in lettered(found, broken)
    ]
    bridges = [
        _curve(places, "", link, broken=False) | {"kind": "bridge"}
        for group in found.groups
        for link in group.links
        if not link.is_coil
    ]
    width = 2 * MARGIN + ACROSS * (max(map(len, found.field.rows)) - 1)
    height = 2 * MARGIN + DOWN * (len(found.field.rows) - 1)
    return {
        "width": max(width, 3 * MARGIN),
        "height": height + (_CASE_ROOM if found.field.case else 0),
        "pins": [
            {
                "name": printable(name),
                "x": x,
                "y": y,
                "r": max(_RADIUS, _PER_CHARACTER * len(name) + 2),
            }
            for name, (x, y) in places.items()
        ],
        "lines": [*coils, *bridges],
        "spoken": _spoken(found, broken),
    }


def _places(field: PinField) -> dict[str, tuple[int, int]]:
    places = {
        pin: (MARGIN + ACROSS * across, MARGIN + DOWN * down)
        for pin, (down, across) in field.places().items()
    }
    if field.case:
        low = max(y for _, y in places.values())
        places[CASE] = (MARGIN, low + MARGIN + _CASE_ROOM // 2)
    return places


def _curve(
    places: dict[str, tuple[int, int]], name: str, link: PinLink, *, broken: bool
) -> dict[str, Any]:
    """Give a curve between two pins that bulges to one side, and the place of its name."""
    # From left to right, or downwards: the name then stands above the line, or beside it.
    (x1, y1), (x2, y2) = sorted(places[pin] for pin in link.pins)
    length = math.hypot(x2 - x1, y2 - y1)
    bulge = max(_BULGE * length, _LEAST_BULGE)
    # To the side that is on the left on the way from the first pin to the second.
    dx, dy = (y2 - y1) / length * bulge, -(x2 - x1) / length * bulge
    middle = ((x1 + x2) / 2 + dx, (y1 + y2) / 2 + dy)
    ohm = "open" if broken else "" if link.ohm is None else format_ohm(link.ohm, link.u_ohm)
    return {
        "kind": "broken" if broken else "wire",
        "path": f"M{x1} {y1}Q{middle[0]:.1f} {middle[1]:.1f} {x2} {y2}",
        "x": round((x1 + x2) / 2 + dx / 2 + _BESIDE * dx / bulge, 1),
        "y": round((y1 + y2) / 2 + dy / 2 + _BESIDE * dy / bulge, 1),
        "anchor": "end" if dx < -bulge / 2 else "start" if dx > bulge / 2 else "middle",
        "text": " ".join(part for part in (name, ohm) if part),
    }


def _spoken(found: PinMap, broken: tuple[PinPair, ...]) -> str:
    told = [
        f"coil {name} between {' and '.join(map(printable, link.pins))}"
        for name, link in lettered(found, broken)
    ]
    return f"Pins of the head: {', '.join(told) or 'no coil found'}"
