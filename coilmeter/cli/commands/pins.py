"""``coilmeter pins``: which pins of an unmarked head belong together."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated

import typer

from coilmeter.cli import meant, options

_ABOUT_MAP = "About the map"


def command(
    pins: Annotated[
        str,
        typer.Option(
            "--pins",
            help="How many pins, 2 to 16, or their names: '1 2 3 R'. The case is not counted.",
            rich_help_panel=options.ABOUT_HEAD,
        ),
    ] = "",
    rows: Annotated[
        str,
        typer.Option(
            "--rows",
            metavar="NUMBER",
            help="How many rows they lie in; without it, two in a row.",
            rich_help_panel=options.ABOUT_HEAD,
        ),
    ] = "",
    layout: Annotated[
        str,
        typer.Option(
            "--layout",
            help="Their names as they lie, '/' between rows, '.' for none: '1 2 / 3 . / 4 5'.",
            rich_help_panel=options.ABOUT_HEAD,
        ),
    ] = "",
    case: Annotated[
        bool | None,
        typer.Option(
            "--case/--no-case",
            help="Whether there is a metal case to measure against. [default: case]",
            rich_help_panel=options.ABOUT_HEAD,
            show_default=False,
        ),
    ] = None,
    head: options.Head = "",
    kind: Annotated[
        str,
        typer.Option(
            "--kind",
            help="Kind the head is said to be of: only what tests it is asked for.",
            rich_help_panel=options.ABOUT_HEAD,
        ),
    ] = "",
    from_: Annotated[
        Path | None,
        typer.Option(
            "--from",
            help="Map from this readings file in place of a meter; '-' is standard input.",
            rich_help_panel=options.ABOUT_METER,
        ),
    ] = None,
    prior: Annotated[
        str,
        typer.Option(
            "--prior",
            metavar="[neighbours|uniform]",
            help="Which pairs are tried first: pins that lie side by side, or none.",
            rich_help_panel=_ABOUT_MAP,
        ),
    ] = "neighbours",
    isolation: Annotated[
        bool,
        typer.Option(
            "--isolation/--no-isolation",
            help="Read between the coils, and to the case, too; without it no map is certain.",
            rich_help_panel=_ABOUT_MAP,
        ),
    ] = True,
    band: Annotated[
        list[str] | None,
        typer.Option(
            "--band",
            metavar="[COIL=]NAME",
            help="Band of a coil, by its letter or pins (B=erase, 5-6=erase), or of all; may "
            "be given again.",
            rich_help_panel=_ABOUT_MAP,
        ),
    ] = None,
    open_: Annotated[
        list[str] | None,
        typer.Option(
            "--open",
            metavar="PIN-PIN",
            help="Two pins without partner are a coil that is open; may be given again.",
            rich_help_panel=_ABOUT_MAP,
        ),
    ] = None,
    save: Annotated[
        str,
        typer.Option(
            "--save",
            metavar="NAME",
            help="Add the map as a head kind to your own catalog, which every command reads.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = "",
    replace: Annotated[
        bool,
        typer.Option(
            "--replace",
            help="With --save, replace a kind of that name.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = False,
    temperature: options.Temperature = "",
    leaking_below: options.LeakingBelow = "1 Mohm",
    port: options.Port = "",
    form: options.FormatName = "",
    baud: options.Baud = None,
    dtr: options.Dtr = None,
    rts: options.Rts = None,
    wait: options.Wait = "",
    meter: options.Meter = "unstated",
    lead: options.Lead = "",
    four_wire: options.FourWire = False,
    keep: Annotated[
        Path | None,
        typer.Option(
            "--keep",
            help="Readings file to write as they are taken; HEAD-pins.csv where none is named.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = None,
    resume: options.Resume = False,
    confidence: options.Confidence = 0.95,
    catalog: options.CatalogFile = None,
    speak: options.Speak = False,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Find out which pins of an unmarked head belong together.

    Describe the pins, and clip the two that are named: each reading decides the next pair.
    With --port the meter is watched, hands free; an OL is proved by a metal tip across the
    two pins. Coils, common returns, taps, bridges and leaks come out by themselves, and the
    map can be saved as a head kind. Every reading is on disk before the screen says so.
    Ends with 0 when the map is certain and nothing is faulty, 1 when something is faulty or
    open, 3 when the meter or port fails.
    """
    # A field of pins is too small to be worth several threads: they wait for each other.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from coilmeter.cli.checking import checked_name, make_keeper
    from coilmeter.cli.connection import check_four_wire, chosen_connection
    from coilmeter.cli.pinning import PinJob, check_resumed
    from coilmeter.cli.pinning_from import chosen_prior, field_for, map_file, say_of
    from coilmeter.cli.pinning_run import Outcome, measure_pins
    from coilmeter.cli.pinning_save import check_name
    from coilmeter.cli.proofs import trust
    from coilmeter.compute.circumstances import MeterTable
    from coilmeter.compute.pinplan import Wishes
    from coilmeter.compute.pinplan_kind import Expected
    from coilmeter.errors import InputError

    known = meant.make_catalog(catalog)
    settings = meant.make_settings(
        known,
        kind="",
        band="",
        meter=meter,
        lead="four-wire" if four_wire else lead,
        temperature=temperature,
        confidence=confidence,
        leaking_below=leaking_below,
    )
    if save:
        check_name(save, known, replaced=replace)
    outcome = Outcome(as_, out, save, replace)
    expected = Expected.of(known.kind(kind)) if kind else None
    if from_ is not None:
        given = {"--port": port, "--format": form, "--keep": keep, "--resume": resume}
        _only_live(given | {"--speak": speak, "--four-wire": four_wire, "--wait": wait})
        described = (pins, rows, layout)
        code = map_file(
            str(from_),
            head,
            described,
            known,
            settings,
            (band or [], open_ or []),
            expected,
            outcome,
            case=case,
        )
        raise typer.Exit(code)
    wire = meant.make_format_at(form, port, baud) if port or form else None
    if speak and wire is None:
        raise InputError("--speak without --port", hint="what is typed needs no voice.")
    if four_wire:
        check_four_wire(wire, lead)
    head = checked_name(head or "head")
    field = field_for(pins, rows, layout, expected, case=case)
    told = say_of(band or [], open_ or [], field, known)
    connection = chosen_connection(
        wire,
        port,
        baud=baud,
        dtr=dtr,
        rts=rts,
        wait=wait,
        lead=settings.lead,
        four_wire=settings.meters[settings.meter].four_wire,
    )
    trusted = trust(settings, wire, port)
    wishes = Wishes(
        chosen_prior(prior),
        isolation=isolation,
        reach_ohm=MeterTable(settings.meters[settings.meter]).top_ohm,
        kind=expected,
    )
    with make_keeper(keep, f"{head}-pins", resume=resume) as keeper:
        job = PinJob(head, field, trusted.settings, keeper, wishes)
        check_resumed(job)
        code = measure_pins(
            job,
            known,
            told,
            outcome,
            connection=connection,
            trusted=trusted,
            speak=speak,
        )
    raise typer.Exit(code)


def _only_live(given: Mapping[str, object]) -> None:
    """Refuse what is about a meter where a file is mapped."""
    from coilmeter.errors import InputError

    for name, value in given.items():
        if value:
            raise InputError(
                f"{name} with --from", hint="a file is mapped as it stands: leave it out."
            )
