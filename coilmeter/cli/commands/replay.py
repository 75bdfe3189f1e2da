"""``coilmeter replay``: run a raw log again."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from coilmeter.cli import meant, options


def command(
    files: Annotated[
        list[Path],
        typer.Argument(help="A raw log; where it was split by size, its parts in order."),
    ],
    form: Annotated[
        str,
        typer.Option(
            "--format",
            help="Take the bytes for this format, where not the one the log names.",
            rich_help_panel=options.ABOUT_METER,
        ),
    ] = "",
    settle: Annotated[
        bool,
        typer.Option(
            "--settle",
            help="List the values at which the readings came to rest, in place of all.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = False,
    csv: Annotated[
        Path | None,
        typer.Option(
            "--csv",
            help="Write all readings to this file too.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = None,
    plot: Annotated[
        Path | None,
        typer.Option(
            "--plot",
            help="Draw the readings over time: FILE.svg or FILE.png.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = None,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Run a raw log again: decode its bytes anew, and say what is in it.

    As a table or page, frames read, decoded and rejected, gaps, duration and rate; as CSV or
    JSON, the readings too. A log that was cut anywhere is read up to its last whole record.
    Ends with 0, or with 1 when lines of the log are damaged or it holds no reading.
    """
    from coilmeter.cli.logging_replay import ReplayJob, run_replay

    wire = meant.make_format(form) if form else None
    job = ReplayJob(tuple(files), wire, as_, out, csv, plot, settle)
    raise typer.Exit(run_replay(job))
