"""``coilmeter log``: keep every byte that a meter sends."""

from __future__ import annotations

from pathlib import Path
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
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            help="The log, a new file; FORMAT-DATE-TIME.rawlog where none is named.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = None,
    csv: Annotated[
        Path | None,
        typer.Option(
            "--csv",
            help="Write the readings to this new file too.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = None,
    for_: Annotated[
        str,
        typer.Option(
            "--for",
            help="End after this time: 90s, 10m, 1h30m, 2d.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = "",
    count: options.Count = None,
    rotate: Annotated[
        str,
        typer.Option(
            "--rotate",
            help="Go on in a new file when one has grown to this size: 10MB.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = "",
) -> None:
    """Keep every byte that a meter sends, with what it means, until told to end.

    Each record is with the system before it is counted on the screen: nothing shown is lost
    when the program is killed, and at most the last second in a power cut. No file is ever
    written over. A meter that is unplugged is waited for, and the log goes on in the same
    file, the gap marked. Ends with 0 after --for or --count, with 1 when it holds no reading
    then, with 130 on Ctrl-C, with 3 when the port stays lost, no byte ever came or none of
    them could be read, with 4 when the disk is full; what was logged before is kept, and
    `coilmeter replay` reads it.
    """
    from datetime import datetime

    from coilmeter.cli.connection import chosen_lines, chosen_wait
    from coilmeter.cli.logging_run import LogJob, run_log
    from coilmeter.cli.logging_texts import parse_size, parse_span, say
    from coilmeter.cli.port_words import cautions_of
    from coilmeter.sources.rawlog_writer import SMALLEST_PART

    for_s = parse_span("--for", for_) if for_ else None
    split_at = parse_size("--rotate", rotate, SMALLEST_PART) if rotate else None
    wire = meant.make_format_at(form, port, baud)
    lines, wait_s = chosen_lines(wire, port, dtr=dtr, rts=rts), chosen_wait(wait)
    for caution in cautions_of(wire):
        say(caution)
    now = datetime.now().astimezone()
    path = Path(f"{wire.name}-{now:%Y%m%d-%H%M%S}.rawlog") if out is None else out
    job = LogJob(
        port, wire, path, baud, csv, for_s, count, split_at, lines=lines, wait_s=wait_s
    )
    raise typer.Exit(run_log(job))
