"""A map saved as a head kind of the user's own, and its readings made ready to be judged."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from coilmeter.catalog import Catalog
from coilmeter.catalog.own import add_entry
from coilmeter.compute.paths import required_paths
from coilmeter.compute.pinnet_roles import kind_of
from coilmeter.errors import InputError
from coilmeter.report.document import role_key
from coilmeter.report.pin_words import MappedHead
from coilmeter.units import Form
from coilmeter.values import CASE, HeadKind, Purpose, ReadingRow
from coilmeter.walks.pinning import AS_MAPPED, counted

LONGEST: Final = 40


def check_name(name: str, known: Catalog, *, replaced: bool) -> None:
    """Refuse a name for a kind before anything is measured.

    Raises
    ------
    InputError
        When it is no name, or there is a kind of that name and nobody said to replace it.

    """
    if not name.strip() or not name.isprintable() or len(name) > LONGEST:
        raise InputError(
            f"--save: saw {name[: LONGEST + 1]!r}",
            hint=f"a name has 1 to {LONGEST} characters in one line.",
        )
    if name in known.kinds and not replaced:
        raise InputError(
            f"--save: there is a head kind called {name!r} already",
            hint="choose another name, or say --replace: then yours counts.",
        )


def save(name: str, mapped: MappedHead, path: Path, *, replaced: bool) -> HeadKind:
    """Add a map to a reference file of the user's, as a head kind.

    Raises
    ------
    InputError
        When the map is not certain, has coils that cannot be told, or does not fit the file.
    StoreError
        When the file cannot be written; then it is as it was.

    """
    kind = made_kind(name, mapped)
    add_entry(path, "kinds", name, entry_of(kind), replace=replaced)
    return kind


def made_kind(name: str, mapped: MappedHead) -> HeadKind:
    """Make the kind of a map; raises `InputError` where none can be made."""
    found = mapped.found
    today = f"{datetime.now(UTC):%Y-%m-%d}"
    pins = f"{len(found.field.pins)} pins{' and the case' if found.field.case else ''}"
    unknown = any(each.band == "any" for each in mapped.proposals)
    basis = f"mapped from head {mapped.head} with coilmeter pins on {today}"
    return kind_of(
        name,
        found,
        mapped.proposals,
        f"{len(mapped.proposals)} coils, {pins}, as mapped",
        f"{basis}; roles and bands proposed from the resistances"
        + (", unknown where several fit" if unknown else ""),
    )


def entry_of(kind: HeadKind) -> dict[str, Any]:
    """Entry of a kind in a reference file."""
    return {
        "description": kind.description,
        "case": kind.case,
        "basis": kind.basis,
        "coils": [
            {
                "name": coil.name,
                "role": role_key(coil.role),
                "pins": list(coil.pins),
                "band": coil.band,
            }
            for coil in kind.coils
        ],
    }


def rows_as_mapped(rows: Sequence[ReadingRow], kind: HeadKind) -> Iterator[ReadingRow]:
    """Give readings once more, as of coils and paths of the kind, so that they are judged."""
    pairs: Mapping[frozenset[str], ReadingRow] = {
        frozenset(row.pins): row for row in counted(rows) if row.pins is not None
    }
    for coil in kind.coils:
        row = pairs.get(frozenset(coil.pins))
        if row is not None:
            yield _as(row, kind, Purpose.COIL, coil.name, "")
    pins = {coil.name: coil.pins for coil in kind.coils} | {CASE: (CASE,)}
    for side, other in required_paths(kind, [coil.name for coil in kind.coils]):
        read = [
            row
            for one in pins[side]
            for far in pins[other]
            if (row := pairs.get(frozenset((one, far)))) is not None
        ]
        if read:
            purpose = Purpose.COIL_TO_CASE if other == CASE else Purpose.COIL_TO_COIL
            yield _as(min(read, key=_lowest), kind, purpose, side, other)


def _lowest(row: ReadingRow) -> tuple[bool, float]:
    """Order readings of one path: a value before a bound, the lowest first."""
    bound = row.reading.form is not Form.NUMBER
    return (bound, row.reading.ohm or -(row.range_ohm or 0.0))


def _as(row: ReadingRow, kind: HeadKind, purpose: Purpose, coil: str, other: str) -> ReadingRow:
    pins = "-".join(row.pins or ())
    return replace(
        row,
        kind=kind.name,
        coil=coil,
        other=other,
        purpose=purpose,
        note=f"{AS_MAPPED} {pins}",
    )
