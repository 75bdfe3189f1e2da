"""Replaying 24 hours of frames: against the plainest loop, and in memory against one hour."""

from __future__ import annotations

import random
import subprocess
import sys
import tempfile
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from ratios import medians, python, report

from coilmeter.sources.rawlog import Kind, LogHead, record_line
from coilmeter.sources.rawlog_replay import Replay
from coilmeter.wire import find
from coilmeter.wire.contract import Display

RATE_HZ: Final = 10
HOUR: Final = 3600 * RATE_HZ
DAY: Final = 24 * HOUR
FRAME: Final = 14
ROUNDS: Final = 5
OF_LOOP: Final = 8.0
GROWTH: Final = 1.1

SIZE: Final = """
import re, resource, sys
from pathlib import Path
def peak():
    # What getrusage says, a process inherits from the one that started it.
    status = Path("/proc/self/status")
    if status.exists():
        return re.search(r"VmHWM:\\s*(\\d+)", status.read_text())[1]
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
"""
SCRIPT: Final = """
import sys
total = 0
with open(sys.argv[1], "rb") as file:
    for line in file:
        fields = line.split(b"\\t")
        if len(fields) == 4 and fields[1] == b"read":
            total += int(bytes.fromhex(fields[2].decode())[1:5])
"""
PEAK: Final = f"""{SIZE}
from coilmeter.cli import main
code = main(sys.argv[1:])
sys.stderr.write(f"{{code}} {{peak()}}")
"""
LOGGING: Final = """
from datetime import UTC, datetime
from pathlib import Path
from coilmeter.cli.logging_strip import Strip
from coilmeter.sources.rawlog import Kind, LogHead
from coilmeter.sources.rawlog_tap import Tap
from coilmeter.sources.rawlog_writer import RawLog
from coilmeter.sources.port import TimedReading
from coilmeter.wire import find
frames, now, path = int(sys.argv[1]), [0.0], Path(sys.argv[2])
tap, strip = Tap(find("digits14"), lambda: now[0]), Strip()
decoder = tap.format.decoder()
frame = bytes(find("digits14").examples[1].raw)
with RawLog(path, LogHead(datetime.now(UTC), "benchmark", "digits14")) as log:
    for number in range(frames):
        now[0] = number / 10
        items = [TimedReading(now[0], item) for item in decoder.feed(frame)]
        for heard in tap.take(items):
            log.record(heard.at, heard.kind, heard.raw, heard.text)
        for item in items:
            strip.reading(item.at, item.reading)
        strip.rows(100, 3, now[0]) if number % 100 == 0 else None
sys.stderr.write(f"0 {peak()}")
"""


def write_log(path: Path, count: int, *, spread_ohm: float) -> None:
    """Write a log of so many frames of an invented coil, ten a second."""
    form = find("digits14")
    chance = random.Random(24)  # noqa: S311 - invented readings
    frames: dict[float, bytes] = {}
    with path.open("wb") as file:
        start = datetime(2026, 11, 25, tzinfo=UTC)
        file.write(LogHead(start, "benchmark", "digits14").text().encode())
        for number in range(count):
            ohm = round(abs(212.3 + chance.gauss(0, spread_ohm)), 1) % 999.9
            frame = frames.get(ohm)
            if frame is None:
                frame = frames[ohm] = form.encode(Display(ohm, 0.1, 4000.0))
            at = number / RATE_HZ + 0.001 * chance.random()
            file.write(record_line(at, Kind.READ, frame, f"{ohm} ohm"))


def bytes_of(path: Path) -> bytes:
    """Bytes of the meter that a log holds."""
    with path.open("rb") as file:
        return b"".join(
            bytes.fromhex(fields[2].decode())
            for line in file
            if len(fields := line.split(b"\t")) == 4 and fields[2] != b"bytes"
        )


def loop_over(data: bytes) -> Callable[[], int]:
    """Make the plainest loop: split the frames, convert the digits, nothing else."""

    def loop() -> int:
        total = 0
        for at in range(0, len(data), FRAME):
            frame = data[at : at + FRAME]
            total += int(frame[1:5])
        return total

    return loop


