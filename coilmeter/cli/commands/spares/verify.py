"""``coilmeter spares verify``: the whole bin looked through."""

from __future__ import annotations

import typer

from coilmeter.cli import bin_options, options


def command(
    store: bin_options.Store = "",
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Look through the bin: the file, its references, every checksum, every photo.

    Ends with 0 when all is there, with 4 when something is damaged, and with 1 when only
    photos are missing, which may lie on another bench.
    """
    from coilmeter.cli.results import ALL_SOUND, SOMETHING, put_listing
    from coilmeter.errors import StoreError
    from coilmeter.report.bin_tables import findings_listing
    from coilmeter.spares.verifying import verify

    with bin_options.bin_to_read(store) as shelf:
        found = verify(shelf)
    rows = [(each.what, each.where, each.wrong, each.damage) for each in found.findings]
    put_listing(findings_listing(found.counts, rows), as_, out)
    if not found.whole:
        raise typer.Exit(StoreError.exit_code)
    raise typer.Exit(SOMETHING if found.findings else ALL_SOUND)
