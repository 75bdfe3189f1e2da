"""``coilmeter flex``: watch one coil while its joint is moved."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from coilmeter.cli import meant, options

if TYPE_CHECKING:
    from coilmeter.catalog import Catalog
    from coilmeter.cli.flexing_result import Shelf, Subject


def command(
    head: options.Head = "head",
    kind: options.Kind = "",
    coil: Annotated[
        str,
        typer.Option(
            "--coil",
            help="Which coil; without it nothing is kept in a readings file.",
            rich_help_panel=options.ABOUT_HEAD,
        ),
    ] = "",
    port: options.LivePort = "",
    form: options.FormatName = "",
    baud: options.Baud = None,
    dtr: options.Dtr = None,
    rts: options.Rts = None,
    wait: options.Wait = "",
    meter: options.Meter = "unstated",
    for_: Annotated[
        str,
        typer.Option(
            "--for",
            help="Move it for this time, 8s or more, such as 1m; 20s where not given, 0 for "
            "until a key.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = "",
    from_: Annotated[
        list[Path] | None,
        typer.Option(
            "--from",
            help="Judge this raw log, or the CSV of `log --csv`, in place of a meter; for "
            "further parts of a log may be given again.",
            rich_help_panel=options.ABOUT_METER,
        ),
    ] = None,
    long_ol: Annotated[
        str,
        typer.Option(
            "--long-ol",
            metavar="[ask|lifted|open]",
            help="What OL of 3 s and more is: lifted clips, or an open joint.",
            rich_help_panel=options.ABOUT_HEAD,
        ),
    ] = "ask",
    keep: Annotated[
        Path | None,
        typer.Option(
            "--keep",
            help="Readings file to add the flexing to; HEAD.csv where none is named. With "
            "--from, only where it is named.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = None,
    log: Annotated[
        Path | None,
        typer.Option(
            "--log",
            help="Raw log of every byte, a new file; named after the head, coil and time "
            "where none is named.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = None,
    plot: Annotated[
        Path | None,
        typer.Option(
            "--plot",
            help="Draw the readings with the drop-outs marked: FILE.svg or FILE.png.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = None,
    catalog: options.CatalogFile = None,
    speak: options.Speak = False,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Watch one coil while its joint is moved.

    Clip the coil, hold still until it says so, then move the lead, press each pin, tap. A
    bell rings at each drop-out. It ends after --for, with q or Enter, or when the clips are
    lifted and then touched together. Every byte is in a raw log as it arrives, and --from
    judges it again. Says steady, noisy, intermittent or creeping. Ends with 0 when it is
    steady, 1 when it is not or that is undecided, 3 when the meter or port fails.
    """
    from coilmeter.cli.checking import checked_name
    from coilmeter.cli.connection import chosen_connection, need_port
    from coilmeter.cli.flexing import FlexJob, LongOL, run_saved
    from coilmeter.cli.flexing_live import run_live
    from coilmeter.cli.flexing_result import Outputs
    from coilmeter.cli.logging_files import check_apart
    from coilmeter.errors import InputError

    if bool(port) is bool(from_):
        raise InputError(
            "both --port and --from" if port else "where do the readings come from?",
            hint="give --port for a meter, or --from for a file that was logged.",
        )
    if not port:
        told = {"--log": log, "--wait": wait or None, "--speak": speak or None}
        need_port({"--baud": baud, "--dtr": dtr, "--rts": rts, **told})
    if long_ol not in {*LongOL}:
        raise InputError(f"--long-ol: saw {long_ol!r}, expected one of {', '.join(LongOL)}")
    outputs = Outputs(as_, out, plot)
    outputs.check()
    known = meant.make_catalog(catalog)
    named = meant.make_format_at(form, port, baud) if port or form else None
    head = checked_name(head)
    shelf = _shelf(head, coil, keep, live=bool(port))
    kind = kind if shelf is None else shelf.kind(kind)
    subject = _subject(known, head, coil, kind, meter)
    check_apart(from_ or [], [path for path in (out, plot, log) if path is not None])
    job = FlexJob(subject, outputs, shelf, _seconds(for_, live=bool(port)), LongOL(long_ol))
    if from_:
        raise typer.Exit(run_saved(job, from_, named))
    connection = chosen_connection(
        named,
        port,
        baud=baud,
        dtr=dtr,
        rts=rts,
        wait=wait,
        four_wire=subject.table.meter.four_wire,
    )
    if connection is not None:
        log = _log_path(log, shelf, coil)
        raise typer.Exit(run_live(job, connection, log, speak=speak))


def _seconds(text: str, *, live: bool) -> float | None:
    """Seconds of moving; None for without end."""
    from coilmeter.cli.logging_texts import parse_span
    from coilmeter.compute.flex_rule import FlexRule
    from coilmeter.errors import InputError

    if text.strip() == "0" or (not text and not live):
        return None
    seconds, least_s = parse_span("--for", text or "20s"), FlexRule().least_s
    if live and seconds < least_s:
        raise InputError(
            f"--for {text}: a joint that was watched for less than {least_s:g} s cannot be "
            "called steady",
            hint=f"give --for {least_s:g}s or more, or --for 0 for until a key.",
        )
    return seconds


def _subject(catalog: Catalog, head: str, coil: str, kind: str, meter: str) -> Subject:
    """Look up what is flexed."""
    from coilmeter.cli.flexing_result import Subject, spec_of
    from coilmeter.compute.circumstances import MeterTable

    of_kind = catalog.kind(kind) if kind else None
    spec = spec_of(of_kind, coil)
    band = None if spec is None else catalog.bands.get(spec.band)
    return Subject(head, coil, of_kind, spec, band, MeterTable(catalog.meter(meter)))


def _shelf(head: str, coil: str, keep: Path | None, *, live: bool) -> Shelf | None:
    """Name the readings file to keep the flexing in, where it is known what it is about."""
    from coilmeter.cli.checking import file_name
    from coilmeter.cli.flexing_result import Shelf
    from coilmeter.errors import InputError

    if keep is not None and not coil:
        raise InputError(f"--keep {keep} without --coil", hint="say which coil it is.")
    if not coil or (keep is None and not live):
        return None
    return Shelf(keep if keep is not None else Path(f"{file_name(head)}.csv"), head)


def _log_path(log: Path | None, shelf: Shelf | None, coil: str) -> Path:
    """Name the raw log: beside the readings file, after it, the coil and the time."""
    from datetime import datetime

    from coilmeter.cli.checking import file_name

    if log is not None:
        return log
    stamp = f"{datetime.now().astimezone():%Y%m%d-%H%M%S}"
    if shelf is None:
        return Path(f"flex-{stamp}.rawlog")
    return shelf.path.with_name(f"{shelf.path.stem}-flex-{file_name(coil)}-{stamp}.rawlog")
