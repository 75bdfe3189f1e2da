"""Raw logs made for tests, and what is read back from them."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from helpers import Ran, cli

from coilmeter.cli.logging_strip import Strip
from coilmeter.sources.rawlog import Kind, LogHead
from coilmeter.sources.rawlog_reader import Damage, Happened, LogReader, Stretch
from coilmeter.sources.rawlog_writer import RawLog
from coilmeter.values import Function, Reading

START = datetime(2026, 11, 25, 9, 10, 39, 123456, tzinfo=UTC)
HEAD = LogHead(START, "/dev/ttyUSB0", "digits14", "baud=2400 frame=8N1 dtr=on rts=off")
WITH_BYTES = (Kind.READ, Kind.REJECTED, Kind.ASIDE, Kind.PART)

Record = tuple[float, Kind, bytes, str]


def written(path: Path, *entries: Record, head: LogHead = HEAD) -> Path:
    """Write a log."""
    with RawLog(path, head) as log:
        for entry in entries:
            log.record(*entry)
    return path


def read(path: Path) -> tuple[bytes, list[float], list[Happened], list[Damage], LogReader]:
    """Read a log: its bytes, their times, what happened, what is damaged, and the reader."""
    data, at = b"", list[float]()
    happened, damages = list[Happened](), list[Damage]()
    with LogReader(path) as reader:
        for event in reader.events():
            match event:
                case Stretch():
                    assert sum(event.sizes) == len(event.data)
                    assert len(event.sizes) == len(event.at)
                    data += event.data
                    at += event.at
                case Happened():
                    happened.append(event)
                case Damage():
                    damages.append(event)
    return data, at, happened, damages, reader


SMALL: tuple[Record, ...] = (
    (0.1, Kind.REJECTED, b"\x34\x0d", "no frame"),
    (0.2, Kind.READ, b"212.4 ohm\r\n", "212.4 ohm"),
    (5.2, Kind.SILENT, b"", "nothing came"),
    (6.0, Kind.READ, b"4.7 k\xe9\r\n", "4.7 kΩ"),
    (6.1, Kind.END, b"", "the time asked for was over"),
)

UNPLUGGED: tuple[Record, ...] = (
    (6.1, Kind.PART, b"17", "the port was lost here"),
    (6.1, Kind.UNPLUGGED, b"", "the port is gone"),
    (9.0, Kind.PLUGGED, b"", "open again as /dev/ttyUSB1"),
)


DATA = Path(__file__).parent / "data"


def replay(*words: str) -> Ran:
    """Run the command."""
    return cli("replay", *words)


def recorded(path: Path, *lines: tuple[float, str], port: str = "/dev/ttyUSB0") -> str:
    """Write a log of plain lines, behind a first one that is refused."""
    with RawLog(path, LogHead(START, port, "plain")) as log:
        log.record(0.0, Kind.REJECTED, b"cut ohm\n", "its beginning may be missing")
        for at, line in lines:
            log.record(at, Kind.READ, f"{line}\n".encode(), line)
        log.finish(lines[-1][0] if lines else 0.0, "enough")
    return str(path)


def ohms(value: float | None, step: float = 0.1) -> Reading:
    """Make a resistance; None for over-range."""
    return Reading(
        Function.RESISTANCE,
        value,
        "ohm",
        overload=value is None,
        resolution=step,
        display="OL" if value is None else f"{value} ohm",
    )


def strip_of(*values: float | None, start: float = 0.0, step_s: float = 0.25) -> Strip:
    """Gather readings at even times."""
    strip = Strip()
    for number, value in enumerate(values):
        strip.reading(start + number * step_s, ohms(value))
    return strip