def loop_over_file(path: Path) -> Callable[[], int]:
    """Make the same loop reading the log itself, a line at a time."""

    def loop() -> int:
        total = 0
        with path.open("rb") as file:
            for line in file:
                fields = line.split(b"\t")
                if len(fields) == 4 and fields[1] == b"read":
                    total += int(bytes.fromhex(fields[2].decode())[1:5])
        return total

    return loop


def replay_of(path: Path) -> Callable[[], None]:
    """Make a call that replays a log as the command does, in this process."""

    def run() -> None:
        replay = Replay([path])
        for _ in replay.events():
            pass
        if replay.tally.decoded != DAY:
            raise RuntimeError(f"{replay.tally.decoded} readings of {DAY}")

    return run


def peak_of(code: str, *words: str) -> float:
    """Peak memory in MiB of a process that runs some code."""
    ran = subprocess.run(
        [sys.executable, "-c", code, *words],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        check=True,
    )
    ended, size = ran.stderr.decode().rpartition("\n")[2].split()
    if ended != "0":
        raise RuntimeError(ran.stderr.decode())
    return int(size) / 1024


def main() -> int:
    """Print the ratios; 1 when a limit is missed."""
    with tempfile.TemporaryDirectory() as folder:
        hour, day, wild_hour, wild = (
            Path(folder) / f"{name}.rawlog" for name in ("hour", "day", "wild-hour", "wild")
        )
        write_log(hour, HOUR, spread_ohm=0.3)
        write_log(day, DAY, spread_ohm=0.3)
        write_log(wild_hour, HOUR, spread_ohm=2000.0)
        write_log(wild, DAY, spread_ohm=2000.0)
        loop, file_loop, replayed = medians(
            [loop_over(bytes_of(day)), loop_over_file(day), replay_of(day)], ROUNDS
        )
        whole, script = medians(
            [python("-m", "coilmeter", "replay", str(day)), python("-c", SCRIPT, str(day))],
            ROUNDS,
        )
        print(
            f"{DAY} frames: loop {loop:.2f} s, replay {replayed:.2f} s, command {whole:.2f} s"
        )
        kept = report("replay / plainest loop over bytes in memory", replayed / loop, OF_LOOP)
        kept &= report("replay / plainest loop over the log", replayed / file_loop, OF_LOOP)
        kept &= report("whole command / such a loop as a script", whole / script, OF_LOOP)
        peaks = {}
        for name, path in (
            ("hour", hour),
            ("day", day),
            ("wild", wild),
            ("wild hour", wild_hour),
        ):
            peaks[name] = peak_of(PEAK, "replay", str(path))
        for name, path in (("csv", day), ("csv hour", hour)):
            peaks[name] = peak_of(PEAK, "replay", str(path), "--as", "csv")
        for name, path in (("plot", day), ("plot hour", hour)):
            picture = str(Path(folder) / "a.png")
            peaks[name] = peak_of(PEAK, "replay", str(path), "--settle", "--plot", picture)
        for name, count in (("log", DAY), ("log hour", HOUR)):
            peaks[name] = peak_of(SIZE + LOGGING, str(count), str(Path(folder) / f"{name}.x"))
        print("peak memory in MiB:", {name: round(peak, 1) for name, peak in peaks.items()})
        kept &= report("replay, memory of 24 h / 1 h", peaks["day"] / peaks["hour"], GROWTH)
        kept &= report(
            "the same, readings all over the ranges",
            peaks["wild"] / peaks["wild hour"],
            GROWTH,
        )
        kept &= report("replay to CSV, 24 h / 1 h", peaks["csv"] / peaks["csv hour"], GROWTH)
        kept &= report(
            "replay to a plot, 24 h / 1 h", peaks["plot"] / peaks["plot hour"], GROWTH
        )
        kept &= report("log, 24 h / 1 h", peaks["log"] / peaks["log hour"], GROWTH)
    return 0 if kept else 1


if __name__ == "__main__":
    sys.exit(main())
