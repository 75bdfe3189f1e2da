"""``coilmeter bands list``: every band, shipped and the user's own."""

from __future__ import annotations

from coilmeter.cli import meant, options


def command(
    catalog: options.CatalogFile = None,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """List the bands, shipped and your own, with their limits at 20 degC.

    CSV and JSON also say where each comes from.
    """
    from coilmeter.cli.results import put_listing
    from coilmeter.report.band_rows import bands_listing

    put_listing(bands_listing(meant.make_catalog(catalog).bands.values()), as_, out)
