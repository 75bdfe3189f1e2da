"""``coilmeter spares list``: the heads of the bin, or some of them."""

from __future__ import annotations

from typing import Annotated

import typer

from coilmeter.cli import bin_options, options


def command(
    grade: bin_options.Grades = None,
    kind: bin_options.Kinds = None,
    role: Annotated[
        list[str] | None,
        typer.Option(
            "--role",
            help="Only heads with a coil of this role; may be given again.",
            rich_help_panel=bin_options.ABOUT_BIN,
        ),
    ] = None,
    status: Annotated[
        list[str] | None,
        typer.Option(
            "--status",
            help="Only heads that are available, used, scrapped or disputed; may be given "
            "again.",
            rich_help_panel=bin_options.ABOUT_BIN,
        ),
    ] = None,
    newer_than: Annotated[
        float | None,
        typer.Option(
            "--newer-than",
            metavar="DAYS",
            min=0,
            help="Only heads measured within so many days.",
            rich_help_panel=bin_options.ABOUT_BIN,
        ),
    ] = None,
    older_than: Annotated[
        float | None,
        typer.Option(
            "--older-than",
            metavar="DAYS",
            min=0,
            help="Only heads last measured longer ago.",
            rich_help_panel=bin_options.ABOUT_BIN,
        ),
    ] = None,
    text: Annotated[
        str,
        typer.Option(
            "--text",
            help="Only heads with this in name, kind, notes, marking or reason.",
            rich_help_panel=bin_options.ABOUT_BIN,
        ),
    ] = "",
    store: bin_options.Store = "",
    catalog: options.CatalogFile = None,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """List the heads of the bin, with grade, figures and status.

    Each option leaves out what does not fit. The grades are matched, unmatched, partial,
    dead, unstable, recheck, and 'not judged' for heads that the present reference data cannot
    judge.
    """
    from coilmeter.cli.results import put_listing
    from coilmeter.cli.typed import say
    from coilmeter.report.bin_tables import heads_listing
    from coilmeter.spares.records import storable
    from coilmeter.spares.searching import LONGEST_ASKED, Wanted, days_ago, search
    from coilmeter.spares.verdicts import refresh
    from coilmeter.values import ROLE_KEYS
    from coilmeter.values.bin import Status

    storable(text, "--text", LONGEST_ASKED)
    roles = bin_options.check_words("--role", role, sorted(ROLE_KEYS))
    wanted = Wanted(
        grades=bin_options.check_words("--grade", grade, bin_options.grade_words()),
        kinds=tuple(kind or ()),
        roles=tuple("rp" if each == "record/playback" else each for each in roles),
        statuses=bin_options.check_words("--status", status, [*Status]),
        newer_than="" if newer_than is None else days_ago(newer_than),
        older_than="" if older_than is None else days_ago(older_than),
        text=text,
    )
    rules = bin_options.usual_rules(catalog)
    with bin_options.bin_to_read(store) as shelf:
        refresh(shelf, rules, say, wanted)
        with shelf.read() as connection:
            listing = heads_listing(search(connection, wanted), some=wanted != Wanted())
    put_listing(listing, as_, out)
