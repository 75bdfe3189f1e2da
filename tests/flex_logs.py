"""Raw logs of a coil that was flexed, made for tests."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from helpers import Ran, cli
from rawlog_files import START

from coilmeter.cli.flexing_stream import NOTE
from coilmeter.sources.rawlog import Kind, LogHead
from coilmeter.sources.rawlog_writer import RawLog

COIL, OL = "171.3 ohm auto", "OL 40 Mohm auto"
LOOSE = ((COIL, 6.0), (OL, 0.4), (COIL, 6.0), (OL, 0.3), (COIL, 3.0))


def lines(*parts: tuple[str, float], rate_hz: float = 10.0) -> list[tuple[float, str]]:
    """Lines of a meter at even times: each text for so many seconds."""
    texts = [text for text, seconds in parts for _ in range(round(seconds * rate_hz))]
    return [(0.1 + number / rate_hz, text) for number, text in enumerate(texts)]


def log_of(
    path: Path, *parts: tuple[str, float], notes: Sequence[tuple[float, str]] = ()
) -> str:
    """Write a raw log of such lines, with the notes of a flexing."""
    every = [(at, Kind.READ, text) for at, text in lines(*parts)]
    every += [(at, Kind.NOTE, f"{NOTE}{text}") for at, text in notes]
    with RawLog(path, LogHead(START, "/dev/ttyUSB0", "plain")) as log:
        log.record(0.0, Kind.REJECTED, b"cut ohm\n", "its beginning may be missing")
        for at, kind, text in sorted(every, key=lambda each: each[0]):
            log.record(at, kind, f"{text}\n".encode() if kind is Kind.READ else b"", text)
        log.finish(every[-1][0], "enough")
    return str(path)


def flex(*words: str) -> Ran:
    """Run the command."""
    return cli("flex", *words)
