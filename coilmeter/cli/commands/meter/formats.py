"""``coilmeter meter formats``: what meters send, as far as this program can read it."""

from __future__ import annotations

from coilmeter.cli import options


def command(
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """List the wire formats: settings, who starts, what a frame carries and what not.

    CSV and JSON say all of it: flags, look-alikes, what is asked.
    """
    from coilmeter.cli.results import put_listing
    from coilmeter.report.meter_rows import formats_listing
    from coilmeter.wire import formats

    put_listing(formats_listing([*formats().values()]), as_, out)
