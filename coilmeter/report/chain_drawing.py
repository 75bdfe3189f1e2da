"""The chain in a terminal: what is cleared, suspect and unknown, by mark and word."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import Final

from coilmeter.compute.chain_diagnosis import Diagnosis, LinkResult, Standing
from coilmeter.report.chain_words import because, percent
from coilmeter.report.listing import WIDTH
from coilmeter.report.safe import harmless

MARKS: Final = {Standing.SUSPECT: "?", Standing.CLEARED: "+", Standing.UNKNOWN: "."}
LEGEND: Final = "? suspect   + cleared by a test   . unknown: neither"
_BAR: Final = 20


def drawing(diagnosis: Diagnosis) -> str:
    """Draw the chain, station by station, in the order of the signal."""
    return "\n".join([*_lines(diagnosis), "", LEGEND]) + "\n"


def _lines(diagnosis: Diagnosis) -> Iterator[str]:
    width = max(len(each.link.name) for each in diagnosis.links)
    stations = [list(links) for _, links in groupby(stationed(diagnosis), _station)]
    for number, links in enumerate(stations):
        if number:
            yield "  v"
        yield harmless(links[0].link.station)
        for each in links:
            mark = MARKS[each.standing]
            shown = f"{mark} {each.link.name:<{width}} {percent(each.probability):>6}"
            bar = "#" * round(_BAR * each.probability)
            why = because(each, diagnosis.chain, diagnosis.track)
            line = f"  | {shown} {bar:<{_BAR}} {why}".rstrip()
            yield harmless(line if len(line) <= WIDTH else f"{line[: WIDTH - 3].rstrip()}...")


def stationed(diagnosis: Diagnosis) -> list[LinkResult]:
    """Give the links with those of one station together, in the order of the signal."""
    order = list(dict.fromkeys(map(_station, diagnosis.links)))
    return sorted(diagnosis.links, key=lambda each: order.index(_station(each)))


def _station(result: LinkResult) -> str:
    return result.link.station
