"""``coilmeter judge``: judge readings already written down."""

from __future__ import annotations

import typer

from coilmeter.cli import meant, options


def command(
    files: options.Files,
    kind: options.Kind = "",
    band: options.Band = "",
    meter: options.Meter = "unstated",
    lead: options.Lead = "",
    temperature: options.Temperature = "",
    confidence: options.Confidence = 0.95,
    leaking_below: options.LeakingBelow = "1 Mohm",
    impedance: options.AcFiles = None,
    reference: options.AcReferences = None,
    catalog: options.CatalogFile = None,
    budget: options.Budget = False,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Judge readings already written down.

    A readings file is CSV with a header; the least is 'coil,reading'. A reading is a number
    (212.4, 4k7), OL with its range (OL 40 Mohm), beep or silent. With --impedance, what AC
    volts say of the same heads stands beside the ohms. Ends with 0 when every head is sound
    and matched, 1 when something is faulty or undecided.
    """
    from coilmeter.cli.results import judged_files, put_out

    settings = meant.make_settings(
        meant.make_catalog(catalog),
        kind=kind,
        band=band,
        meter=meter,
        lead=lead,
        temperature=temperature,
        confidence=confidence,
        leaking_below=leaking_below,
    )
    if out is not None:
        from coilmeter.cli.impedance_files import check_written

        check_written([out])
    rows, heads = judged_files(files, settings)
    if impedance or reference:
        from coilmeter.cli.impedance_files import with_volts

        heads = with_volts(heads, impedance or [], reference or [], settings)
    raise typer.Exit(put_out(heads, settings, as_, out, parts=budget, rows=rows))
