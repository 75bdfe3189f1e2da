"""``coilmeter spares show``: one head of the bin, with all that is known of it."""

from __future__ import annotations

import typer

from coilmeter.cli import bin_options, options


def command(
    head: bin_options.Head,
    store: bin_options.Store = "",
    catalog: options.CatalogFile = None,
    budget: options.Budget = False,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Show one head: its verdict under the present reference data, and what became of it.

    The newest reading of each coil and path counts, from whichever sitting. With --as html it
    is a condition report with what was noted and its photos. Ends with 0 when the head is
    sound and matched, 1 when something is faulty or undecided.
    """
    from coilmeter.cli.bin_showing import put_head

    rules = bin_options.usual_rules(catalog)
    with bin_options.bin_to_read(store) as shelf:
        code = put_head(shelf, head, rules, as_, out, parts=budget)
    raise typer.Exit(code)
