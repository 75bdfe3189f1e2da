"""``coilmeter report``: a condition report for a buyer, and a label for the bin."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from coilmeter.cli import meant, options


class Fitted(StrEnum):
    """Where the head is."""

    LOOSE = "loose"
    FITTED = "fitted"


_ABOUT = "What you say of the head"


def command(
    files: Annotated[list[str], typer.Argument(help="Readings files; '-' is standard input.")],
    marking: Annotated[
        str,
        typer.Option("--marking", help="What is printed on it.", rich_help_panel=_ABOUT),
    ] = "",
    fitted: Annotated[
        Fitted | None,
        typer.Option("--place", help="Where it was measured.", rich_help_panel=_ABOUT),
    ] = None,
    face: Annotated[
        str,
        typer.Option(
            "--face",
            help="How its face looks, in one of four fixed phrases such as 'polished'; "
            "--face ? lists them.",
            rich_help_panel=_ABOUT,
        ),
    ] = "",
    note: Annotated[
        list[str] | None,
        typer.Option("--note", help="A remark; may be given again.", rich_help_panel=_ABOUT),
    ] = None,
    demagnetised: Annotated[
        bool | None,
        typer.Option(
            "--demagnetised/--not-demagnetised",
            help="Whether it was demagnetised after measuring.",
            rich_help_panel=_ABOUT,
        ),
    ] = None,
    tape_tested: Annotated[
        bool | None,
        typer.Option(
            "--tape-tested/--not-tape-tested",
            help="Whether a tape was played and recorded with it.",
            rich_help_panel=_ABOUT,
        ),
    ] = None,
    photo: Annotated[
        list[Path] | None,
        typer.Option(
            "--photo",
            help="A photo of it; made small, and rid of place and time; may be given again.",
            rich_help_panel=_ABOUT,
        ),
    ] = None,
    label: Annotated[
        Path | None,
        typer.Option(
            "--label",
            help="Draw a label for its bag, 62 x 29 mm: FILE.svg or FILE.pdf.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = None,
    kind: options.Kind = "",
    band: options.Band = "",
    meter: options.Meter = "unstated",
    lead: options.Lead = "",
    temperature: options.Temperature = "",
    confidence: options.Confidence = 0.95,
    leaking_below: options.LeakingBelow = "1 Mohm",
    impedance: options.AcFiles = None,
    reference: options.AcReferences = None,
    case: options.ChainCase = "",
    keep: options.ChainCases = None,
    catalog: options.CatalogFile = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            help="Write the page to this file; standard output where none is named.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = None,
) -> None:
    """Write a condition report for a buyer: one page of HTML, a printed sheet a head.

    It says what was measured and how sure that is, how the face looks where you say so, and
    what was not tested. The page needs no network and no other file; 'spares report' writes
    it of heads in the bin. Ends with 0 when every head is sound and matched, else with 1.
    """
    from coilmeter.cli.chain_figure import picture_of_case
    from coilmeter.cli.impedance_files import with_volts
    from coilmeter.cli.reporting import check_face, put_label, put_page
    from coilmeter.cli.results import judged_files
    from coilmeter.values.about import About

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
    about = About(
        marking=marking,
        fitted=fitted or "",
        face=check_face(face, "say more with --note"),
        demagnetised=demagnetised,
        tape_tested=tape_tested,
        notes=tuple(note or ()),
    )
    rows, heads = judged_files(files, settings)
    heads = with_volts(heads, impedance or [], reference or [], settings)
    chain = picture_of_case(case, keep, catalog, len(heads))
    code = put_page(heads, rows, settings, about, photo or [], chain, out)
    if label is not None:
        put_label(heads, rows, label)
    raise typer.Exit(code)
