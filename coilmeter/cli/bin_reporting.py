"""Condition reports and labels of heads of the bin, from all that is kept of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from coilmeter.cli.bin_matching import head_history
from coilmeter.cli.proofs import ranges_text
from coilmeter.cli.reporting import drawings_of, put_labels
from coilmeter.cli.results import ALL_SOUND, SOMETHING, put_chunks
from coilmeter.compute.proof_notes import proof_lines
from coilmeter.compute.settings import Settings
from coilmeter.errors import InputError
from coilmeter.report.bin_matches import changes_listing
from coilmeter.report.bin_record import record_lines
from coilmeter.report.bin_tables import code
from coilmeter.report.label import Labelled
from coilmeter.report.page import ChainPicture, HeadPage, page
from coilmeter.report.photos import Photo, load_photo
from coilmeter.sources.proofs import parse_proof
from coilmeter.spares.judging import Judged, judge_heads, rows_that_count
from coilmeter.spares.noting import about, whole_photo
from coilmeter.spares.reading import find_heads, records_of
from coilmeter.spares.rules import Rules
from coilmeter.spares.store import Bin
from coilmeter.spares.volts import with_kept_volts
from coilmeter.units import format_ohm
from coilmeter.values import Grade, HeadResult, ReadingRow
from coilmeter.values.bin import HeadRecord

Reported = tuple[HeadRecord, HeadResult]


def judged_record(record: HeadRecord, rules: Rules) -> Judged:
    """Verdict on a head from all that is kept of it, AC volts included."""
    (judged,) = judge_heads([(record.head, record.sittings)], rules.settings)
    return with_kept_volts(judged, record.impedances, rules)


def standing_rows(record: HeadRecord, settings: Settings) -> list[ReadingRow]:
    """Rows that a verdict on the head rests on, under the name that it is shown by."""
    rows = rows_that_count(record.head, record.sittings, settings)
    return [replace(row, head=_called(record)) for row in rows]


def reported(shelf: Bin, names: Sequence[str], rules: Rules) -> list[Reported]:
    """Find heads by what a person calls them, with their verdicts, each once.

    Raises
    ------
    InputError
        When one is not there, there are several of its name, or it cannot be judged.

    """
    with shelf.read() as connection:
        wanted = [head.id for head in find_heads(connection, names)]
        records = list(records_of(connection, wanted))
    found: list[Reported] = []
    for record in records:
        judged = judged_record(record, rules)
        if judged.result is None:
            raise InputError(
                f"{_called(record)} cannot be judged, so there is nothing to report: "
                f"{judged.why}",
                hint="'spares show' tells what is kept of it.",
            )
        found.append((record, judged.result))
    return found


def put_reports(
    shelf: Bin,
    heads: Sequence[Reported],
    rules: Rules,
    chain: ChainPicture | None,
    out: Path | None,
) -> int:
    """Write the page of heads, a sheet each; 0 when every head is matched, else 1.

    `chain` is the drawing of the case that one of them was suspected in.

    Raises
    ------
    StoreError
        When it cannot be written; then an older file of that name is untouched.

    """
    put_chunks([page_of(shelf, heads, rules.settings, chain)], out)
    matched = all(result.grade is Grade.MATCHED for _, result in heads)
    return ALL_SOUND if matched else SOMETHING


def put_bin_labels(heads: Sequence[Reported], settings: Settings, path: Path) -> None:
    """Write the labels of heads: of several a sheet each, which only PDF can hold.

    Raises
    ------
    InputError
        When the file is of another sort, or an SVG of several heads.
    StoreError
        When it cannot be written.

    """
    labels = [
        Labelled(
            result,
            record.head.id,
            _last_day(standing_rows(record, settings)),
            code(record.head.code),
        )
        for record, result in heads
    ]
    put_labels(labels, path)


def page_of(
    shelf: Bin,
    heads: Iterable[Reported],
    settings: Settings,
    chain: ChainPicture | None = None,
) -> str:
    """Write the condition report of heads of the bin."""
    pages = [
        replace(_head_page(shelf, record, result, settings), chain=chain)
        for record, result in heads
    ]
    return page(pages, settings)


def _head_page(
    shelf: Bin, record: HeadRecord, result: HeadResult, settings: Settings
) -> HeadPage:
    rows = standing_rows(record, settings)
    said, shown = about(record), list(_photos(shelf, record))
    missing = [
        f"the photo {each.name} is not on this bench, or is no longer what was attached"
        for each, photo in zip(record.photos, shown, strict=True)
        if photo is None
    ]
    taken, _ = head_history(record, settings, same_meter=True)
    changes = changes_listing(taken)
    return HeadPage(
        result,
        rows,
        settings.kinds.get(result.kind),
        replace(said, notes=(*said.notes, *missing)),
        [photo for photo in shown if photo is not None],
        drawings_of(result),
        _proof(record, rows),
        record_lines(record, folders=False),
        changes if changes.shown else None,
    )


def _photos(shelf: Bin, record: HeadRecord) -> Iterator[Photo | None]:
    """Give the photos of a head; None for one that is not here, or not what was attached."""
    for photo in record.photos:
        path = whole_photo(shelf.place.photos, photo)
        yield None if path is None else replace(load_photo(path), name=photo.name)


def _proof(record: HeadRecord, rows: Sequence[ReadingRow]) -> str:
    """Say what the readings and the proofs beside them tell of their meters."""
    told = list(proof_lines((row.meter, row.note, row.time) for row in rows))
    for document in dict.fromkeys(each.proof for each in record.sittings if each.proof):
        try:
            proof = parse_proof(document)
        except (ValueError, RecursionError):
            continue
        with_ = ", ".join(check.resistor.text for check in proof.checks) or "no resistor"
        null = format_ohm(proof.null_ohm, proof.u_null_ohm or None)
        told.append(
            f"Proof of {proof.made[:10]}: {proof.outcome} with {with_}{ranges_text(proof)}, "
            f"lead null {null}."
        )
    return " ".join(told)


def _called(record: HeadRecord) -> str:
    return record.head.name or code(record.head.code)


def _last_day(rows: Sequence[ReadingRow]) -> str:
    return max((row.time[:10] for row in rows if row.time), default="")
