"""``coilmeter simulate``: a simulated meter by itself, to practise and to test with."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from coilmeter.cli import meant, options

_ABOUT_PORT = "About the port"
_ABOUT_RUN = "What happens"


def command(
    form: options.FormatName = "",
    meter: Annotated[
        str,
        typer.Option(
            "--meter",
            help="Meter to simulate; without it one whose ranges the format carries.",
            rich_help_panel=options.ABOUT_METER,
        ),
    ] = "",
    rate: Annotated[
        float,
        typer.Option(
            "--rate",
            min=0.2,
            max=50.0,
            help="Readings a second.",
            rich_help_panel=options.ABOUT_METER,
        ),
    ] = 10.0,
    asleep: Annotated[
        bool,
        typer.Option(
            "--asleep",
            help="Silent until it is switched on: by the wake byte of its format, or 'wake'.",
            rich_help_panel=options.ABOUT_METER,
        ),
    ] = False,
    kind: Annotated[
        str,
        typer.Option(
            "--kind",
            help="Kind of head to put on the bench, sound.",
            rich_help_panel=options.ABOUT_HEAD,
        ),
    ] = "",
    head: Annotated[
        Path | None,
        typer.Option(
            "--head",
            help="TOML file that describes the head on the bench.",
            rich_help_panel=options.ABOUT_HEAD,
        ),
    ] = None,
    fault: Annotated[
        list[str] | None,
        typer.Option(
            "--fault",
            help="A line as it could be typed, done at the start: 'open coil 2'; may be "
            "given again.",
            rich_help_panel=_ABOUT_RUN,
        ),
    ] = None,
    script: Annotated[
        Path | None,
        typer.Option(
            "--script",
            help="File of lines as they could be typed, with 'wait SECONDS' between them.",
            rich_help_panel=_ABOUT_RUN,
        ),
    ] = None,
    walk: Annotated[
        bool,
        typer.Option(
            "--walk",
            help="Hands that walk over the whole head each time the port is opened.",
            rich_help_panel=_ABOUT_RUN,
        ),
    ] = False,
    seed: Annotated[
        int,
        typer.Option(
            "--seed",
            min=0,
            help="Of all that is random: noise, bounce, loose joints, damage.",
            rich_help_panel=_ABOUT_RUN,
        ),
    ] = 0,
    pty: Annotated[
        bool | None,
        typer.Option(
            "--pty/--socket",
            help="A pseudo-terminal, or a loopback socket. [default: the first where the "
            "system has it]",
            rich_help_panel=_ABOUT_PORT,
            show_default=False,
        ),
    ] = None,
    port: Annotated[
        int | None,
        typer.Option(
            "--port",
            min=1,
            max=65535,
            help="Number of the socket. [default: a free one]",
            rich_help_panel=_ABOUT_PORT,
            show_default=False,
        ),
    ] = None,
    link: Annotated[
        Path | None,
        typer.Option(
            "--link",
            help="Name for the pseudo-terminal that stays the same.",
            rich_help_panel=_ABOUT_PORT,
        ),
    ] = None,
    catalog: options.CatalogFile = None,
) -> None:
    """Simulate a meter at a head, for practice and for tests, until Ctrl-C.

    What to open stands alone on the output; open it in another terminal with any command
    that takes --port. Meanwhile lines typed here move the clips and switch faults: clip 1 2,
    open coil 2, hold on, unplug; help lists them. Ends with 0 after quit.
    """
    from coilmeter.cli.simulating import choose_outlet, run_simulation
    from coilmeter.cli.simulating_script import read_script
    from coilmeter.cli.simulating_start import make_station, orders
    from coilmeter.cli.typed import say

    wire = meant.make_format(form)
    known = meant.make_catalog(catalog)
    station, its_kind = make_station(
        known,
        wire,
        meter=meter,
        kind=kind,
        head=head,
        outlet=choose_outlet(pty=pty, port=port, link=link),
        rate_hz=rate,
        asleep=asleep,
        seed=seed,
        tell=lambda text: say(f"  {text}"),
    )
    run_simulation(
        station,
        first=orders(station, fault or (), walk=walk),
        script=() if script is None else read_script(script, station),
        walk=walk,
        kind=its_kind,
    )
