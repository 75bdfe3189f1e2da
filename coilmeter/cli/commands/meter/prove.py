"""``coilmeter meter prove``: whether a meter is as accurate as it states."""

from __future__ import annotations

from typing import Annotated

import typer

from coilmeter.cli import meant, options


def command(
    meter: Annotated[
        str,
        typer.Option(
            "--meter",
            help="Meter whose stated accuracy is to be confirmed.",
            rich_help_panel=options.ABOUT_METER,
        ),
    ],
    resistor: Annotated[
        list[str] | None,
        typer.Option(
            "--resistor",
            help="A known resistor with its tolerance: '220 ohm 1%', '4k7 +/- 0.5 %', "
            "'220R F'; may be given again.",
            rich_help_panel=options.ABOUT_METER,
        ),
    ] = None,
    port: options.Port = "",
    form: options.FormatName = "",
    baud: options.Baud = None,
    dtr: options.Dtr = None,
    rts: options.Rts = None,
    wait: options.Wait = "",
    catalog: options.CatalogFile = None,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Prove a meter: shorted leads, open leads, known resistors. It takes two minutes.

    The accuracy that the meter states is confirmed, or refused with the figure that
    disagrees; where the resistors cannot tell, it is undecided, and says which could. What
    was found is kept, and check uses it. Ends with 0 when the meter is accepted, else
    with 1.
    """
    from functools import partial

    from coilmeter.cli.connection import chosen_connection
    from coilmeter.cli.proving import ProofJob, prove
    from coilmeter.cli.results import put_listing
    from coilmeter.report.proof_rows import proof_listing
    from coilmeter.units.tolerances import parse_with_tolerance
    from coilmeter.values.proofs import KnownResistor, Outcome
    from coilmeter.values.unproved import SUFFIX

    known = meant.make_catalog(catalog)
    model = known.meter(meter.removesuffix(SUFFIX))
    resistors = [
        KnownResistor(
            text.strip(), *meant.named("--resistor", partial(parse_with_tolerance, text))
        )
        for text in resistor or []
    ]
    wire = meant.make_format_at(form, port, baud) if port or form else None
    connection = chosen_connection(
        wire, port, baud=baud, dtr=dtr, rts=rts, wait=wait, four_wire=model.four_wire
    )
    proof = prove(ProofJob(model, tuple(resistors), connection))
    put_listing(proof_listing(proof), as_, out)
    raise typer.Exit(0 if proof.outcome is Outcome.ACCEPTED else 1)
