"""``coilmeter spares export``: heads to a file that another bin reads."""

from __future__ import annotations

from typing import Annotated

import typer

from coilmeter.cli import bin_options, options


def command(
    heads: Annotated[
        list[str] | None,
        typer.Argument(help="Heads of the bin, by code or name; all of them where none."),
    ] = None,
    store: bin_options.Store = "",
    out: options.Out = None,
    replace: Annotated[
        bool,
        typer.Option(
            "--replace",
            help="Write over a file of that name.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = False,
) -> None:
    """Write heads with all that is kept of them to a file, one head a line.

    The file is JSON lines; 'spares import' reads it into another bin, or into this one again
    without change. Photos are named in it, and are files of their own.
    """
    from coilmeter.cli.results import put_chunks
    from coilmeter.cli.typed import say
    from coilmeter.errors import InputError
    from coilmeter.spares.exporting import export_lines
    from coilmeter.spares.reading import find_heads

    if out is not None and out.is_file() and not replace:
        raise InputError(
            f"{out}: is there already; nothing was written",
            hint="give another name, or say --replace.",
        )
    with bin_options.bin_to_read(store) as shelf, shelf.read() as connection:
        chosen = [head.id for head in find_heads(connection, heads)] if heads else None
        put_chunks(export_lines(connection, shelf.id, chosen), out)
        has_photos = shelf.place.photos.is_dir()
    if out is not None:
        say(f"written to {out}.")
        if has_photos:
            say(f"The photos are in {shelf.place.photos}: send them beside it.")
