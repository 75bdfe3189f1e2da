"""``coilmeter spares backup``: a whole copy of the bin."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from coilmeter.cli import bin_options


def command(
    file: Annotated[Path, typer.Argument(help="The copy; it must not exist.")],
    store: bin_options.Store = "",
) -> None:
    """Copy the bin to a file, whole even while it is written to, and look through the copy.

    The copy is a bin like any other: go on from it with --store. A bin on a database server
    is backed up there.
    """
    from coilmeter.cli.typed import say
    from coilmeter.errors import InputError
    from coilmeter.spares.copying import copy_file

    with bin_options.bin_to_write(store) as shelf:
        there = shelf.place
        if there.path is None:
            raise InputError(
                f"{there.shown}: a bin on a server is backed up on the server",
                hint="pg_dump writes a copy of the database; 'spares export --out FILE' writes "
                "all heads to a file that any bin reads.",
            )
        copy_file(there.path, file)
    say(f"copied to {file}, and looked through.")
    if there.photos.is_dir():
        say(f"The photos are in {there.photos}: copy that folder, too.")
