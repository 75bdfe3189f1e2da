"""``coilmeter spares history``: the same head measured again."""

from __future__ import annotations

from typing import Annotated

import typer

from coilmeter.cli import bin_options, options


def command(
    head: bin_options.Head,
    other_meter: Annotated[
        bool,
        typer.Option(
            "--other-meter",
            help="Another meter was used each time, or it may have drifted: count its stated "
            "error in full.",
            rich_help_panel=options.ABOUT_METER,
        ),
    ] = False,
    store: bin_options.Store = "",
    catalog: options.CatalogFile = None,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Show a head sitting by sitting, and whether its coils have changed.

    Each coil is compared with its first value by E_n, the change over its expanded
    uncertainty: up to 1 it is consistent. What both sittings share, the stated error of the
    same meter, is left out. Ends with 1 when something changed or cannot be told.
    """
    from coilmeter.cli.bin_matching import head_history
    from coilmeter.cli.results import ALL_SOUND, SOMETHING, put_listing
    from coilmeter.compute.history import Constancy
    from coilmeter.report.bin_matches import history_listing
    from coilmeter.spares.reading import find_head, records_of

    rules = bin_options.usual_rules(catalog)
    with bin_options.bin_to_read(store) as shelf, shelf.read() as connection:
        record = next(records_of(connection, [find_head(connection, head).id]))
    readings, notes = head_history(record, rules.settings, same_meter=not other_meter)
    put_listing(history_listing(record.head, readings, notes), as_, out)
    words = {change.word for _, _, change in readings if change is not None}
    raise typer.Exit(ALL_SOUND if words <= {Constancy.CONSISTENT} else SOMETHING)
