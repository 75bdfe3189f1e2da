"""Files of AC volts into the bin: what was read, and the inductance that follows."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from coilmeter.compute.impedance_heads import measured_heads
from coilmeter.compute.settings import Settings
from coilmeter.compute.turns_group import Limits
from coilmeter.errors import InputError, MistakesError
from coilmeter.report.bin_record import inductances_listing
from coilmeter.report.listing import Listing
from coilmeter.sources.impedance_sheet import parse_volts
from coilmeter.spares.judging import judge_heads
from coilmeter.spares.noting import keep_impedance
from coilmeter.spares.reading import find_head, records_of
from coilmeter.spares.records import in_utc
from coilmeter.spares.store import Transaction
from coilmeter.values.bin import HeadRecord, ImpedanceOf
from coilmeter.values.impedance_rows import ImpedanceRow
from coilmeter.values.impedances import HeadImpedance

SCHEMA: Final = "coilmeter-ac-volts/1"
"""What the document of an impedance is: the file it came from, whole."""


def keep_impedances(
    connection: Transaction, name: str, files: Sequence[Path], settings: Settings
) -> tuple[Listing, bool]:
    """Add what files of AC volts say of a head; list it, and tell whether all could be used.

    Raises
    ------
    InputError
        When the head is not there, or a file is none, has mistakes, or is of several heads.

    """
    record = next(records_of(connection, [find_head(connection, name).id]))
    known = {_same(each) for each in record.impedances}
    found: list[ImpedanceOf] = []
    notes: dict[str, None] = {}
    refused = False
    for path in files:
        impedances, of_file = _impedances(path, record, settings)
        found += impedances
        notes |= dict.fromkeys(note for head in of_file for note in head.notes)
        refused |= any(head.refused for head in of_file)
    fresh = [each for each in found if _same(each) not in known]
    for each in fresh:
        keep_impedance(connection, record.head, each)
    known_already = len(found) - len(fresh)
    return inductances_listing(record.head, fresh, known_already, list(notes)), not refused


def _impedances(
    path: Path, record: HeadRecord, settings: Settings
) -> tuple[list[ImpedanceOf], list[HeadImpedance]]:
    """Inductance of each coil at each frequency of a file, and what it comes from."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise InputError(
            f"{path}: cannot be read ({error.strerror or error})",
            hint="check the name; a file of AC volts is CSV text.",
        ) from error
    sheet = parse_volts(data, str(path))
    names = sorted({row.head for row in sheet.rows if row.named})
    if len(names) > 1:
        raise InputError(
            f"{path}: is of {len(names)} heads: {', '.join(map(repr, names))}",
            hint="give the files of one head.",
        )
    kind, called = record.head.kind, record.head.name or record.head.code
    rows = [replace(row, head=called, kind=kind, named=True) for row in sheet.rows]
    (judged,) = judge_heads([(record.head, record.sittings)], settings)
    from_ohms = [] if judged.result is None else [replace(judged.result, head=called)]
    try:
        heads = measured_heads(rows, settings, Limits(), sheet.mistakes, from_ohms)
    except MistakesError as error:
        raise MistakesError(error.mistakes, undone="nothing was added") from error
    text = data.decode("utf-8-sig")
    said = {"meter": settings.meter, "temperature": settings.temperature}
    document = json.dumps({"schema": SCHEMA, "file": path.name, "text": text, **said})
    made = [
        ImpedanceOf(
            id="",
            coil=coil,
            time=_time(rows, coil),
            frequency_hz=point.impedance.frequency_hz,
            inductance_henry=point.figures.l.value,
            u_henry=point.figures.l.u,
            document=document,
        )
        for head in heads
        for coil, tones in head.coils.items()
        for point in tones.points
    ]
    return made, list(heads)


def _time(rows: Sequence[ImpedanceRow], coil: str) -> str:
    """When the coil was measured; empty where the file does not say."""
    return max((in_utc(row.time) for row in rows if row.coil == coil), default="")


def rows_of_document(document: str) -> list[ImpedanceRow]:
    """Rows of AC volts that the document of an impedance holds.

    What was said beside the file when it was added, its meter and temperature, stands in the
    rows that do not say it themselves.  A document of before that was kept says neither.

    Raises
    ------
    InputError
        When it is none, such as one that another program wrote, or has mistakes.

    """
    said = _document(document)
    sheet = parse_volts(said["text"].encode(), said["file"] or "AC volts")
    if sheet.mistakes:
        raise MistakesError(sheet.mistakes)
    return [
        replace(
            row,
            meter=row.meter or said["meter"],
            temperature=row.temperature or said["temperature"],
        )
        for row in sheet.rows
    ]


def _document(text: str) -> dict[str, str]:
    """Fields of a document, all of them texts; raises `InputError` where it is none."""
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        found = None
    if not isinstance(found, dict) or found.get("schema") != SCHEMA:
        raise InputError(
            "their document is no file of AC volts that this program kept",
            hint="add the file again with 'spares impedance'.",
        )
    return {name: str(found.get(name, "")) for name in ("file", "text", "meter", "temperature")}


def _same(each: ImpedanceOf) -> tuple[object, ...]:
    """Tell a file again from another: by what stands in it, whatever was said beside it."""
    try:
        text = _document(each.document)["text"]
    except InputError:
        text = each.document
    return (each.coil, each.frequency_hz, text)
