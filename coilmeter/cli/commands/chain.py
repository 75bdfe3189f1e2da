"""``coilmeter chain``: which link is broken, and what to test next."""

from __future__ import annotations

import os
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Final

import typer

from coilmeter.cli import meant, options

_FAULT: Final = "About the fault"
_KNOWN: Final = "What is known"
_CASE: Final = "Cases"
_HELP: Final = "Help for the bench"


class At(StrEnum):
    """Where coils were read."""

    HEAD = "head"
    PLUG = "plug"


def command(
    fault: Annotated[
        str,
        typer.Option("--fault", help="playback, record or erase.", rich_help_panel=_FAULT),
    ] = "",
    track: Annotated[
        str,
        typer.Option("--track", help="The track in question.", rich_help_panel=_FAULT),
    ] = "",
    working: Annotated[
        str,
        typer.Option(
            "--working",
            help="Other tracks that do it: '1 2 4', or all.",
            rich_help_panel=_FAULT,
        ),
    ] = "",
    failing: Annotated[
        str,
        typer.Option(
            "--failing",
            help="Other tracks that fail too: '1 2', or all.",
            rich_help_panel=_FAULT,
        ),
    ] = "",
    loose: Annotated[
        bool,
        typer.Option("--loose", help="The head is out of the machine.", rich_help_panel=_FAULT),
    ] = False,
    saw: Annotated[
        list[str] | None,
        typer.Option(
            "--saw",
            help="What a test showed: look=pass, 'B=fail', '2:hiss=pass' on track 2, "
            "cable-plug=sound; may be given again.",
            rich_help_panel=_KNOWN,
        ),
    ] = None,
    cannot: Annotated[
        list[str] | None,
        typer.Option(
            "--cannot",
            help="A test, or what tests need (scope, live...), that is not to be had; may be "
            "given again.",
            rich_help_panel=_KNOWN,
        ),
    ] = None,
    readings: Annotated[
        list[str] | None,
        typer.Option(
            "--readings",
            help="Readings file of the head: its verdicts count as tests; may be given again.",
            rich_help_panel=_KNOWN,
        ),
    ] = None,
    impedance: options.AcFiles = None,
    reference: options.AcReferences = None,
    at: Annotated[
        At,
        typer.Option("--at", help="Where these were read.", rich_help_panel=_KNOWN),
    ] = At.HEAD,
    coil: Annotated[
        str,
        typer.Option(
            "--coil",
            help="The coil of the track, where it is called otherwise.",
            rich_help_panel=_KNOWN,
        ),
    ] = "",
    ask: Annotated[
        bool | None,
        typer.Option(
            "--ask/--no-ask",
            help="Ask one question after the other. [default: where nothing seen or measured "
            "is given]",
            rich_help_panel=_KNOWN,
        ),
    ] = None,
    case: Annotated[
        str,
        typer.Option(
            "--case",
            help="Keep it as this case, or go on with it.",
            rich_help_panel=_CASE,
        ),
    ] = "",
    close: Annotated[
        list[str] | None,
        typer.Option(
            "--close",
            help="Close the case: the link that it was, or none; may be given again.",
            rich_help_panel=_CASE,
        ),
    ] = None,
    cases: Annotated[
        bool,
        typer.Option("--cases", help="List the cases and end.", rich_help_panel=_CASE),
    ] = False,
    weights: Annotated[
        bool,
        typer.Option(
            "--weights",
            help="Show the weights of the links with your closed cases counted in, and end.",
            rich_help_panel=_CASE,
        ),
    ] = False,
    shipped_weights: Annotated[
        bool,
        typer.Option(
            "--shipped-weights",
            help="Leave closed cases out of the weights.",
            rich_help_panel=_CASE,
        ),
    ] = False,
    keep: Annotated[
        Path | None,
        typer.Option(
            "--keep",
            help="File of the cases, in place of the usual one.",
            rich_help_panel=_CASE,
        ),
    ] = None,
    how: Annotated[
        str,
        typer.Option("--how", help="Tell how a test is made, and end.", rich_help_panel=_HELP),
    ] = "",
    calc: Annotated[
        str,
        typer.Option(
            "--calc",
            help="Do a small sum and end: 'scope 1.25 at 10 us', 'walk 260, 320, 56'; ? lists "
            "them.",
            rich_help_panel=_HELP,
        ),
    ] = "",
    kind: options.Kind = "",
    band: options.Band = "",
    temperature: options.Temperature = "",
    leaking_below: options.LeakingBelow = "1 Mohm",
    meter: options.Meter = "unstated",
    lead: options.Lead = "",
    confidence: options.Confidence = 0.95,
    catalog: options.CatalogFile = None,
    draw: Annotated[
        Path | None,
        typer.Option(
            "--draw",
            help="Draw the chain into this file, as SVG.",
            rich_help_panel=options.ABOUT_OUTPUT,
        ),
    ] = None,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Find the broken link behind a track that does not play, record or erase.

    Keeps every suspect that fits what was seen, says what each test has cleared, and names
    the cheapest next test. Where nothing seen or measured is given, it asks plain questions,
    one at a time. Ends with 0 when nothing is broken or the case is closed, 1 when a link is
    named or undecided.
    """
    # Matrices here are small: threads of the library that multiplies them would only wait for
    # each other. It reads this when it is loaded.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from coilmeter.cli.chain_run import Evidence, Request, run_chain
    from coilmeter.cli.chain_setup import find_map, make_journal, make_maps

    if calc:
        _calculate(calc)
        return
    maps = make_maps(catalog)
    if how:
        from coilmeter.cli.chain_put import put_how

        put_how(maps, fault, how, out)
        return
    journal = make_journal(keep)
    if cases or weights:
        from coilmeter.cli.chain_put import Where, put_cases, put_weights

        if cases:
            put_cases(journal, Where(as_, out))
        else:
            put_weights(find_map(maps, fault), journal, Where(as_, out))
        return
    request = Request(
        fault=fault,
        track=track,
        working=working,
        failing=failing,
        case=case,
        close=tuple(close or ()),
        loose=loose,
        shipped_weights=shipped_weights,
        asking=not (saw or readings or impedance or close) if ask is None else ask,
    )
    evidence = Evidence(
        saw=tuple(saw or ()),
        cannot=tuple(cannot or ()),
        readings=tuple(readings or ()),
        volts=tuple(impedance or ()),
        references=tuple(reference or ()),
        at=at,
        coil=coil,
    )
    desk = run_chain(
        request,
        evidence,
        lambda: meant.make_settings(
            meant.make_catalog(catalog),
            kind=kind,
            band=band,
            meter=meter,
            lead=lead,
            temperature=temperature,
            confidence=confidence,
            leaking_below=leaking_below,
        ),
        maps,
        journal,
    )
    if desk is None:
        raise typer.Exit(1)
    if close:
        return
    from coilmeter.cli.chain_put import Where, put_diagnosis

    code = put_diagnosis(desk.diagnosis(), Where(as_, out, draw))
    raise typer.Exit(0 if desk.case is not None and desk.case.closed else code)


def _calculate(text: str) -> None:
    from coilmeter.cli.chain_calc import SHAPES, calculated
    from coilmeter.cli.results import columns_of, put_chunks
    from coilmeter.report.widths import WIDTH, sentence

    if text == "?":
        width = max(len(shape) for shape, _ in SHAPES)
        columns = columns_of(None) or WIDTH
        texts = [(f"{shape:<{width}}  ", what) for shape, what in SHAPES]
        indent = " " * (width + 2)
        lines = [sentence(what, columns, first=shape, then=indent) for shape, what in texts]
    else:
        lines = [sentence(line, columns_of(None)) for line in calculated(text)]
    put_chunks([f"{line}\n" for line in lines], None)
