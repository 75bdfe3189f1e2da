"""Options of the commands that work with the bin, and the bin that they mean."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from coilmeter.cli import meant

if TYPE_CHECKING:
    from coilmeter.spares.place import Place
    from coilmeter.spares.rules import Rules
    from coilmeter.spares.store import Bin
    from coilmeter.values.impedance_rows import ImpedanceRow

ABOUT_BIN: Final = "About the bin"
USUAL: Final = "bin.sqlite"
"""File of the bin in the data folder, where no other place is named."""

Store = Annotated[
    str,
    typer.Option(
        "--store",
        metavar="FILE|URL",
        help="The bin: a file, or postgresql://USER@HOST/DATABASE. "
        "[default: bin.sqlite in the data folder]",
        envvar="COILMETER_STORE",
        rich_help_panel=ABOUT_BIN,
    ),
]
Head = Annotated[
    str,
    typer.Argument(
        help="A head of the bin: its code, four characters of it at least, or name."
    ),
]
Heads = Annotated[
    list[str],
    typer.Argument(help="Heads of the bin: each by its code, or the beginning of it, or name."),
]
Why = Annotated[
    str,
    typer.Option(
        "--why", help="The reason, in your words; it must be given.", rich_help_panel=ABOUT_BIN
    ),
]
Grades = Annotated[
    list[str] | None,
    typer.Option(
        "--grade",
        help="Only heads of this grade; may be given again.",
        rich_help_panel=ABOUT_BIN,
    ),
]
Kinds = Annotated[
    list[str] | None,
    typer.Option(
        "--kind",
        help="Only heads of this kind; may be given again.",
        rich_help_panel=ABOUT_BIN,
    ),
]


def place(store: str) -> Place:
    """Place of the bin that is meant.

    Raises
    ------
    InputError
        When the text is none.

    """
    from coilmeter.cli.folders import data_folder
    from coilmeter.spares.place import place_of

    folder = data_folder()
    return place_of(store or str(folder / USUAL), folder / "photos")


@contextmanager
def bin_to_read(store: str) -> Iterator[Bin]:
    """Open the bin; an empty one where nobody has named one, and none was begun yet.

    Raises
    ------
    StoreError
        When it cannot be opened, or one was named and is not there.

    """
    from coilmeter.errors import StoreMissingError
    from coilmeter.spares.store import Bin

    try:
        shelf = Bin(place(store))
    except StoreMissingError:
        if store:
            raise
        shelf = Bin.empty()
    with shelf:
        yield shelf


@contextmanager
def bin_to_write(store: str, *, create: bool = False) -> Iterator[Bin]:
    """Open the bin, made where there is none and `create` says so; raises as `bin_to_read`."""
    from coilmeter.errors import StoreError
    from coilmeter.spares.store import Bin

    there = place(store)
    if create and not store and there.path is not None:
        try:
            there.path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise StoreError(
                f"{there.path.parent}: cannot be made ({error.strerror or error})",
                hint="name another bin with --store.",
            ) from error
    with Bin(there, create=create) as shelf:
        yield shelf


def usual_rules(catalog: list[Path] | None) -> Rules:
    """Rules that the bin is judged by: the shipped reference data and the user's own."""
    from coilmeter.compute.settings import Settings
    from coilmeter.spares.rules import Rules

    known = meant.make_catalog(catalog)
    settings = Settings(bands=known.bands, meters=known.meters, kinds=known.kinds)
    return Rules.of(settings, kept_volts)


def kept_volts(document: str) -> list[ImpedanceRow]:
    """Read the AC volts that the bin keeps of a head, and raise `InputError` where none are."""
    from coilmeter.cli.bin_impedance import rows_of_document

    return rows_of_document(document)


def check_words(option: str, given: list[str] | None, known: list[str]) -> tuple[str, ...]:
    """Give the words of an option back.

    Raises
    ------
    InputError
        When one is none of those known.

    """
    from coilmeter.errors import InputError

    for word in given or ():
        if word not in known:
            raise InputError(
                f"{option}: saw {word[:60]!r}", hint=f"it is one of: {', '.join(known)}."
            )
    return tuple(given or ())


def grade_words() -> list[str]:
    """Words that stand for grades in a list."""
    from coilmeter.spares.searching import NOT_JUDGED
    from coilmeter.values import Grade

    return [*map(str, Grade), NOT_JUDGED]
