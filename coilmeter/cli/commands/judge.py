"""``coilmeter judge``: judge readings already written down."""

from __future__ import annotations

from typing import Annotated

import typer

from coilmeter.cli import options


def command(
    files: Annotated[
        list[str],
        typer.Argument(
            help="Readings files (CSV), patterns such as 'bin/*.csv', or - for standard input."
        ),
    ],
    kind: options.Kind = "",
    band: options.Band = "",
    meter: options.Meter = "unstated",
    lead: options.Lead = "",
    temperature: options.Temperature = "",
    confidence: options.Confidence = 0.95,
    leaking_below: options.LeakingBelow = "1 Mohm",
    catalog: options.CatalogFile = None,
    budget: options.Budget = False,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Judge readings already written down.

    A readings file is CSV with a header; the least is 'coil,reading'. A reading is a number
    (212.4, 4k7), OL with its range (OL 40 Mohm), beep or silent. Ends with 0 when every
    head is sound and matched, 1 when something is faulty or undecided.
    """
    from coilmeter.cli.results import put_out, standard_input
    from coilmeter.compute.judge import judge_rows
    from coilmeter.errors import InputError
    from coilmeter.sources.sheet import read_sheets, rows_of
    from coilmeter.values import Purpose

    settings = options.make_settings(
        options.make_catalog(catalog),
        kind=kind,
        band=band,
        meter=meter,
        lead=lead,
        temperature=temperature,
        confidence=confidence,
        leaking_below=leaking_below,
    )
    rows, mistakes = rows_of(read_sheets(files, standard_input()))
    heads = judge_rows(rows, settings, mistakes)
    if all(row.purpose in {Purpose.LEAD_NULL, Purpose.FREE} for row in rows):
        raise InputError(
            f"{', '.join(files)}: no reading of a coil or of an isolation path",
            hint="lead nulls and free readings alone are nothing to judge.",
        )
    raise typer.Exit(put_out(heads, settings, as_, out, parts=budget))
