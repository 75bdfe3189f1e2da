"""Drawings of a page: coils against their band, and where the coils sit on the pins.

Colours are names that the page defines for light and dark.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Mapping, Sequence
from typing import Any, Final

from coilmeter.report.safe import printable
from coilmeter.units import format_ohm, format_with_uncertainty
from coilmeter.values import Band, CoilResult, Condition, HeadKind

INK: Final = "#010203"
FAINT: Final = "#020304"
BAND: Final = "#030405"
MARK: Final = "#040506"
BAD: Final = "#990000"
_NAMES: Final = {INK: "ink", FAINT: "faint", BAND: "band", MARK: "mark", BAD: "bad"}
"""Colours put in by matplotlib, and the page's names for them; plots of their own have the
last one as it is."""

_COVERAGE_FACTOR: Final = 2.0
_MARGIN: Final = 0.12
_WIDE_DECADES: Final = 1.2
_ID: Final = re.compile(r'(\sid=")([^"]+)')
_REFERENCE: Final = re.compile(r'(url\(#|href="#)')
_METADATA: Final = re.compile(r"<metadata>.*?</metadata>", re.DOTALL)


def coils_against_band(coils: Sequence[CoilResult], bands: Mapping[str, Band]) -> str:
    """Draw each value with its expanded uncertainty (k = 2) against its band, as SVG.

    Empty where no coil has a value.
    """
    with_value = [
        coil for coil in coils if coil.resistance_20c_ohm is not None and coil.u_ohm is not None
    ]
    if not with_value:
        return ""
    from matplotlib import rc_context  # noqa: PLC0415 - heavy, and only for pages
    from matplotlib.figure import Figure  # noqa: PLC0415 - as above

    with rc_context({"svg.fonttype": "none", "svg.hashsalt": "coilmeter", "font.size": 10}):
        figure = Figure(figsize=(6.6, 0.75 + 0.36 * len(with_value)), layout="constrained")
        axes = figure.add_subplot()
        figure.patch.set_alpha(0)
        axes.patch.set_alpha(0)
        _draw_coils(axes, with_value, bands)
        out = io.StringIO()
        blank = dict.fromkeys(("Creator", "Date", "Format", "Type"))
        figure.savefig(out, format="svg", metadata=blank)
    names = ", ".join(
        f"{coil.coil} {format_ohm(coil.resistance_20c_ohm or 0.0)}" for coil in with_value
    )
    return inline(out.getvalue(), f"Resistance of each coil against its band: {names}")


def inline(svg: str, title: str) -> str:
    """Make an SVG file part of a page: named for those who hear it, coloured by the page."""
    from markupsafe import escape  # noqa: PLC0415 - comes with the pages

    body = _METADATA.sub("", svg[svg.index("<svg") :])
    for colour, name in _NAMES.items():
        body = body.replace(colour, f"var(--{name})")
    spoken = escape(title)
    head, _, rest = body.partition(">")
    head = re.sub(r'\s(?:width|height)="[^"]*"', "", head, count=2)
    return f'{head} role="img" aria-label="{spoken}"><title>{spoken}</title>{rest}'


def with_own_ids(svg: str, prefix: str) -> str:
    """Begin every id of a drawing with `prefix`, so that several of them share a page."""
    named = _ID.sub(rf"\g<1>{prefix}\g<2>", svg)
    return _REFERENCE.sub(rf"\g<1>{prefix}", named)


def _draw_coils(axes: Any, coils: Sequence[CoilResult], bands: Mapping[str, Band]) -> None:
    places = range(len(coils), 0, -1)
    ends: list[float] = []
    for place, coil in zip(places, coils, strict=True):
        value, reach = coil.resistance_20c_ohm or 0.0, _COVERAGE_FACTOR * (coil.u_ohm or 0.0)
        ends += [value - reach, value + reach]
        band = bands.get(coil.band)
        if band is not None:
            _, low, high, _ = band.limits_ohm
            ends += [low, high]
            axes.plot(
                [low, high], [place, place], color=BAND, linewidth=9, solid_capstyle="butt"
            )
        axes.errorbar(
            value,
            place,
            xerr=reach,
            fmt="o",
            color=MARK,
            markersize=5,
            capsize=4,
            linewidth=1.6,
        )
        axes.annotate(
            format_with_uncertainty(value, reach),
            (value, place),
            (0, 7),
            textcoords="offset points",
            ha="center",
            color=INK,
            fontsize=9,
        )
    least, largest = min(ends), max(ends)
    if least > 0 and math.log10(largest / least) > _WIDE_DECADES:
        axes.set_xscale("log")
        axes.set_xlim(least / 1.3, largest * 1.3)
    else:
        margin = _MARGIN * (largest - least)
        axes.set_xlim(least - margin, largest + margin)
    axes.set_ylim(0.4, len(coils) + 0.75)
    axes.set_yticks(list(places), [f"coil {printable(coil.coil)}" for coil in coils])
    axes.set_xlabel("ohm at 20 degC", color=INK)
    axes.xaxis.set_major_formatter(lambda ohm, _: f"{ohm:g}")
    axes.tick_params(colors=INK)
    for name, spine in axes.spines.items():
        spine.set_visible(name == "bottom")
        spine.set_color(FAINT)


def pin_map(kind: HeadKind, coils: Sequence[CoilResult] = ()) -> list[dict[str, Any]]:
    """Place the pins of a kind in two columns, with the coils between them, for a page.

    Each coil is one entry: its name and role, its two pins, those it shares with another coil,
    what was found of it where that is not `intact`, whether it is drawn broken, and a sentence
    for those who hear the page.
    """
    every = [pin for coil in kind.coils for pin in coil.pins]
    found = {coil.coil: coil.verdict for coil in coils}
    return [
        {
            "name": coil.name,
            "role": str(coil.role),
            "pins": coil.pins,
            "shared": [pin for pin in coil.pins if every.count(pin) > 1],
            "found": (told := _told(found.get(coil.name))),
            "broken": found.get(coil.name) is Condition.OPEN,
            "spoken": f"coil {coil.name} between pins {' and '.join(coil.pins)}"
            f"{f', {told}' if told else ''}",
        }
        for coil in kind.coils
    ]


def any_broken(pins: Sequence[Mapping[str, Any]]) -> bool:
    """Whether a coil of a map of pins is drawn broken."""
    return any(each["broken"] for each in pins)


def _told(verdict: Condition | None) -> str:
    """Say what was found of a coil; empty where that is nothing but sound, or not known."""
    if verdict is None or verdict is Condition.INTACT:
        return ""
    return "not measured" if verdict is Condition.MISSING else str(verdict)
