"""``coilmeter spares import``: heads from the file of another bin."""

# ruff: noqa: N999 - the name of the module is the word of the command

from __future__ import annotations

from typing import Annotated

import typer

from coilmeter.cli import bin_options, options


def command(
    file: Annotated[
        str, typer.Argument(help="A file of 'spares export'; - is standard input.")
    ],
    keep_mine: Annotated[
        bool,
        typer.Option(
            "--keep-mine",
            help="Where a record is another one in the bin, leave the bin's, and import all "
            "else.",
            rich_help_panel=bin_options.ABOUT_BIN,
        ),
    ] = False,
    store: bin_options.Store = "",
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Read heads from a file that another bin wrote; what is there already stays.

    All of the file goes in, or nothing: a mistake or a conflict is named, and nothing is
    chosen silently. The same file a second time changes nothing. Ends with 1 when a conflict
    was left, or two benches have decided differently about a head.
    """
    from coilmeter.cli.bin_importing import import_file, imported_listing
    from coilmeter.cli.results import ALL_SOUND, SOMETHING, put_listing

    with (
        bin_options.bin_to_write(store, create=True) as shelf,
        shelf.write() as connection,
    ):
        found = import_file(connection, file, keep_mine=keep_mine)
    put_listing(imported_listing(found, shelf.place.photos), as_, out)
    raise typer.Exit(SOMETHING if found.conflicts or found.disputed else ALL_SOUND)
