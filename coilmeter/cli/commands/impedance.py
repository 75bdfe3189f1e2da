"""``coilmeter impedance``: inductance and Q from AC volts; shorted turns, wear."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from coilmeter.cli import meant, options

_TONE = "About the tone"


def command(
    files: Annotated[
        list[str] | None,
        typer.Argument(
            help="Files of AC volts (CSV), or - for standard input; without one, they are "
            "measured."
        ),
    ] = None,
    head: options.Head = "head",
    kind: options.Kind = "",
    coils: options.Coils = None,
    coil: Annotated[
        list[str] | None,
        typer.Option(
            "--coil",
            help="Measure this coil only; may be given again.",
            rich_help_panel=options.ABOUT_HEAD,
        ),
    ] = None,
    ohms: Annotated[
        list[str] | None,
        typer.Option(
            "--ohms",
            help="Readings file of the same head: the DC resistance of its coils.",
            rich_help_panel=options.ABOUT_HEAD,
        ),
    ] = None,
    reference: Annotated[
        list[Path] | None,
        typer.Option(
            "--reference",
            help="File of AC volts of coils of the same kind that are known to be good.",
            rich_help_panel=options.ABOUT_HEAD,
        ),
    ] = None,
    temperature: options.Temperature = "",
    frequency: Annotated[
        list[str] | None,
        typer.Option(
            "--frequency",
            help="The tone; may be given again. [default: 10 kHz]",
            rich_help_panel=_TONE,
        ),
    ] = None,
    resistor: Annotated[
        str,
        typer.Option(
            "--resistor",
            help="The series resistor and how well it is known: '9.98 kohm +/- 1 %'.",
            rich_help_panel=_TONE,
        ),
    ] = "",
    advise: Annotated[
        bool,
        typer.Option(
            "--advise",
            help="Say which resistor and drive fit the kind of head, and end.",
            rich_help_panel=_TONE,
        ),
    ] = False,
    q_below: Annotated[
        float,
        typer.Option(
            "--q-below",
            help="Q below this per cent of the siblings' is a collapse.",
            rich_help_panel=_TONE,
        ),
    ] = 70.0,
    l_noticeable: Annotated[
        float,
        typer.Option(
            "--l-noticeable",
            help="L further than this per cent off the median is noticeable.",
            rich_help_panel=_TONE,
        ),
    ] = 10.0,
    l_mismatched: Annotated[
        float,
        typer.Option(
            "--l-mismatched", help="And than this, mismatched.", rich_help_panel=_TONE
        ),
    ] = 20.0,
    port: Annotated[
        str,
        typer.Option(
            "--port",
            help="Where the meter is: a device name, or socket://HOST:PORT. Without it, "
            "voltages are typed.",
            rich_help_panel=options.ABOUT_METER,
        ),
    ] = "",
    form: options.FormatName = "",
    baud: options.Baud = None,
    dtr: options.Dtr = None,
    rts: options.Rts = None,
    wait: options.Wait = "",
    speak: options.Speak = False,
    meter: options.Meter = "unstated",
    keep: Annotated[
        Path | None,
        typer.Option(
            "--keep",
            help="File to write AC volts to as they are taken; HEAD-ac.csv where none is "
            "named.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = None,
    resume: Annotated[
        bool,
        typer.Option(
            "--resume",
            help="Go on with a file of AC volts that was left half-way.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = False,
    confidence: options.Confidence = 0.95,
    catalog: options.CatalogFile = None,
    budget: Annotated[
        bool,
        typer.Option(
            "--budget",
            help="Show where the uncertainty of L and R comes from.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = False,
    plot: Annotated[
        Path | None,
        typer.Option(
            "--plot",
            help="Draw |Z| and phase over frequency, L and Q side by side: FILE.svg or "
            "FILE.png.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = None,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Inductance and Q from AC volts: what ohms cannot show.

    A tone, a known resistor in series with the coil, and the meter on AC volts: three
    voltages give |Z|, R, L and Q. Beside its siblings, a coil with shorted turns has less Q,
    a worn one less L. With files they are judged; without, each voltage is measured, from the
    meter with --port, else typed. Ends with 0 when no coil shows a sign, 1 when one does or
    nothing can be said, 3 when the meter or port fails.
    """
    from coilmeter.cli.impedance_files import (
        check_plot,
        check_written,
        judged,
        make_limits,
        put_impedances,
    )
    from coilmeter.cli.impedance_options import (
        check_no_walk,
        chosen_coils,
        chosen_resistor,
        chosen_tones,
    )
    from coilmeter.cli.logging_files import check_apart
    from coilmeter.cli.results import judged_files

    known = meant.make_catalog(catalog)
    settings = meant.make_settings(
        known,
        kind=kind,
        band="",
        meter=meter,
        lead="",
        temperature=temperature,
        confidence=confidence,
        leaking_below="1 Mohm",
    )
    limits = make_limits(q_below, l_noticeable, l_mismatched, confidence)
    check_plot(plot)
    references = reference or []
    read = [Path(name) for name in (*(files or []), *(ohms or [])) if name != "-"]
    check_apart([*read, *references], [path for path in (out, plot, keep) if path is not None])
    check_written([out, plot])
    if files:
        check_no_walk(
            {"--resistor": resistor, "--frequency": frequency, "--port": port}
            | {"--keep": keep, "--resume": resume, "--coil": coil, "--advise": advise}
            | {"--speak": speak}
        )
        _, from_ohms = judged_files(ohms or [], settings)
        heads = judged(files, references, settings, limits, from_ohms)
        raise typer.Exit(put_impedances(heads, limits, as_, out, plot, parts=budget))
    from coilmeter.cli.checking import checked_name, chosen_kind, file_name
    from coilmeter.cli.connection import chosen_connection
    from coilmeter.cli.impedance_job import ToneJob, advice_lines, measure_tones
    from coilmeter.cli.impedance_words import WIRING
    from coilmeter.cli.typed import say
    from coilmeter.errors import InputError
    from coilmeter.sources.impedance_keeper import VoltsFile
    from coilmeter.wire.dialogue import on_ac_volts

    chosen = chosen_kind(known, kind, coils, "; or name a file of AC volts")
    names = chosen_coils(chosen, coil or [])
    tones = chosen_tones(frequency or ["10 kHz"])
    if advise:
        say(WIRING)
        for line in advice_lines(chosen, names, tones):
            say(line)
        raise typer.Exit(0)
    wire = on_ac_volts(meant.make_format_at(form, port, baud)) if port or form else None
    connection = chosen_connection(wire, port, baud=baud, dtr=dtr, rts=rts, wait=wait)
    if speak and connection is None:
        raise InputError("--speak without --port", hint="what is typed needs no voice.")
    name = checked_name(head)
    with_tolerance = chosen_resistor(resistor, advice_lines(chosen, names, tones))
    _, from_ohms = judged_files(ohms or [], settings)
    path = keep if keep is not None else Path(f"{file_name(name)}-ac.csv")
    with VoltsFile(path, resume=resume) as file:
        job = ToneJob(
            name,
            chosen,
            names,
            tones,
            with_tolerance,
            settings,
            limits,
            file,
            references,
            from_ohms,
        )
        code = measure_tones(
            job, connection, shape=as_, out=out, plot=plot, parts=budget, speak=speak
        )
    raise typer.Exit(code)
