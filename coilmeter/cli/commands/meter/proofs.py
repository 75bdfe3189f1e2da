"""``coilmeter meter proofs``: what was found when meters were proved."""

from __future__ import annotations

from coilmeter.cli import options


def command(
    as_: options.As = options.Shape.TABLE,
    out: options.Out = None,
) -> None:
    """List the proofs that are kept here, the oldest first."""
    from coilmeter.cli.folders import data_folder
    from coilmeter.cli.results import put_listing
    from coilmeter.report.proof_rows import proofs_listing
    from coilmeter.sources.proofs import read_proofs

    put_listing(proofs_listing(*read_proofs(data_folder() / "proofs")), as_, out)
