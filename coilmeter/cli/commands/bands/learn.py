"""``coilmeter bands learn``: limits from coils that are known to be good."""

from __future__ import annotations

from typing import Annotated

import typer

from coilmeter.cli import bin_options, meant, options


def command(
    files: Annotated[
        list[str] | None,
        typer.Argument(help="Readings files of good heads; '-' is standard input."),
    ] = None,
    from_bin: Annotated[
        bool,
        typer.Option(
            "--from-bin",
            help="Learn from heads of the bin: those of --kind that are matched, where nothing "
            "else is said.",
            rich_help_panel=bin_options.ABOUT_BIN,
        ),
    ] = False,
    grade: bin_options.Grades = None,
    text: Annotated[
        str,
        typer.Option(
            "--text",
            help="Only heads with this in name, kind, notes, marking or reason.",
            rich_help_panel=bin_options.ABOUT_BIN,
        ),
    ] = "",
    tape_tested: Annotated[
        bool,
        typer.Option(
            "--tape-tested",
            help="Only heads that were noted as tape-tested, of whatever grade.",
            rich_help_panel=bin_options.ABOUT_BIN,
        ),
    ] = False,
    store: bin_options.Store = "",
    role: Annotated[
        str,
        typer.Option(
            "--role",
            help="Role of the coils to learn from, where the heads have several.",
            rich_help_panel=options.ABOUT_HEAD,
        ),
    ] = "",
    kind: options.Kind = "",
    base: Annotated[
        str,
        typer.Option(
            "--base",
            help="Band whose limits of shorted and open are taken over; that of the kind "
            "where none is named.",
            rich_help_panel=options.ABOUT_HEAD,
        ),
    ] = "",
    leave_out: Annotated[
        list[str] | None,
        typer.Option(
            "--leave-out",
            metavar="HEAD:COIL",
            help="Leave this coil out; may be given again.",
            rich_help_panel=options.ABOUT_HEAD,
        ),
    ] = None,
    keep_all: Annotated[
        bool,
        typer.Option(
            "--keep-all",
            help="Learn from coils that stand out, too: they are known to be good.",
            rich_help_panel=options.ABOUT_HEAD,
        ),
    ] = False,
    coverage: Annotated[
        float,
        typer.Option(
            "--coverage",
            help="Share of all such coils that the limits should hold.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = 0.95,
    confidence: Annotated[
        float,
        typer.Option(
            "--confidence",
            help="Probability that they do hold so many.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = 0.95,
    save: Annotated[
        str,
        typer.Option(
            "--save",
            metavar="NAME",
            help="Add the band under this name to your own catalog, which every command reads.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = "",
    replace: Annotated[
        bool,
        typer.Option(
            "--replace",
            help="With --save, replace a band of that name.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = False,
    meter: options.Meter = "unstated",
    lead: options.Lead = "",
    temperature: options.Temperature = "",
    catalog: options.CatalogFile = None,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Learn the limits of a band from coils that are known to be good.

    The limits are a normal tolerance interval: wide while the coils are few, and refused
    below five. Coils that stand out are named first, and nothing is learnt until you say
    what is to become of them. Nothing is saved without --save. The heads come from readings
    files, from the bin, or from both.
    """
    from coilmeter.catalog.own import add_entry
    from coilmeter.cli.band_learning import (
        drawn,
        entry_of,
        gather,
        learn_band,
        told,
    )
    from coilmeter.cli.bin_learning import Choice, heads_to_learn_from
    from coilmeter.cli.folders import own_catalog
    from coilmeter.cli.results import put_listing
    from coilmeter.cli.typed import say
    from coilmeter.errors import InputError
    from coilmeter.report.band_rows import coils_listing

    known = meant.make_catalog(catalog)
    settings = meant.make_settings(
        known,
        kind=kind,
        band="",
        meter=meter,
        lead=lead,
        temperature=temperature,
        confidence=0.95,
        leaking_below="1 Mohm",
    )
    choice = Choice(
        from_bin=from_bin,
        kind=kind,
        grades=bin_options.check_words("--grade", grade, bin_options.grade_words()),
        text=text,
        tape_tested=tape_tested,
    )
    good = heads_to_learn_from(files or [], settings, choice, store, catalog)
    group = gather(good.heads, role, leave_out or [])
    if not (base or group.band):
        raise InputError(
            "the coils are of several bands, or of none",
            hint=f"give --base with one of: {', '.join(sorted(known.bands))}.",
        )
    band, found = learn_band(
        group,
        known.band(base or group.band),
        save,
        coverage,
        confidence,
        keep_all=keep_all,
        source=good.chosen,
    )
    if save:
        path = own_catalog()
        add_entry(path, "bands", save, entry_of(band), replace=replace)
        say(f"{save}: added to {path}; judge by it with --band {save}.")
    put_listing(coils_listing(band, drawn(group), [*told(found, group), *good.notes]), as_, out)
