"""The chain of a case, drawn for the report of the head that was suspected in it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from coilmeter.cli.chain_desk import Desk, weighted
from coilmeter.cli.chain_setup import find_map, make_journal, make_maps
from coilmeter.compute.chain_model import Model
from coilmeter.errors import InputError, UnknownNameError
from coilmeter.report.chain_page import chain_picture
from coilmeter.report.page import ChainPicture


def picture_of_case(
    name: str, keep: Path | None, catalog: Sequence[Path] | None, heads: int
) -> ChainPicture | None:
    """Draw the chain of a case as it stands now; None where none is named.

    Parameters
    ----------
    name
        Name of the case.
    keep
        File of the cases; None for the usual one.
    catalog
        Further files with maps.
    heads
        How many heads the report is of.

    Raises
    ------
    InputError
        When there is no such case or map, or the report is of several heads.
    StoreError
        When the cases cannot be read.

    """
    if not name:
        return None
    if heads != 1:
        raise InputError(
            f"--case {name}: one case, with {heads} heads",
            hint="write the report of one head at a time.",
        )
    journal = make_journal(keep)
    case = journal.cases.get(name)
    if case is None:
        raise UnknownNameError("case", name, list(journal.cases))
    chain = weighted(find_map(make_maps(catalog), case.fault), journal, shipped=False)
    desk = Desk(Model(chain), case.track, journal, case)
    return chain_picture(desk.diagnosis(), case)
