"""What is known of a chain as one page of HTML that needs nothing else."""

from __future__ import annotations

import base64

from coilmeter.compute.chain_diagnosis import Diagnosis
from coilmeter.report.chain_rows import links_listing
from coilmeter.report.chain_svg import spoken, svg
from coilmeter.report.chain_words import cautions, ended_text, headline, notes, seen_text
from coilmeter.report.page import ChainPicture
from coilmeter.report.rendering import own_markup, rendered
from coilmeter.values.chain_cases import Case


def chain_picture(diagnosis: Diagnosis, case: Case) -> ChainPicture:
    """Draw the chain of a case, and say what the case is."""
    drawn = base64.b64encode(svg(diagnosis).encode()).decode()
    caption = f"Case {case.name}, opened {case.opened[:10]}: {diagnosis.chain.title}."
    if case.closed:
        caption += f" Closed {case.closed[:10]}: {ended_text(diagnosis)}"
    return ChainPicture(
        f"data:image/svg+xml;base64,{drawn}",
        spoken(diagnosis),
        caption,
        tuple(_seen(diagnosis, number) for number in range(len(diagnosis.seen))),
    )


def chain_page(diagnosis: Diagnosis) -> str:
    """Write the page: what comes next, the drawing, the links, and what was seen."""
    listing = links_listing(diagnosis)
    what = diagnosis.chain.title
    return rendered(
        "chain.html.j2",
        title=f"{what[:1].upper()}{what[1:]}: track {diagnosis.track}",
        headline=headline(diagnosis),
        notes=list(notes(diagnosis)),
        cautions=cautions(diagnosis),
        drawing=own_markup(svg(diagnosis)),
        headings=listing.headings,
        rows=listing.shown,
        seen=[_seen(diagnosis, number) for number in range(len(diagnosis.seen))],
    )


def _seen(diagnosis: Diagnosis, number: int) -> str:
    seen = diagnosis.seen[number]
    source = f" ({seen.source})" if seen.source else ""
    return seen_text(diagnosis.chain, seen, diagnosis.track) + source
