"""A bin file read in, and told."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import IO

from coilmeter.cli.results import standard_input
from coilmeter.errors import InputError
from coilmeter.report.listing import Listing
from coilmeter.spares.importing import LONGEST_LINE, Imported, import_lines
from coilmeter.spares.noting import photo_file
from coilmeter.spares.store import Transaction


def import_file(connection: Transaction, name: str, *, keep_mine: bool) -> Imported:
    """Read a file, or standard input, into the bin.

    Raises
    ------
    InputError
        When it cannot be read, has mistakes, or is in conflict with the bin.

    """
    if name == "-":
        lines = _lines(standard_input())
        return import_lines(connection, lines, "standard input", keep_mine=keep_mine)
    try:
        with Path(name).open("rb") as file:
            return import_lines(connection, _lines(file), name, keep_mine=keep_mine)
    except OSError as error:
        raise InputError(
            f"{name}: cannot be read ({error.strerror or error})",
            hint="check the name; 'spares export' writes such a file.",
        ) from error


def imported_listing(found: Imported, folder: Path) -> Listing:
    """Tell what came of it; `folder` is where the photos of the bin lie."""
    row = (found.heads, found.new_heads, found.added, found.known)
    notes = [f"Left as the bin has it: {each}." for each in found.conflicts]
    if found.disputed:
        notes.append(
            f"Two benches decided differently about {', '.join(found.disputed)}: say what "
            "holds, with 'spares use', 'scrap' or 'restore'."
        )
    if missing := sum(not photo_file(folder, digest).is_file() for digest in found.photos):
        photos = "1 photo is" if missing == 1 else f"{missing} photos are"
        notes.append(
            f"{photos} named in the file and not in {folder}: copy there what lies in the "
            "folder of photos of the other bench."
        )
    return Listing(
        name="imported",
        headings=("heads in the file", "new heads", "records added", "known already"),
        shown=[tuple(map(str, row))],
        keys=("heads", "new_heads", "added", "known"),
        fields=[row],
        notes=notes,
        facts=(("conflicts", found.conflicts), ("disputed", found.disputed)),
    )


def _lines(file: IO[bytes]) -> Iterator[bytes]:
    """Give lines, none longer than can be."""
    while line := file.readline(LONGEST_LINE + 1):
        yield line
