"""``coilmeter spares impedance``: files of AC volts of a head into the bin."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from coilmeter.cli import bin_options, meant, options


def command(
    head: bin_options.Head,
    files: Annotated[
        list[Path], typer.Argument(help="Files of AC volts (CSV) of this head and no other.")
    ],
    meter: options.Meter = "unstated",
    temperature: options.Temperature = "",
    store: bin_options.Store = "",
    catalog: options.CatalogFile = None,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Keep the inductance of a head's coils, with the AC volts that it came from.

    'coilmeter impedance' measures and judges them; here they stay with the head, and 'spares
    find' compares inductances of one frequency. The same file a second time adds nothing.
    Ends with 1 where voltages of a coil could not be used; then its head is to be rechecked.
    """
    from coilmeter.cli.bin_impedance import keep_impedances
    from coilmeter.cli.results import ALL_SOUND, SOMETHING, put_listing

    settings = meant.make_settings(
        meant.make_catalog(catalog),
        kind="",
        band="",
        meter=meter,
        lead="",
        temperature=temperature,
        confidence=0.95,
        leaking_below="1 Mohm",
    )
    with bin_options.bin_to_write(store) as shelf, shelf.write() as connection:
        listing, all_used = keep_impedances(connection, head, files, settings)
    put_listing(listing, as_, out)
    raise typer.Exit(ALL_SOUND if all_used else SOMETHING)
