"""``coilmeter spares match``: the best pairs or sets of heads from the bin."""

from __future__ import annotations

from typing import Annotated

import typer

from coilmeter.cli import bin_options, options


def command(
    kind: bin_options.Kinds = None,
    size: Annotated[
        int,
        typer.Option(
            "--size",
            metavar="NUMBER",
            min=2,
            max=16,
            help="Heads in a set.",
            rich_help_panel=bin_options.ABOUT_BIN,
        ),
    ] = 2,
    sets: Annotated[
        int,
        typer.Option(
            "--sets",
            metavar="NUMBER",
            min=1,
            max=1000,
            help="How many sets, no head in two.",
            rich_help_panel=bin_options.ABOUT_BIN,
        ),
    ] = 1,
    within: Annotated[
        float,
        typer.Option(
            "--within",
            metavar="PERCENT",
            min=0.001,
            max=100,
            help="How far the heads of a set may be apart.",
            rich_help_panel=bin_options.ABOUT_BIN,
        ),
    ] = 5.0,
    grade: bin_options.Grades = None,
    store: bin_options.Store = "",
    catalog: options.CatalogFile = None,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Find the heads of the bin that are most alike, in pairs or larger sets.

    They are available, matched or unmatched (other grades with --grade), and of one layout:
    the same roles, bands and pins. The spread of a set is how far its heads are apart at the
    coil where that is most. As many sets as asked, then the least total spread: exactly, not
    nearly. Ends with 1 when there are fewer.
    """
    from coilmeter.cli.bin_matching import find_sets
    from coilmeter.cli.results import ALL_SOUND, SOMETHING, put_listing
    from coilmeter.cli.typed import say
    from coilmeter.spares.donors import SOUND
    from coilmeter.spares.searching import Wanted
    from coilmeter.spares.verdicts import refresh
    from coilmeter.values.bin import Status

    grades = bin_options.check_words("--grade", grade, bin_options.grade_words())
    among = Wanted(
        grades=grades or SOUND, kinds=tuple(kind or ()), statuses=(Status.AVAILABLE,)
    )
    rules = bin_options.usual_rules(catalog)
    with bin_options.bin_to_read(store) as shelf:
        refresh(shelf, rules, say, among)
        with shelf.read() as connection:
            listing, found = find_sets(connection, among, size, sets, within / 100)
    put_listing(listing, as_, out)
    raise typer.Exit(ALL_SOUND if found == sets else SOMETHING)
