"""``coilmeter meter ports``: what is plugged in."""

from __future__ import annotations

import typer

from coilmeter.cli import options


def command(
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """List the serial ports of this computer, and whether they may be opened.

    Ends with 0 where there is one that may be opened, else with 3.
    """
    from coilmeter.cli.results import put_listing
    from coilmeter.report.meter_rows import PortLine, ports_listing
    from coilmeter.sources.port_errors import described_ports

    ports = [PortLine(*each) for each in described_ports()]
    put_listing(ports_listing(ports), as_, out)
    raise typer.Exit(0 if any(port.may_open for port in ports) else 3)
