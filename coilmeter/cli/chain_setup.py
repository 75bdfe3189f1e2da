"""What every run of ``coilmeter chain`` begins with: the chains, and the cases."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final

from coilmeter.cli.folders import data_folder, own_catalog_files
from coilmeter.cli.saying import say
from coilmeter.errors import InputError, UnknownNameError
from coilmeter.sources.chain_cases import Journal
from coilmeter.values.chains import ChainMap

CASES: Final = "cases.jsonl"


def make_maps(files: Sequence[Path] | None) -> dict[str, ChainMap]:
    """Read the shipped chains, the user's own in the usual place, and `files`.

    Raises
    ------
    InputError
        When one of them cannot be used.

    """
    from coilmeter.catalog.chain_maps import load_chains

    return load_chains([*own_catalog_files(), *(files or [])])


def make_journal(keep: Path | None) -> Journal:
    """Read the journal of cases, and say what in it could not be understood.

    Raises
    ------
    StoreError
        When it cannot be read.

    """
    journal = Journal(keep if keep is not None else data_folder() / CASES)
    for trouble in journal.troubles:
        say(f"! {trouble}")
    return journal


def find_map(maps: Mapping[str, ChainMap], fault: str) -> ChainMap:
    """Give the map of a fault.

    Raises
    ------
    InputError
        When none is named, or there is none of that name.

    """
    if not fault:
        raise InputError("which fault is it?", hint=f"--fault {', or '.join(maps)}.")
    if fault not in maps:
        raise UnknownNameError("fault", fault, list(maps))
    return maps[fault]
