"""``coilmeter spares photo``: photos of a head, kept with it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from coilmeter.cli import bin_options


def command(
    head: bin_options.Head,
    files: Annotated[list[Path], typer.Argument(help="Photos of it: JPEG, PNG or WebP files.")],
    store: bin_options.Store = "",
) -> None:
    """Attach photos to a head.

    Each file is copied beside the bin, and its name and digest are kept. A report shows it
    small, and without the place and time that cameras write into it.
    """
    from coilmeter.cli.typed import say
    from coilmeter.report.bin_tables import code
    from coilmeter.report.photos import load_photo
    from coilmeter.spares.noting import attach
    from coilmeter.spares.reading import find_head

    for path in files:
        load_photo(path)
    with bin_options.bin_to_write(store) as shelf, shelf.write() as connection:
        found = find_head(connection, head)
        new = [path for path in files if attach(connection, found, path, shelf.place.photos)]
    noun = "photo" if len(new) == 1 else "photos"
    say(f"{len(new)} {noun} of {code(found.code)} {found.name}, in {shelf.place.photos}.")
    if len(new) < len(files):
        again = ", ".join(str(path) for path in files if path not in new)
        say(f"On record already, and not added again: {again}.")
