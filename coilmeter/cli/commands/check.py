"""``coilmeter check``: measure one head pair by pair, and judge it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from coilmeter.cli import bin_options, meant, options


def command(
    head: options.Head = "head",
    kind: options.Kind = "",
    coils: options.Coils = None,
    isolation: Annotated[
        bool,
        typer.Option(
            "--isolation/--no-isolation",
            help="Read the paths that should not conduct, too.",
            rich_help_panel=options.ABOUT_HEAD,
        ),
    ] = True,
    coils_first: Annotated[
        bool,
        typer.Option(
            "--coils-first",
            help="All coils before all paths: for a meter whose range is turned by hand.",
            rich_help_panel=options.ABOUT_HEAD,
        ),
    ] = False,
    band: options.Band = "",
    temperature: options.Temperature = "",
    leaking_below: options.LeakingBelow = "1 Mohm",
    port: options.Port = "",
    form: options.FormatName = "",
    baud: options.Baud = None,
    dtr: options.Dtr = None,
    rts: options.Rts = None,
    wait: options.Wait = "",
    overload: Annotated[
        str,
        typer.Option(
            "--range",
            help="Range on which the meter shows OL, where its bytes do not tell: '40 Mohm', "
            "or 'auto'.",
            rich_help_panel=options.ABOUT_METER,
        ),
    ] = "",
    meter: options.Meter = "unstated",
    lead: options.Lead = "",
    four_wire: options.FourWire = False,
    keep: Annotated[
        Path | None,
        typer.Option(
            "--keep",
            help="Readings file to write as they are taken; HEAD.csv where none is named.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = None,
    resume: options.Resume = False,
    again: Annotated[
        list[str] | None,
        typer.Option(
            "--again",
            help="With --resume, take this one again: 'coil 3', '1 to 2', 'leads'; may be "
            "given again.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = None,
    in_bin: Annotated[
        bool,
        typer.Option(
            "--bin/--no-bin",
            help="Keep the head and its readings in the bin, too.",
            rich_help_panel=bin_options.ABOUT_BIN,
        ),
    ] = True,
    store: bin_options.Store = "",
    confidence: options.Confidence = 0.95,
    catalog: options.CatalogFile = None,
    budget: options.Budget = False,
    speak: options.Speak = False,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Measure one head pair by pair, typed or from the meter, and judge it.

    With --port the meter is watched: clip the pins that are named, hold until it is taken,
    lift. Every reading is on disk before the screen says so; ended half-way, it goes on
    with --resume. --lead proved takes the null of the leads from the proof of the meter (see
    meter prove). The head is in the bin afterwards: found again by its --head, or new. A
    meter that is unplugged or falls silent meanwhile is waited for. Ends with 0 when the head
    is sound and matched, 1 when something is faulty or undecided, 3 when the meter or port
    fails, 4 when a file or the bin could not be written.
    """
    from coilmeter.cli.bin_keeping import Shelving
    from coilmeter.cli.checking import (
        Job,
        check_resumed,
        checked_name,
        chosen_kind,
        make_keeper,
    )
    from coilmeter.cli.connection import check_four_wire, chosen_connection, overload_range
    from coilmeter.cli.measuring import measure
    from coilmeter.cli.proofs import trust, with_null_of_proof
    from coilmeter.errors import InputError

    if again and not resume:
        raise InputError(
            "--again without --resume", hint="it takes one again of those that were kept."
        )
    wire = meant.make_format_at(form, port, baud) if port or form else None
    if speak and wire is None:
        raise InputError("--speak without --port", hint="what is typed needs no voice.")
    if four_wire:
        check_four_wire(wire, lead)
        lead = "four-wire"
    from_proof = lead.strip().lower() == "proved"
    if from_proof:
        lead = ""
    head = checked_name(head)
    known = meant.make_catalog(catalog)
    settings = meant.make_settings(
        known,
        kind=kind,
        band=band,
        meter=meter,
        lead=lead,
        temperature=temperature,
        confidence=confidence,
        leaking_below=leaking_below,
    )
    chosen = chosen_kind(known, kind, coils)
    connection = chosen_connection(
        wire,
        port,
        baud=baud,
        dtr=dtr,
        rts=rts,
        wait=wait,
        lead=lead,
        four_wire=settings.meters[settings.meter].four_wire,
    )
    trusted = trust(settings, wire, port)
    if from_proof:
        trusted = with_null_of_proof(trusted)
    end = overload_range(
        wire, overload, lead, four_wire=settings.meters[settings.meter].four_wire
    )
    with make_keeper(keep, head, resume=resume) as keeper:
        job = Job(
            head,
            chosen,
            trusted.settings,
            keeper,
            isolation=isolation,
            coils_first=coils_first,
            again=tuple(again or ()),
            note=trusted.note,
            overload_ohm=end,
        )
        check_resumed(job)
        with Shelving(store if in_bin else None, job, trusted.found) as shelving:
            code = measure(
                replace(job, shelving=shelving),
                connection=connection,
                trusted=trusted,
                speak=speak,
                shape=as_,
                out=out,
                parts=budget,
            )
    raise typer.Exit(shelving.code(code))
