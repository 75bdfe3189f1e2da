"""Results to standard output or to a file, in the shape asked for."""

from __future__ import annotations

import io
import shutil
import sys
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import IO, TYPE_CHECKING, Final

from coilmeter.cli.logging_files import StandardOutput, WholeFile
from coilmeter.cli.options import Shape
from coilmeter.compute.settings import Settings
from coilmeter.errors import InputError, StoreError
from coilmeter.report.document import json_chunks
from coilmeter.report.tables import csv_chunks, text_chunks
from coilmeter.sources.sheet import is_readings_file
from coilmeter.values import Grade, HeadResult, Purpose, ReadingRow

if TYPE_CHECKING:
    from coilmeter.report.listing import Listing

ALL_SOUND: Final = 0
SOMETHING: Final = 1


def put_out(
    heads: Iterable[HeadResult],
    settings: Settings,
    shape: Shape,
    out: Path | None,
    *,
    parts: bool,
    rows: Sequence[ReadingRow] = (),
    proof: str = "",
) -> int:
    """Write the results and return the exit code: 0 when every head is matched, else 1.

    A page of HTML says of the readings, `rows`, when and how they were taken; it and JSON
    say what is known of the proof of the meter, `proof`.

    Raises
    ------
    StoreError
        When the file cannot be written; then an older file of that name is untouched.

    """
    worst = _Worst()
    watched = worst.watch(heads)
    if shape is Shape.JSON:
        meter = settings.meters[settings.meter]
        chunks = json_chunks(watched, meter, settings.confidence, parts=parts, proof=proof)
    elif shape is Shape.CSV:
        chunks = csv_chunks(watched, parts=parts)
    elif shape is Shape.HTML:
        chunks = _page(watched, settings, rows, proof)
    else:
        markdown = shape is Shape.MARKDOWN
        chunks = text_chunks(watched, markdown=markdown, parts=parts, columns=columns_of(out))
    put_chunks(chunks, out)
    return worst.code


def judged_files(
    files: Sequence[str], settings: Settings
) -> tuple[list[ReadingRow], list[HeadResult]]:
    """Read readings files and judge the heads in them; nothing where there is no file.

    Raises
    ------
    InputError
        When a file cannot be read, has mistakes, or holds no head.

    """
    if not files:
        return [], []
    from coilmeter.compute.judge import judge_rows
    from coilmeter.sources.sheet import read_sheets, rows_of

    rows, mistakes = rows_of(read_sheets(list(files), standard_input()))
    heads = judge_rows(rows, settings, mistakes)
    if all(row.purpose in {Purpose.LEAD_NULL, Purpose.FREE} and not row.flex for row in rows):
        raise InputError(
            f"{', '.join(files)}: no reading of a coil or of an isolation path",
            hint="lead nulls and free readings alone are nothing to judge.",
        )
    return rows, list(heads)


def put_listing(listing: Listing, shape: Shape, out: Path | None) -> None:
    """Write a list in the shape asked for.

    Raises
    ------
    StoreError
        When the file cannot be written; then an older file of that name is untouched.

    """
    from coilmeter.report.listing import (
        listing_csv,
        listing_json,
        listing_page,
        listing_text,
    )

    if shape is Shape.JSON:
        text = listing_json(listing)
    elif shape is Shape.CSV:
        text = listing_csv(listing)
    elif shape is Shape.HTML:
        text = listing_page(listing)
    else:
        markdown = shape is Shape.MARKDOWN
        text = listing_text(listing, markdown=markdown, columns=columns_of(out))
    put_chunks([text], out)


def columns_of(out: Path | None) -> int | None:
    """Columns of the terminal that results go to; None where they go to a file or a pipe."""
    if out is not None or sys.stdout is None or not sys.stdout.isatty():
        return None
    return shutil.get_terminal_size().columns


def put_chunks(chunks: Iterable[str], out: Path | None) -> None:
    """Write pieces of a text to standard output, or whole or not at all to a file.

    Raises
    ------
    StoreError
        When the file cannot be written; then an older file of that name is untouched.

    """
    if out is not None:
        _write(out, chunks)
        return
    output = StandardOutput()
    for chunk in chunks:
        output.write(chunk)
    output.flush()


def _page(
    heads: Iterable[HeadResult], settings: Settings, rows: Sequence[ReadingRow], proof: str
) -> Iterator[str]:
    from coilmeter.cli.reporting import drawings_of, rows_by_head
    from coilmeter.report.page import HeadPage, page

    by_head = rows_by_head(rows)
    pages = [
        HeadPage(
            head,
            by_head.get(head.head, []),
            settings.kinds.get(head.kind),
            figures=drawings_of(head),
            proof=proof,
        )
        for head in heads
    ]
    yield page(pages, settings)


def standard_input() -> IO[bytes]:
    """Bytes of standard input; none where it is closed."""
    return io.BytesIO() if sys.stdin is None else sys.stdin.buffer


class _Worst:
    """Remembers, while results stream by, whether anything was not sound."""

    def __init__(self) -> None:
        self.code = ALL_SOUND

    def watch(self, heads: Iterable[HeadResult]) -> Iterator[HeadResult]:
        for head in heads:
            if head.grade is not Grade.MATCHED:
                self.code = SOMETHING
            yield head


def _write(path: Path, chunks: Iterable[str]) -> None:
    """Write a whole file or none, and never over readings."""
    try:
        holds_readings = path.is_file() and is_readings_file(path)
    except OSError as error:
        raise StoreError(
            f"{path}: cannot be written ({error.strerror or error})",
            hint="nothing was changed there; give another --out.",
        ) from error
    if holds_readings:
        raise StoreError(
            f"{path}: there are readings in it, and results would take their place",
            hint="give another --out.",
        )
    with WholeFile(path) as file:
        for chunk in chunks:
            file.write(chunk)
