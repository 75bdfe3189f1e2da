"""``coilmeter spares label``: labels for the bags of heads of the bin."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from coilmeter.cli import bin_options, options


def command(
    heads: bin_options.Heads,
    out: Annotated[
        Path,
        typer.Option(
            "--out",
            help="FILE.svg for one head, or FILE.pdf with a sheet a head.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ],
    store: bin_options.Store = "",
    catalog: options.CatalogFile = None,
) -> None:
    """Draw labels of 62 x 29 mm: name, grade, coils, day, and the record's id as a QR code."""
    from coilmeter.cli.bin_reporting import put_bin_labels, reported

    rules = bin_options.usual_rules(catalog)
    with bin_options.bin_to_read(store) as shelf:
        found = reported(shelf, heads, rules)
    put_bin_labels(found, rules.settings, out)
