"""What a replay found, in words and as a JSON object."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from coilmeter.cli.logging_rows import stamp
from coilmeter.cli.logging_texts import number_of, span_text
from coilmeter.report.safe import harmless, printable
from coilmeter.sources.rawlog_replay import Replay

_SHOWN_BYTES = 16


def account(replay: Replay) -> Iterator[tuple[str, str]]:
    """Yield the account of a replay, what and how much."""
    tally, head = replay.tally, replay.head
    yield "log", ", ".join(printable(str(path)) for path in replay.paths)
    yield "begun", stamp(head.start, 0.0)
    yield "port", printable(head.port)
    as_logged = replay.form.name == head.format_name
    logged = "" if as_logged else f" (logged as {printable(head.format_name)})"
    yield "format", f"{replay.form.name}{logged}"
    yield "lasted", span_text(tally.lasted_s)
    yield "bytes", str(tally.raw_bytes)
    yield "frames read", str(tally.frames)
    yield "decoded", str(tally.decoded)
    yield "rejected", str(tally.rejected)
    if tally.asides:
        yield "asides", f"{tally.asides} (no readings of the main display)"
    if as_logged and tally.decoded != tally.logged_read:
        yield "logged", f"{number_of(tally.logged_read, 'reading')} when it was written"
    if tally.unfinished:
        yield "unfinished", f"{number_of(tally.unfinished, 'byte')} left over, no whole frame"
    if tally.rate_hz is not None:
        yield "rate", f"{tally.rate_hz:.3g} readings a second outside of gaps"
    gaps = f", {span_text(tally.gaps_s)} together" if tally.gaps else ""
    yield "gaps", f"{tally.gaps}{gaps}"
    yield "ended", printable(tally.ended) or "not closed: killed, cut, or still being written"


def details(replay: Replay) -> Iterator[str]:
    """Yield the first of what was rejected, the first gaps, and what is wrong with the file."""
    tally = replay.tally
    for at, rejected in tally.first_rejected:
        shown = rejected.raw[:_SHOWN_BYTES].hex(" ").upper()
        dots = " ..." if len(rejected.raw) > _SHOWN_BYTES else ""
        yield (
            f"rejected at {at:.3f} s, byte {rejected.position}: "
            f"{harmless(rejected.reason)} [{shown}{dots}]"
        )
    yield from _more(tally.rejected - len(tally.first_rejected), "rejected")
    for gap in tally.first_gaps:
        yield (
            f"{gap.kind} from {gap.start:.3f} s to {gap.end:.3f} s "
            f"({span_text(gap.lasted_s)}): {harmless(gap.text)}"
        )
    yield from _more(tally.gaps - len(tally.first_gaps), "gaps")
    yield from mistakes(replay)


def mistakes(replay: Replay) -> Iterator[str]:
    """Yield what is wrong with the file itself."""
    tally = replay.tally
    for path, damage in tally.first_damages:
        yield f"damaged: {printable(str(path))}, {damage}"
    yield from _more(tally.damages - len(tally.first_damages), "damaged lines")
    if tally.cut:
        shown = printable(tally.cut.decode("utf-8", "replace"))
        yield (
            f"cut: the last line has no end and was passed over ({shown!r}); all "
            f"{number_of(tally.records, 'record')} before it are whole"
        )


def document(replay: Replay) -> dict[str, Any]:
    """Give the account as an object of a JSON document."""
    tally, head = replay.tally, replay.head
    return {
        "files": [str(path) for path in replay.paths],
        "begun": stamp(head.start, 0.0),
        "port": head.port,
        "format": replay.form.name,
        "logged_format": head.format_name,
        "lasted_s": tally.lasted_s,
        "records": tally.records,
        "bytes": tally.raw_bytes,
        "frames": tally.frames,
        "decoded": tally.decoded,
        "rejected": tally.rejected,
        "asides": tally.asides,
        "logged_readings": tally.logged_read,
        "unfinished_bytes": tally.unfinished,
        "rate_hz": tally.rate_hz,
        "gaps": tally.gaps,
        "gaps_s": tally.gaps_s,
        "first_gaps": [
            {"kind": gap.kind, "start_s": gap.start, "end_s": gap.end, "text": gap.text}
            for gap in tally.first_gaps
        ],
        "first_rejected": [
            {
                "at_s": at,
                "position": rejected.position,
                "reason": rejected.reason,
                "bytes": rejected.raw.hex().upper(),
            }
            for at, rejected in tally.first_rejected
        ],
        "damaged_lines": tally.damages,
        "first_damaged": [
            {"file": str(path), "line": damage.line, "what": str(damage)}
            for path, damage in tally.first_damages
        ],
        "cut": bool(tally.cut),
        "ended": tally.ended or None,
    }


def _more(count: int, what: str) -> Iterator[str]:
    if count > 0:
        yield f"and {count} more {what}"
