"""``coilmeter spares report``: condition reports of heads of the bin, for a buyer."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from coilmeter.cli import bin_options, options


def command(
    heads: bin_options.Heads,
    label: Annotated[
        Path | None,
        typer.Option(
            "--label",
            help="Draw their labels, too, 62 x 29 mm: FILE.svg, or FILE.pdf with a sheet a "
            "head.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = None,
    case: options.ChainCase = "",
    keep: options.ChainCases = None,
    store: bin_options.Store = "",
    catalog: options.CatalogFile = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            help="Write the page to this file; standard output where none is named.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = None,
) -> None:
    """Write the condition report of heads of the bin: one page of HTML, a sheet a head.

    It tells all that is kept of a head: readings and verdict, AC volts, flexing, the proof of
    the meter, notes, photos, and what became of it. Ends with 0 when every head is sound and
    matched, else with 1.
    """
    from coilmeter.cli.bin_reporting import put_bin_labels, put_reports, reported
    from coilmeter.cli.chain_figure import picture_of_case

    rules = bin_options.usual_rules(catalog)
    with bin_options.bin_to_read(store) as shelf:
        found = reported(shelf, heads, rules)
        chain = picture_of_case(case, keep, catalog, len(found))
        code = put_reports(shelf, found, rules, chain, out)
    if label is not None:
        put_bin_labels(found, rules.settings, label)
    raise typer.Exit(code)
