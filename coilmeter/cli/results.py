"""Results to standard output or to a file, in the shape asked for."""

from __future__ import annotations

import io
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import IO, Final

from coilmeter.cli.logging_files import StandardOutput, WholeFile
from coilmeter.cli.options import Shape
from coilmeter.compute.settings import Settings
from coilmeter.errors import StoreError
from coilmeter.report.document import json_chunks
from coilmeter.report.listing import Listing, listing_csv, listing_json, listing_text
from coilmeter.report.tables import csv_chunks, text_chunks
from coilmeter.sources.sheet import is_readings_file
from coilmeter.values import Grade, HeadResult

ALL_SOUND: Final = 0
SOMETHING: Final = 1


def put_out(
    heads: Iterable[HeadResult],
    settings: Settings,
    shape: Shape,
    out: Path | None,
    *,
    parts: bool,
) -> int:
    """Write the results and return the exit code: 0 when every head is matched, else 1.

    Raises
    ------
    StoreError
        When the file cannot be written; then an older file of that name is untouched.

    """
    worst = _Worst()
    watched = worst.watch(heads)
    if shape is Shape.JSON:
        meter = settings.meters[settings.meter]
        chunks = json_chunks(watched, meter, settings.confidence, parts=parts)
    elif shape is Shape.CSV:
        chunks = csv_chunks(watched, parts=parts)
    else:
        chunks = text_chunks(watched, markdown=shape is Shape.MARKDOWN, parts=parts)
    put_chunks(chunks, out)
    return worst.code


def put_listing(listing: Listing, shape: Shape, out: Path | None) -> None:
    """Write a list in the shape asked for.

    Raises
    ------
    StoreError
        When the file cannot be written; then an older file of that name is untouched.

    """
    if shape is Shape.JSON:
        text = listing_json(listing)
    elif shape is Shape.CSV:
        text = listing_csv(listing)
    else:
        text = listing_text(listing, markdown=shape is Shape.MARKDOWN)
    put_chunks([text], out)


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
