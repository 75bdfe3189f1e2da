"""``coilmeter spares restore``: heads become available, with the reason."""

from __future__ import annotations

from coilmeter.cli import bin_options, options


def command(
    heads: bin_options.Heads,
    why: bin_options.Why = "",
    store: bin_options.Store = "",
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Have heads available again that were used or scrapped.

    Where two benches decided differently about a head, this settles it, as use and scrap do.
    """
    from coilmeter.cli.bin_writing import give_status
    from coilmeter.values.bin import Status

    give_status(store, heads, Status.AVAILABLE, why, as_, out)
