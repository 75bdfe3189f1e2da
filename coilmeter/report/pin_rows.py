"""A pin map as text, and as the shapes that are made of its records."""

from __future__ import annotations

from typing import Final

from coilmeter.compute.pinnet_roles import Proposal
from coilmeter.report.listing import (
    Listing,
    listing_csv,
    listing_json,
    listing_text,
)
from coilmeter.report.pin_drawing import legend, map_lines
from coilmeter.report.pin_records import COIL_KEYS, CSV_KEYS, coil_fields, csv_rows, facts
from coilmeter.report.pin_words import (
    MappedHead,
    bands_text,
    headline,
    notes,
    roles_text,
    summary,
)
from coilmeter.report.safe import escaped, harmless
from coilmeter.report.widths import sentence
from coilmeter.units import format_ohm, format_with_uncertainty

COVERAGE_FACTOR: Final = 2.0
HEADINGS: Final = ("coil", "pins", "as read", "at 20 degC", "role", "band")


def map_text(mapped: MappedHead, *, markdown: bool = False, columns: int | None = None) -> str:
    """Headline, drawing, table of the coils, and what is to be said of them.

    `columns` are those of the terminal that plain text goes to; None where it goes to none.
    """
    found = mapped.found
    lines = [*map_lines(found, None, mapped.broken)]
    signs = legend(found, mapped.broken)
    drawing = "\n".join([*lines, *(["", signs] if signs else [])])
    first, second = headline(mapped), summary(mapped)
    if markdown:
        opening = f"## {escaped(first)}\n\n{escaped(second)}\n\n```text\n{drawing}\n```\n"
    else:
        opening = f"{harmless(first)}\n{sentence(second, columns)}\n\n{drawing}\n"
    return f"{opening}\n{listing_text(map_listing(mapped), markdown=markdown, columns=columns)}"


def map_listing(mapped: MappedHead) -> Listing:
    """Make the list of the coils, with all else that is known as facts and notes."""
    return Listing(
        name="coils",
        headings=HEADINGS,
        shown=[_shown(each, mapped) for each in mapped.proposals],
        keys=COIL_KEYS,
        fields=[coil_fields(each) for each in mapped.proposals],
        notes=tuple(notes(mapped)),
        facts=tuple(facts(mapped)),
        nothing="no coil was found",
    )


def map_json(mapped: MappedHead) -> str:
    """One JSON document of schema ``coilmeter/1``."""
    return listing_json(map_listing(mapped))


def map_csv(mapped: MappedHead) -> str:
    """CSV with a line for each coil, further link, path and pin without partner."""
    return listing_csv(Listing("map", CSV_KEYS, [], CSV_KEYS, [*csv_rows(mapped)]))


def _shown(each: Proposal, mapped: MappedHead) -> list[str]:
    link = each.link
    as_read = "" if link.ohm is None else format_ohm(link.ohm, link.u_ohm)
    if link.pins in mapped.broken:
        return [each.name, "-".join(link.pins), "open", "", roles_text(each), ""]
    at_20 = "not read" if link.ohm is None else ""
    if link.resistance_20c_ohm is not None and link.u_20c_ohm is not None:
        at_20 = format_with_uncertainty(
            link.resistance_20c_ohm, COVERAGE_FACTOR * link.u_20c_ohm
        )
    return [
        each.name,
        "-".join(link.pins),
        as_read,
        at_20,
        roles_text(each),
        bands_text(each),
    ]
