"""``coilmeter demo``: the whole main job on a simulated meter, with real bytes."""

from __future__ import annotations

import typer

from coilmeter.cli import meant, options


def command(
    budget: options.Budget = False,
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """Show the whole main job on a simulated meter.

    The meter is proved with a known resistor, then an invented head is measured by the real
    check: bytes of a meter format over a loopback socket, contact bounce and all, then judged.
    Nothing on this machine is touched.
    """
    from coilmeter.cli.demonstration import STORY, demo_settings, run_demo
    from coilmeter.cli.results import put_out
    from coilmeter.cli.typed import say

    settings = demo_settings(meant.make_catalog(None))
    say(STORY)
    proof: list[str] = []

    def told(story: str) -> None:
        say(story)
        proof.append(story)

    results = run_demo(settings, told=told)
    say("")
    put_out(results, settings, as_, out, parts=budget, proof=" ".join(proof))
    raise typer.Exit(0)
