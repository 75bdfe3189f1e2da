"""``coilmeter spares scrap``: heads become scrapped, with the reason."""

from __future__ import annotations

from coilmeter.cli import bin_options, options


def command(
    heads: bin_options.Heads,
    why: bin_options.Why = "",
    store: bin_options.Store = "",
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Give heads up for good.

    They stay on record, with all that was measured, and are no longer offered.
    """
    from coilmeter.cli.bin_writing import give_status
    from coilmeter.values.bin import Status

    give_status(store, heads, Status.SCRAPPED, why, as_, out)
