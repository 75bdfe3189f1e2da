"""What the options of ``pins`` mean together, and a map made from a readings file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from coilmeter.catalog import Catalog
from coilmeter.cli.pinning import pairs_of
from coilmeter.cli.pinning_field import described_field, field_of, field_of_kind, pair_of
from coilmeter.cli.pinning_run import Outcome, Say, map_rows
from coilmeter.cli.results import standard_input
from coilmeter.compute.pinnet_readings import pins_of
from coilmeter.compute.pinplan_kind import Expected, unknown_points
from coilmeter.compute.pinplan_prior import Prior
from coilmeter.compute.settings import Settings
from coilmeter.errors import InputError, MistakesError
from coilmeter.sources.sheet import read_sheets, rows_of
from coilmeter.sources.sheet_row import head_of_file
from coilmeter.values import CASE, ReadingRow
from coilmeter.values.pinmaps import PinField
from coilmeter.walks.pinning import counted


def chosen_prior(text: str) -> Prior:
    """Prior of that name; raises `InputError` where there is none."""
    if text not in {*Prior}:
        raise InputError(f"--prior: saw {text!r}, expected one of {', '.join(Prior)}")
    return Prior(text)


def field_for(
    pins: str, rows: str, layout: str, expected: Expected | None, *, case: bool | None
) -> PinField:
    """Field that options describe, or that of the kind the head is said to be of.

    Raises
    ------
    InputError
        When nothing describes it, or the kind has pins that it has not.

    """
    if expected is None:
        return described_field(pins, rows, layout, case=case is not False)
    if not (pins or layout):
        of_kind = field_of_kind(expected.kind)
        return of_kind if case is None else PinField(of_kind.rows, case)
    field = described_field(
        pins, rows, layout, case=expected.kind.case if case is None else case
    )
    missing = unknown_points(expected, field.points)
    if missing:
        raise InputError(
            f"--kind {expected.kind.name} has {', '.join(missing)}, and the field has not",
            hint="name the pins as the kind does, or leave --pins and --layout out.",
        )
    return field


def say_of(bands: Sequence[str], broken: Sequence[str], field: PinField, known: Catalog) -> Say:
    """Understand what is said of the coils.

    Raises
    ------
    CoilmeterError
        For a band nobody defined, or two pins that are not there.

    """
    chosen: dict[str, str] = {}
    for text in bands:
        coil, equals, name = text.rpartition("=")
        chosen[coil.strip() if equals else ""] = known.band(name.strip()).name
    return Say(chosen, tuple(pair_of(text, "--open", field) for text in broken))


def map_file(
    name: str,
    head: str,
    described: tuple[str, str, str],
    known: Catalog,
    settings: Settings,
    said: tuple[Sequence[str], Sequence[str]],
    expected: Expected | None,
    outcome: Outcome,
    *,
    case: bool | None,
) -> int:
    """Map one head from a readings file; the exit code comes back.

    Raises
    ------
    InputError
        When the file cannot be read, has mistakes, or holds several heads and none is named.

    """
    rows, mistakes = rows_of(read_sheets([name], standard_input()))
    of_head = _of_one_head(rows, head, name)
    if not pins_of(counted(of_head)):
        if mistakes:
            raise MistakesError(mistakes, undone="nothing was mapped")
        raise InputError(
            f"{name}: no reading of two pins", hint="name the pins of each: '1-2', '7-case'."
        )
    pins, in_rows, layout = described
    with_case = any(CASE in (row.pins or ()) for row in of_head) if case is None else case
    if pins or layout:
        field = field_for(pins, in_rows, layout, expected, case=with_case or case is None)
    else:
        field = _named_field(of_head, in_rows, expected, case=with_case)
    told = say_of(*said, field, known)
    pairs = pairs_of(of_head, settings, field, mistakes)
    return map_rows(_name(of_head), pairs, of_head, known, settings, told, expected, outcome)


def _of_one_head(rows: Sequence[ReadingRow], head: str, name: str) -> list[ReadingRow]:
    """Rows of the head that is named, or of the only one.

    A list that names no head is called after its file, unless a name is given here.
    """
    heads = list(dict.fromkeys(row.head for row in rows if row.head))
    if head and heads == [head_of_file(rows[0].path)]:
        return [replace(row, head=head) for row in rows]
    if head and head not in heads:
        raise InputError(
            f"{name}: there is no head {head!r} in it",
            hint=f"its heads are {', '.join(heads[:12]) or '(none)'}.",
        )
    if not head and len(heads) > 1:
        raise InputError(
            f"{name}: {len(heads)} heads are in it, and one is mapped at a time",
            hint=f"give --head with one of: {', '.join(heads[:12])}.",
        )
    wanted = head or (heads[0] if heads else "")
    return [row for row in rows if row.head in {wanted, ""}]


def _name(rows: Sequence[ReadingRow]) -> str:
    return next((row.head for row in rows if row.head), "head")


def _named_field(
    rows: Sequence[ReadingRow], in_rows: str, expected: Expected | None, *, case: bool
) -> PinField:
    """Field of the pins that rows name, and of those of the kind."""
    names = list(pins_of(counted(rows)))
    if expected is not None:
        if {*names} <= {*expected.points} and not in_rows:
            return field_of_kind(expected.kind)
        names = list(dict.fromkeys([*expected.points, *names]))
        names = [name for name in names if name != CASE]
        case = case or expected.kind.case
    return field_of(names, in_rows, case=case)
