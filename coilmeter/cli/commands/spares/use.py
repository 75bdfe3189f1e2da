"""``coilmeter spares use``: heads become used, with the reason."""

from __future__ import annotations

from coilmeter.cli import bin_options, options


def command(
    heads: bin_options.Heads,
    why: bin_options.Why = "",
    store: bin_options.Store = "",
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Take heads out of the bin for use.

    They stay on record, and are no longer offered. 'restore' brings them back.
    """
    from coilmeter.cli.bin_writing import give_status
    from coilmeter.values.bin import Status

    give_status(store, heads, Status.USED, why, as_, out)
