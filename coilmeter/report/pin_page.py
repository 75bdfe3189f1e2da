"""A pin map as one page of HTML, with the field drawn."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, Final, TypeAlias

from coilmeter.report.pin_drawing import lettered
from coilmeter.report.pin_rows import map_listing
from coilmeter.report.pin_words import MappedHead, headline, summary
from coilmeter.report.rendering import rendered
from coilmeter.report.safe import printable
from coilmeter.units import format_ohm
from coilmeter.values import CASE, Isolation
from coilmeter.values.pinmaps import PinField, PinMap, PinPair

Place: TypeAlias = tuple[float, float]

ACROSS: Final = 110
DOWN: Final = 64
MARGIN: Final = 60
_BULGE: Final = 0.22
_LEAST_BULGE: Final = 16.0
_MOST_BULGE: Final = 90.0
_CASE_ROOM: Final = 36
_ALONG: Final = (0.5, 0.38, 0.62, 0.28, 0.72, 0.2, 0.8)
"""Where along a line its name may stand: the first place that is free."""

_FREE: Final = 15.0
"""A name stands at least so far from pins and from other names."""

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
    width = max(2 * MARGIN + ACROSS * (max(map(len, found.field.rows)) - 1), 3 * MARGIN)
    height = 2 * MARGIN + DOWN * (len(found.field.rows) - 1)
    wanted = [
        (link.pins, "broken" if link.pins in broken else "wire", name)
        for name, link in lettered(found, broken)
    ]
    # What these read stands below: values between the pins would cover them.
    wanted += [(pins, "bridge", "") for pins, _ in _unwanted(found)]
    lines: list[dict[str, Any]] = []
    taken: list[Place] = [*places.values()]
    for pins, sort, text in wanted:
        ends, middle = _curve(*(places[pin] for pin in pins))
        x, y = _free_place(ends, middle, taken)
        taken += [(x, y)] if text else []
        lines.append(
            {
                "kind": sort,
                "path": "M{:g} {:g}Q{:.1f} {:.1f} {:g} {:g}".format(
                    *ends[0], *middle, *ends[1]
                ),
                "x": round(x, 1),
                "y": round(y, 1),
                "text": text,
            }
        )
    return {
        "width": width,
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
        "lines": lines,
        "spoken": _spoken(found, broken),
    }


def _unwanted(found: PinMap) -> Iterator[tuple[PinPair, str]]:
    """Give what conducts and is no coil: its two points, and its resistance."""
    for group in found.groups:
        for link in group.links:
            if not link.is_coil:
                yield link.pins, "" if link.ohm is None else format_ohm(link.ohm, link.u_ohm)
    for path in found.paths:
        conducting = path.verdict in {Isolation.LEAKING, Isolation.BRIDGED}
        if conducting and path.pins is not None and not path.through:
            yield path.pins, "" if path.ohm is None else format_ohm(path.ohm, path.u_ohm)


def _places(field: PinField) -> dict[str, Place]:
    places: dict[str, Place] = {
        pin: (MARGIN + ACROSS * across, MARGIN + DOWN * down)
        for pin, (down, across) in field.places().items()
    }
    if field.case:
        places[CASE] = (MARGIN, MARGIN + max(y for _, y in places.values()))
    return places


def _curve(one: Place, other: Place) -> tuple[tuple[Place, Place], Place]:
    """Give the ends of a curve that bulges to one side, and what it bends towards."""
    (x1, y1), (x2, y2) = ends = min((one, other), (other, one))
    length = math.hypot(x2 - x1, y2 - y1)
    bulge = min(max(_BULGE * length, _LEAST_BULGE), _MOST_BULGE) / length
    # To the side that is on the left on the way from the first pin to the second.
    return ends, ((x1 + x2) / 2 + (y2 - y1) * bulge, (y1 + y2) / 2 - (x2 - x1) * bulge)


def _free_place(ends: tuple[Place, Place], middle: Place, taken: list[Place]) -> Place:
    """Find a place on a curve that is away from pins and names; where there is none, the best.

    The curve is a quadratic Bezier curve.
    """

    def at(share: float) -> Place:
        parts = ((1 - share) ** 2, 2 * share * (1 - share), share**2)
        points = (ends[0], middle, ends[1])
        x, y = (
            sum(part * point[axis] for part, point in zip(parts, points, strict=True))
            for axis in (0, 1)
        )
        return x, y

    def room(share: float) -> float:
        return min(math.dist(at(share), other) for other in taken)

    free = (share for share in _ALONG if room(share) >= _FREE)
    return at(next(free, max(_ALONG, key=room)))


def _spoken(found: PinMap, broken: tuple[PinPair, ...]) -> str:
    told = [
        f"coil {name} between {' and '.join(map(printable, link.pins))}"
        + (", open" if link.pins in broken else "")
        for name, link in lettered(found, broken)
    ]
    told += [
        f"{size or 'a connection'} between {' and '.join(map(printable, pins))}"
        for pins, size in _unwanted(found)
    ]
    return f"Pins of the head: {', '.join(told) or 'no coil found'}"
