"""``coilmeter spares add``: readings files into the bin."""

from __future__ import annotations

from typing import Annotated

import typer

from coilmeter.cli import bin_options, meant, options


def command(
    files: options.Files,
    new_sitting: Annotated[
        bool,
        typer.Option(
            "--new-sitting",
            help="They were measured anew, although the bin has the same readings already.",
            rich_help_panel=bin_options.ABOUT_BIN,
        ),
    ] = False,
    kind: options.Kind = "",
    band: options.Band = "",
    meter: options.Meter = "unstated",
    lead: options.Lead = "",
    temperature: options.Temperature = "",
    store: bin_options.Store = "",
    catalog: options.CatalogFile = None,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Put readings files into the bin, as they stand.

    A head of the bin is found again by its name and kind, or by its code as the name; it was
    measured again then. Readings that are in the bin already are not added twice, so that a
    file can be added after every stop. All of the files go in, or nothing.
    """
    from coilmeter.cli.bin_writing import add_batches, batches
    from coilmeter.cli.results import standard_input
    from coilmeter.sources.sheet import read_sheets, rows_of

    settings = meant.make_settings(
        meant.make_catalog(catalog),
        kind=kind,
        band=band,
        meter=meter,
        lead=lead,
        temperature=temperature,
        confidence=0.95,
        leaking_below="1 Mohm",
    )
    rows, mistakes = rows_of(read_sheets(files, standard_input()))
    found = batches(rows, mistakes, settings, new_sitting=new_sitting)
    add_batches(store, found, as_, out)
