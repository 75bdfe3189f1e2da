"""The chain in a terminal: what is cleared, suspect and unknown, by mark and word."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from itertools import groupby
from typing import Final

from coilmeter.compute.chain_diagnosis import Diagnosis, LinkResult, Standing
from coilmeter.report.chain_words import because, percent
from coilmeter.report.safe import harmless
from coilmeter.report.widths import WIDTH, line_width

MARKS: Final = {Standing.SUSPECT: "?", Standing.CLEARED: "+", Standing.UNKNOWN: "."}
LEGEND: Final = "? suspect   + cleared by a test   . unknown: neither"
_BAR: Final = 20


def drawing(diagnosis: Diagnosis, columns: int | None = None) -> str:
    """Draw the chain, station by station, in the order of the signal.

    `columns` are those of the terminal that it goes to: what is too long goes on below there.
    Without, it is cut.
    """
    return "\n".join([*_lines(diagnosis, columns), "", LEGEND]) + "\n"


def _lines(diagnosis: Diagnosis, columns: int | None) -> Iterator[str]:
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
            line = harmless(f"  | {shown} {bar:<{_BAR}} {why}".rstrip())
            if columns is not None:
                yield from _gone_on(line, columns)
            else:
                yield line if len(line) <= WIDTH else f"{line[: WIDTH - 3].rstrip()}..."


def _gone_on(line: str, columns: int) -> list[str]:
    """Wrap a line between words; where there is room, the words go on where they begin."""
    return textwrap.wrap(
        line,
        line_width(columns),
        subsequent_indent="  |     ",
        break_long_words=False,
        break_on_hyphens=False,
        replace_whitespace=False,
        drop_whitespace=True,
    )


def stationed(diagnosis: Diagnosis) -> list[LinkResult]:
    """Give the links with those of one station together, in the order of the signal."""
    order = list(dict.fromkeys(map(_station, diagnosis.links)))
    return sorted(diagnosis.links, key=lambda each: order.index(_station(each)))


def _station(result: LinkResult) -> str:
    return result.link.station
