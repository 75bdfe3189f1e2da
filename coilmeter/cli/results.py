"""Results to standard output or to a file, in the shape asked for."""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import IO, Final

from coilmeter.cli.options import Shape
from coilmeter.compute.settings import Settings
from coilmeter.errors import StoreError
from coilmeter.report.document import json_chunks
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
    if out is None:
        _print(chunks)
    else:
        _write(out, chunks)
    return worst.code


def standard_input() -> IO[bytes]:
    """Bytes of standard input; none where it is closed."""
    return io.BytesIO() if sys.stdin is None else sys.stdin.buffer


def _print(chunks: Iterable[str]) -> None:
    if sys.stdout is None:
        raise StoreError("standard output is closed", hint="give a file with --out.")
    try:
        sys.stdout.writelines(chunks)
        sys.stdout.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        raise StoreError(
            f"standard output cannot be written ({error.strerror or error})",
            hint="free some space, or give a file elsewhere with --out.",
        ) from error


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
    """Write a whole file or none: under another name first, then renamed.

    What is no plain file (a pipe, a device) is written as it stands.
    """
    try:
        path = path.resolve()
        if path.is_file() and is_readings_file(path):
            raise StoreError(
                f"{path}: there are readings in it, and results would take their place",
                hint="give another --out.",
            )
        if path.exists() and not path.is_file():
            with path.open("w", encoding="utf-8", errors="backslashreplace") as file:
                file.writelines(chunks)
            return
        half = path.parent / f".coilmeter-{os.getpid()}.part"
        with half.open("x", encoding="utf-8", errors="backslashreplace", newline="") as file:
            try:
                file.writelines(chunks)
                file.flush()
                half.replace(path)
            except BaseException:
                half.unlink(missing_ok=True)
                raise
    except OSError as error:
        raise StoreError(
            f"{path}: cannot be written ({error.strerror or error})",
            hint="nothing was changed there; give another --out.",
        ) from error
