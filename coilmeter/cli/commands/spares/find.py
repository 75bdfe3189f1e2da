"""``coilmeter spares find``: heads of the bin that could replace a given one."""

from __future__ import annotations

from typing import Annotated

import typer

from coilmeter.cli import bin_options, options


def command(
    heads: bin_options.Heads,
    most: Annotated[
        int,
        typer.Option(
            "--most",
            metavar="NUMBER",
            min=1,
            max=1000,
            help="How many to offer for one head.",
            rich_help_panel=bin_options.ABOUT_BIN,
        ),
    ] = 5,
    grade: bin_options.Grades = None,
    kind: bin_options.Kinds = None,
    store: bin_options.Store = "",
    catalog: options.CatalogFile = None,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Find heads that could take the place of a given one.

    They are available, matched or unmatched (other grades with --grade), and have the same
    roles and bands. Those on the same pins come first, then those nearest in resistance, and
    in inductance where both were measured; a broken coil counts as what its siblings read.
    For several heads each is given one of its own, so that together they fit best. Ends with
    1 when a head has none.
    """
    from coilmeter.cli.bin_matching import find_offers
    from coilmeter.cli.results import ALL_SOUND, SOMETHING, put_listing
    from coilmeter.cli.typed import say
    from coilmeter.report.bin_matches import offers_listing
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
        refresh(shelf, rules, say)
        with shelf.read() as connection:
            offers, notes = find_offers(connection, heads, most, among)
    put_listing(offers_listing(offers, notes), as_, out)
    found = bool(offers) and all(offer.line is not None for offer in offers)
    raise typer.Exit(ALL_SOUND if found else SOMETHING)
