"""One head of the bin, shown with its verdict and all that became of it."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from pathlib import Path

from coilmeter.cli.bin_reporting import judged_record, page_of
from coilmeter.cli.options import Shape
from coilmeter.cli.results import ALL_SOUND, SOMETHING, columns_of, put_chunks
from coilmeter.report.bin_record import record_document, record_lines
from coilmeter.report.document import SCHEMA, head_document
from coilmeter.report.safe import escaped, harmless
from coilmeter.report.tables import csv_chunks, text_chunks
from coilmeter.report.widths import sentence
from coilmeter.spares.judging import Judged
from coilmeter.spares.reading import find_head, records_of
from coilmeter.spares.rules import Rules
from coilmeter.spares.store import Bin
from coilmeter.values import Grade, HeadResult
from coilmeter.values.bin import HeadRecord


def put_head(
    shelf: Bin, name: str, rules: Rules, shape: Shape, out: Path | None, *, parts: bool
) -> int:
    """Show a head; the exit code comes back: 0 when it is matched, else 1.

    Raises
    ------
    InputError
        When there is no such head, or there are several.
    StoreError
        When the bin cannot be read, or the results cannot be written.

    """
    with shelf.read() as connection:
        record = next(records_of(connection, [find_head(connection, name).id]))
    judged = judged_record(record, rules)
    if shape is Shape.JSON:
        text = json.dumps(_document(record, judged, parts=parts), indent=1, allow_nan=False)
        chunks: Iterator[str] = iter([text + "\n"])
    elif shape is Shape.CSV:
        chunks = csv_chunks(_results(judged), parts=parts)
    elif shape is Shape.HTML and judged.result is not None:
        chunks = iter([page_of(shelf, [(record, judged.result)], rules.settings)])
    else:
        markdown = shape is Shape.MARKDOWN
        columns = columns_of(out)
        chunks = _text(record, judged, markdown=markdown, parts=parts, columns=columns)
    put_chunks(chunks, out)
    matched = judged.result is not None and judged.result.grade is Grade.MATCHED
    return ALL_SOUND if matched else SOMETHING


def _results(judged: Judged) -> Sequence[HeadResult]:
    return [] if judged.result is None else [judged.result]


def _document(record: HeadRecord, judged: Judged, *, parts: bool) -> dict[str, object]:
    result = judged.result
    return {
        "schema": SCHEMA,
        "record": record_document(record),
        "not_judged": judged.why or None,
        "heads": [] if result is None else [head_document(result, parts=parts)],
    }


def _text(
    record: HeadRecord, judged: Judged, *, markdown: bool, parts: bool, columns: int | None
) -> Iterator[str]:
    yield from text_chunks(_results(judged), markdown=markdown, parts=parts, columns=columns)
    safe = escaped if markdown else harmless
    if judged.result is None:
        yield f"NOT JUDGED: {safe(judged.why)}\n"
    yield "\n" + ("## Record\n\n" if markdown else "Record:\n")
    mark = "- " if markdown else "  - "
    for line in record_lines(record):
        fits = markdown or columns is None
        said = (
            f"{mark}{safe(line)}" if fits else sentence(line, columns, first=mark, then="    ")
        )
        yield f"{said}\n"
