"""``coilmeter bands show``: one band, and coils drawn against it."""

from __future__ import annotations

from typing import Annotated

import typer

from coilmeter.cli import meant, options


def command(
    name: Annotated[str, typer.Argument(help="Name of the band.")],
    files: Annotated[
        list[str] | None,
        typer.Argument(help="Readings files whose coils are drawn; '-' is standard input."),
    ] = None,
    kind: options.Kind = "",
    meter: options.Meter = "unstated",
    lead: options.Lead = "",
    temperature: options.Temperature = "",
    catalog: options.CatalogFile = None,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Show a band with its limits, and where coils of readings files lie in it."""
    from coilmeter.cli.results import judged_files, put_listing
    from coilmeter.report.band_rows import BandCoil, coils_listing

    known = meant.make_catalog(catalog)
    band = known.band(name)
    settings = meant.make_settings(
        known,
        kind=kind,
        band=name,
        meter=meter,
        lead=lead,
        temperature=temperature,
        confidence=0.95,
        leaking_below="1 Mohm",
    )
    coils = [
        BandCoil(
            f"{head.head}:{coil.coil}",
            coil.resistance_20c_ohm,
            coil.u_ohm,
            " or ".join(coil.between) if coil.between else coil.verdict,
        )
        for head in judged_files(files or [], settings)[1]
        for coil in head.coils
        if coil.resistance_20c_ohm is not None and coil.u_ohm is not None
    ]
    notes = [f"{band.name}: {band.description or 'a band of your own'}. Basis: {band.basis}."]
    put_listing(coils_listing(band, coils, notes), as_, out)
