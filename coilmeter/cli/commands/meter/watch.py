"""``coilmeter meter watch``: what the meter shows, large, with its bytes."""

from __future__ import annotations

from typing import Annotated

import typer

from coilmeter.cli import meant, options


def command(
    port: options.LivePort,
    form: options.FormatName = "",
    baud: options.Baud = None,
    dtr: options.Dtr = None,
    rts: options.Rts = None,
    wait: options.Wait = "",
    count: options.Count = None,
    for_: Annotated[
        str,
        typer.Option(
            "--for",
            help="End after this time: 90s, 10m.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = "",
) -> None:
    """Show what a meter sends: the reading, large, its range and flags, and the bytes.

    What is no frame is shown with the reason. Without --format it listens for a while and
    lists the formats that fit: which one is right, only you can tell. Ends with 0, with 1
    when it ends before a reading, with 2 when no format is named, with 3 when the meter says
    nothing or nothing that can be read.
    """
    import math

    from coilmeter.cli.connection import chosen_connection
    from coilmeter.cli.logging_texts import parse_span
    from coilmeter.cli.saying import say
    from coilmeter.cli.watching import watch

    wire = meant.make_format_at(form, port, baud)
    connection = chosen_connection(wire, port, baud=baud, dtr=dtr, rts=rts, wait=wait)
    if connection is not None:
        for_s = parse_span("--for", for_) if for_ else math.inf
        seen = watch(connection, count=count, for_s=for_s)
        say(f"{seen.counts}.")
        raise typer.Exit(0 if seen.readings else 1)
