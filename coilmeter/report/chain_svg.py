"""The chain as SVG: what is cleared, suspect and unknown, by shape, line and word."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from itertools import groupby
from typing import Final
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from coilmeter.compute.chain_diagnosis import Diagnosis, LinkResult, Standing
from coilmeter.report.chain_drawing import stationed
from coilmeter.report.chain_words import because, headline, percent
from coilmeter.report.safe import harmless

WIDTH: Final = 680
_MARGIN: Final = 16
_STATION: Final = 132
_ROW: Final = 34
_GAP: Final = 22
_WHY_CHARACTERS: Final = 62
_TITLE_CHARACTERS: Final = 84

_STYLE: Final = """
:root { --paper: #fbfaf7; --ink: #1d2226; --faint: #78828a; --mark: #1c5b8c;
  --good: #2b6b47; --bad: #a0341f }
@media (prefers-color-scheme: dark) { :root { --paper: #16191c; --ink: #e8e6e1;
  --faint: #939ca3; --mark: #86c1ef; --good: #86cfa4; --bad: #f0967f } }
text { font: 13px system-ui, sans-serif; fill: var(--ink) }
.small { font-size: 11px; fill: var(--faint) }
.strong { font-weight: 700 }
.paper { fill: var(--paper) }
.station { fill: none; stroke: var(--ink) }
.flow { fill: none; stroke: var(--ink); stroke-width: 1.5 }
.suspect { fill: none; stroke: var(--bad); stroke-width: 3 }
.cleared { fill: none; stroke: var(--good); stroke-width: 1.5 }
.unknown { fill: none; stroke: var(--faint); stroke-dasharray: 3 3 }
.bar { fill: var(--mark) }
"""


def svg(diagnosis: Diagnosis) -> str:
    """Draw the chain.

    A suspect has a thick ring with a question mark, a cleared link a ring with a tick, an
    unknown one a dashed ring; each has its word beside it as well.

    Returns
    -------
    str
        An SVG document that needs nothing else, light or dark as the screen is.

    """
    title = textwrap.wrap(harmless(headline(diagnosis)), _TITLE_CHARACTERS)
    stations = [list(each) for _, each in groupby(stationed(diagnosis), _station)]
    top = _MARGIN + 20 * len(title) + 6
    height = top + _GAP * (len(stations) - 1) + _MARGIN
    height += sum(_ROW * len(links) for links in stations)
    root = Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {WIDTH} {height}",
            "role": "img",
            "aria-label": spoken(diagnosis),
        },
    )
    SubElement(root, "title").text = spoken(diagnosis)
    SubElement(root, "style").text = _STYLE
    SubElement(root, "rect", {"class": "paper", "width": str(WIDTH), "height": str(height)})
    for number, line in enumerate(title):
        _text(root, _MARGIN, _MARGIN + 14 + 20 * number, line, "strong")
    y = top
    for number, links in enumerate(stations):
        if number:
            _arrow(root, y)
        y = _draw_station(root, y + _GAP * bool(number), links, diagnosis)
    indent(root, " ")
    return tostring(root, encoding="unicode") + "\n"


def _draw_station(root: Element, y: int, links: list[LinkResult], diagnosis: Diagnosis) -> int:
    height = _ROW * len(links)
    box = {"x": _MARGIN, "y": y, "width": WIDTH - 2 * _MARGIN, "height": height, "rx": 5}
    SubElement(root, "rect", {"class": "station", **{k: str(v) for k, v in box.items()}})
    for number, line in enumerate(textwrap.wrap(harmless(links[0].link.station), 16)):
        _text(root, _MARGIN + 10, y + 21 + 15 * number, line, "strong")
    for each in links:
        _draw_link(root, y, each, diagnosis)
        y += _ROW
    return y


def _draw_link(root: Element, y: int, result: LinkResult, diagnosis: Diagnosis) -> None:
    x, middle = _MARGIN + _STATION, y + _ROW // 2
    standing = str(result.standing)
    ring = {"class": standing, "cx": str(x), "cy": str(middle), "r": "9"}
    SubElement(root, "circle", ring)
    if result.standing is Standing.SUSPECT:
        _text(root, x, middle + 5, "?", "strong", anchor="middle")
    elif result.standing is Standing.CLEARED:
        tick = f"M{x - 5} {middle} l4 4 l7 -8"
        SubElement(root, "path", {"class": "cleared", "d": tick})
    _text(root, x + 18, middle - 2, harmless(result.link.title))
    why = because(result, diagnosis.chain, diagnosis.track)
    if len(why) > _WHY_CHARACTERS:
        why = f"{why[:_WHY_CHARACTERS].rstrip()}..."
    _text(
        root,
        x + 18,
        middle + 11,
        harmless(why if why.startswith(standing) else f"{standing}: {why}"),
        "small",
    )
    right = WIDTH - _MARGIN - 10
    _text(root, right, middle - 2, percent(result.probability), anchor="end")
    long = round(90 * result.probability)
    bar = {"x": right - long, "y": middle + 4, "width": long, "height": 6}
    SubElement(root, "rect", {"class": "bar", **{k: str(v) for k, v in bar.items()}})


def _arrow(root: Element, y: int) -> None:
    x = _MARGIN + _STATION // 2
    line = f"M{x} {y + 2} v{_GAP - 5} m-4 -5 l4 5 l4 -5"
    SubElement(root, "path", {"class": "flow", "d": line})


def _text(
    root: Element, x: int, y: int, text: str, kind: str = "", *, anchor: str = "start"
) -> None:
    place = {"x": str(x), "y": str(y), "text-anchor": anchor}
    SubElement(root, "text", place | ({"class": kind} if kind else {})).text = text


def spoken(diagnosis: Diagnosis) -> str:
    """Say what the drawing shows."""
    return harmless(". ".join([headline(diagnosis), *_standings(diagnosis)]))


def _standings(diagnosis: Diagnosis) -> Iterator[str]:
    for standing in Standing:
        names = [each.link.title for each in diagnosis.links if each.standing is standing]
        if names:
            yield f"{standing}: {', '.join(names)}"


def _station(result: LinkResult) -> str:
    return result.link.station
