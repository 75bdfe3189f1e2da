"""What the commands do that write to the bin."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from coilmeter.cli.bin_keeping import UNNAMED
from coilmeter.cli.bin_options import bin_to_write
from coilmeter.cli.options import Shape
from coilmeter.cli.results import put_listing
from coilmeter.compute.judge import judge_rows
from coilmeter.compute.settings import UNSTATED, Settings
from coilmeter.errors import InputError, Mistake, MistakesError
from coilmeter.report.bin_tables import added_listing, status_listing
from coilmeter.spares.adding import Added, Batch, add
from coilmeter.spares.deciding import decide
from coilmeter.spares.reading import find_heads
from coilmeter.values import Purpose, ReadingRow
from coilmeter.values.bin import Status

NOTHING_ADDED = "nothing was added"


def give_status(
    store: str,
    names: Sequence[str],
    status: Status,
    reason: str,
    shape: Shape,
    out: Path | None,
) -> None:
    """Give heads a status, and list them.

    Raises
    ------
    InputError
        When a head is not there, or has that status; then none is changed.
    StoreError
        When the bin cannot be written.

    """
    if not reason.strip():
        raise InputError(
            "--why: saw nothing; nothing was changed",
            hint="give the reason in a few words: --why 'left deck, channel 2'.",
        )
    with bin_to_write(store) as shelf, shelf.write() as connection:
        found = find_heads(connection, names)
        decide(connection, found, status, reason)
    put_listing(status_listing(found, str(status), reason), shape, out)


def batches(
    rows: Sequence[ReadingRow],
    mistakes: Sequence[Mistake],
    settings: Settings,
    *,
    new_sitting: bool = False,
) -> list[Batch]:
    """Sort rows of readings files by head, each with all that its verdict rests on.

    What was said on the command line (meter, leads, temperature, kind) is written into the
    rows that do not say it: the bin judges them again where nobody says it.

    Raises
    ------
    MistakesError
        When the rows have mistakes, or cannot be judged.
    InputError
        When there is no reading of a head among them.

    """
    try:
        list(judge_rows(rows, settings, mistakes))
    except MistakesError as error:
        raise MistakesError(error.mistakes, undone=NOTHING_ADDED) from error
    nulls: dict[str, list[ReadingRow]] = {}
    groups: dict[tuple[str, str], list[ReadingRow]] = {}
    for row in rows:
        if row.head:
            groups.setdefault((row.path, row.head), []).append(row)
        else:
            nulls.setdefault(row.path, []).append(row)
    found = []
    for (path, head), of_head in groups.items():
        whole = [*nulls.get(path, []), *of_head]
        if all(row.purpose is Purpose.LEAD_NULL for row in whole):
            continue
        has_null = any(row.purpose is Purpose.LEAD_NULL for row in whole)
        kind = next((row.kind for row in of_head if row.kind), settings.kind)
        said = [_whole(row, settings, has_null=has_null) for row in whole]
        found.append(
            Batch(
                head,
                kind,
                said,
                path,
                settings.band,
                new_head=head == UNNAMED,
                new_sitting=new_sitting,
            )
        )
    if not found:
        raise InputError(
            "no reading of a head", hint="lead nulls alone are nothing to put into the bin."
        )
    return found


def add_batches(
    store: str, found: Sequence[Batch], shape: Shape, out: Path | None
) -> list[Added]:
    """Put batches into the bin in one transaction, and list what became of them.

    Raises
    ------
    InputError
        When a head cannot be told from others; then nothing was added.
    StoreError
        When the bin cannot be written.

    """
    with bin_to_write(store, create=True) as shelf, shelf.write() as connection:
        added = [add(connection, batch) for batch in found]
    put_listing(
        added_listing(
            [
                {
                    "id": each.head,
                    "code": each.code,
                    "name": each.name,
                    "new": each.is_new,
                    "again": each.again and each.rows > 0,
                    "added": each.rows,
                    "known": each.known,
                    "corrected": each.corrected,
                    "older": each.older,
                    "silent": each.silent,
                    "absent": each.absent,
                }
                for each in added
            ]
        ),
        shape,
        out,
    )
    return added


def _whole(row: ReadingRow, settings: Settings, *, has_null: bool) -> ReadingRow:
    return replace(
        row,
        meter=row.meter or ("" if settings.meter == UNSTATED else settings.meter),
        lead=row.lead or ("" if has_null else settings.lead),
        temperature=row.temperature or settings.temperature,
    )
