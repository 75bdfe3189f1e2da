"""What became of one head of the bin: in sentences, as a document, and what was added to it."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Sequence
from pathlib import PureWindowsPath
from typing import Any

from coilmeter.compute.history import COVERAGE
from coilmeter.report.bin_tables import code, minute, readings_text
from coilmeter.report.listing import Listing
from coilmeter.units.si_text import format_si
from coilmeter.values import Purpose, ReadingRow
from coilmeter.values.bin import BinHead, HeadRecord, ImpedanceOf


def inductances_listing(
    head: BinHead, added: Sequence[ImpedanceOf], known: int, notes: Sequence[str] = ()
) -> Listing:
    """List inductances that came to a head, and say how many it had already.

    `notes` are of the files they came from.
    """
    return Listing(
        name="inductances",
        headings=("coil", "frequency", "inductance"),
        shown=[
            (each.coil, format_si(each.frequency_hz or 0.0, "Hz"), _henry(each))
            for each in added
        ],
        keys=("coil", "frequency_hz", "inductance_henry", "u_henry"),
        fields=[
            (each.coil, each.frequency_hz, each.inductance_henry, each.u_henry)
            for each in added
        ],
        notes=[
            f"{len(added)} added to {code(head.code)} {head.name}, {known} known already.",
            *notes,
        ],
        facts=(("head", head.id), ("known", known)),
        nothing="nothing new",
    )


def record_lines(record: HeadRecord, *, folders: bool = True) -> list[str]:
    """Sentences on a head of the bin: where it is, then what happened, oldest first.

    Without `folders`, files are named without the folders they lie in, which are nobody's
    business outside of the shop.
    """
    head = record.head
    first = (
        f"{code(head.code)} {head.name}, {head.kind or 'kind not known'}, "
        f"{head.status}, in the bin since {minute(head.made)}."
    )
    told = sorted(_happened(record, folders=folders), key=lambda each: each[0])
    return [first, *(f"{minute(time)}: {text}." for time, text in told)]


def _happened(record: HeadRecord, *, folders: bool) -> Iterator[tuple[str, str]]:
    """Give time and words of everything that happened to a head."""
    for event in record.events:
        yield event.time, ", ".join(filter(None, (str(event.status), event.reason)))
    for sitting in record.sittings:
        aside = sum(_is_aside(row) for row in sitting.rows)
        told = readings_text(len(sitting.rows) - aside)
        if aside == len(sitting.rows):
            # A list of pins has no others.
            told, aside = readings_text(aside), 0
        if aside:
            told += f", and {aside} that {'does' if aside == 1 else 'do'} not count"
        name = sitting.source if folders else PureWindowsPath(sitting.source).name
        source = f" ({name})" if name else ""
        proved = ", with a proof of the meter" if sitting.proof else ""
        yield sitting.begun, f"measured, {told}{source}{proved}"
    for note in record.notes:
        said = (
            f"marked {note.marking}" if note.marking else "",
            f"face: {note.face}" if note.face else "",
            note.fitted,
            _told(note.demagnetised, "demagnetised"),
            _told(note.tape_tested, "tape-tested"),
            note.text,
        )
        yield note.time, "; ".join(filter(None, said))
    for photo in record.photos:
        yield photo.time, f"photo {photo.name}"
    tones: dict[tuple[str, float], list[ImpedanceOf]] = {}
    for found in sorted(record.impedances, key=lambda each: (each.coil, each.time)):
        tones.setdefault((minute(found.time), found.frequency_hz or 0.0), []).append(found)
    for (time, hertz), coils in sorted(tones.items()):
        at = f" at {format_si(hertz, 'Hz')}" if hertz else ""
        told = ", ".join(f"coil {each.coil} {_henry(each) or 'not known'}" for each in coils)
        yield time, f"inductance{at}: {told}"


def _is_aside(row: ReadingRow) -> bool:
    """Whether a row counts for nothing: one of a flexing counts, though it is free."""
    return row.purpose is Purpose.FREE and row.flex is None


def record_document(record: HeadRecord) -> dict[str, Any]:
    """Everything kept of a head besides its readings, for JSON."""
    head = record.head
    return {
        "id": head.id,
        "code": head.code,
        "name": head.name,
        "kind": head.kind or None,
        "status": str(head.status),
        "made": head.made,
        "measured": head.measured or None,
        "sittings": [
            {
                "id": each.id,
                "begun": each.begun,
                "source": each.source or None,
                "band": each.band or None,
                "meter_proof": _opaque(each.proof),
                "readings": len(each.rows),
            }
            for each in record.sittings
        ],
        "events": [
            {"time": each.time, "status": str(each.status), "reason": each.reason}
            for each in record.events
        ],
        "notes": [
            {
                "time": each.time,
                "marking": each.marking or None,
                "face": each.face or None,
                "fitted": each.fitted or None,
                "demagnetised": each.demagnetised or None,
                "tape_tested": each.tape_tested or None,
                "text": each.text or None,
            }
            for each in record.notes
        ],
        "photos": [
            {"time": each.time, "name": each.name, "sha256": each.sha256}
            for each in record.photos
        ],
        "impedances": [
            {
                "time": each.time,
                "coil": each.coil,
                "frequency_hz": each.frequency_hz,
                "inductance_henry": each.inductance_henry,
                "u_henry": each.u_henry,
            }
            for each in record.impedances
        ],
    }


def _opaque(text: str) -> Any:
    """Give a document that others wrote: as JSON where it is, else as the text that it is."""
    try:
        found = json.loads(text) if text else None
        # Numbers that JSON has not, and halves of a pair, are read but cannot be written.
        json.dumps(found, allow_nan=False, ensure_ascii=False).encode()
    except (ValueError, RecursionError):
        return text
    return found


def _henry(each: ImpedanceOf) -> str:
    """Inductance with its expanded uncertainty; empty where it is not known."""
    if each.inductance_henry is None:
        return ""
    reach = COVERAGE * (each.u_henry or 0.0)
    if not math.isfinite(reach):
        return f"{format_si(each.inductance_henry, 'H')}, uncertainty without bounds"
    return format_si(each.inductance_henry, "H", reach)


def _told(said: str, word: str) -> str:
    return {"yes": word, "no": f"not {word}"}.get(said, "")
