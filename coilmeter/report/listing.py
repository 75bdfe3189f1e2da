"""A list of things of one sort (ports, bands, heads in the bin) in every printed shape."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from coilmeter.report.document import SCHEMA
from coilmeter.report.rendering import rendered
from coilmeter.report.safe import escaped, for_markdown, for_spreadsheet, printable
from coilmeter.report.widths import sentence, table


@dataclass(frozen=True, slots=True)
class Listing:
    """Rows of one sort, once for people and once for programs.

    Parameters
    ----------
    name
        Key of the list in the JSON document, a plural.
    headings, shown
        Heading of each column and its cells, as a person reads them.
    keys, fields
        Key of each field and its values for CSV and JSON: SI numbers with the unit in the
        key, None for unknown, never NaN.  A list is joined by blanks in CSV.
    notes
        Sentences below the table; ``notes`` in JSON, left out of CSV.
    facts
        What is true of the list as a whole; further keys of the JSON document.
    nothing
        Said in the place of an empty table.

    """

    name: str
    headings: Sequence[str]
    shown: Sequence[Sequence[str]]
    keys: Sequence[str]
    fields: Sequence[Sequence[Any]]
    notes: Sequence[str] = ()
    facts: tuple[tuple[str, Any], ...] = ()
    nothing: str = "nothing to list"


def listing_text(
    listing: Listing, *, markdown: bool = False, columns: int | None = None
) -> str:
    """Table for people or in Markdown, with the notes below it.

    Parameters
    ----------
    listing
        What is listed.
    markdown
        Markdown instead of plain text.
    columns
        Columns of the terminal that plain text goes to; None where it goes to none.

    """
    cell = for_markdown if markdown else printable
    columns = None if markdown else columns
    if listing.shown:
        rows = [[cell(text) for text in row] for row in listing.shown]
        headings = [cell(heading) for heading in listing.headings]
        shown = table(headings, rows, columns, style="github" if markdown else "simple")
    else:
        shown = cell(listing.nothing)
        shown = shown if columns is None else sentence(shown, columns)
    return "\n".join([shown, *_notes(listing.notes, columns, markdown=markdown)]) + "\n"


def listing_csv(listing: Listing) -> str:
    """CSV with a header of keys; numbers in SI units, empty where unknown."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(listing.keys)
    writer.writerows([_csv_cell(value) for value in row] for row in listing.fields)
    return out.getvalue()


def listing_json(listing: Listing) -> str:
    """One JSON document of schema ``coilmeter/1``."""
    document: dict[str, Any] = {"schema": SCHEMA, **dict(listing.facts)}
    document[listing.name] = [
        dict(zip(listing.keys, row, strict=True)) for row in listing.fields
    ]
    if listing.notes:
        document["notes"] = list(listing.notes)
    return json.dumps(document, indent=1, allow_nan=False) + "\n"


def listing_page(listing: Listing) -> str:
    """Page of HTML with the table and the notes below it."""
    return rendered(
        "listing.html.j2",
        title=listing.name.replace("_", " ").capitalize(),
        headings=listing.headings,
        rows=listing.shown,
        notes=listing.notes,
        nothing=listing.nothing,
    )


def _notes(notes: Sequence[str], columns: int | None, *, markdown: bool) -> Iterator[str]:
    for note in notes:
        yield ""
        yield escaped(note) if markdown else sentence(note, columns)


def _csv_cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return repr(value)
    text = " ".join(map(str, value)) if isinstance(value, list | tuple) else str(value)
    return for_spreadsheet(text)
