"""``coilmeter spares re-judge``: what other bands would make of the bin."""

from __future__ import annotations

from typing import Annotated

import typer

from coilmeter.cli import bin_options, meant, options


def command(
    confidence: options.Confidence = 0.95,
    leaking_below: options.LeakingBelow = "1 Mohm",
    band: Annotated[
        str,
        typer.Option(
            "--band",
            help="Judge every coil of the bin by this band.",
            rich_help_panel=bin_options.ABOUT_BIN,
        ),
    ] = "",
    store: bin_options.Store = "",
    catalog: options.CatalogFile = None,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Judge the whole bin under new bands, and show what changes.

    The new bands are those of --catalog, or one band by --band; compared is with the verdicts
    under your usual reference data. Without either, compared is with the bands that were in
    use before you last changed them. Nothing in the bin is changed. Ends with 1 when a
    verdict changes.
    """
    from coilmeter.cli.bin_rejudging import baseline, changes
    from coilmeter.cli.results import ALL_SOUND, SOMETHING, put_listing
    from coilmeter.cli.typed import say
    from coilmeter.report.bin_tables import changed_listing
    from coilmeter.spares.rules import Rules

    settings = meant.make_settings(
        meant.make_catalog(catalog),
        kind="",
        band=band,
        meter="unstated",
        lead="",
        temperature="",
        confidence=confidence,
        leaking_below=leaking_below,
    )
    usual = bin_options.usual_rules(None)
    rules = Rules.of(settings, bin_options.kept_volts)
    with bin_options.bin_to_read(store) as shelf, shelf.read() as connection:
        before, note = baseline(connection, usual, rules, band)
        changed, judged = changes(connection, before, rules, band, say)
    put_listing(changed_listing(changed, judged, [note]), as_, out)
    raise typer.Exit(SOMETHING if changed else ALL_SOUND)
