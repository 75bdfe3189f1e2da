"""A live check: processor time at ten frames a second, and last byte to changed screen.

The check runs as a process of its own.  Its meter is a pseudo-terminal that gives the bytes
one by one, as a line of 2400 baud does, and its screen is another one of 80 by 24.  Every
frame shows another value, so that every frame changes the screen.
"""

from __future__ import annotations

import fcntl
import os
import pty
import select
import statistics
import struct
import subprocess
import sys
import tempfile
import termios
import time
import tty
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from ratios import report

from coilmeter.wire import find
from coilmeter.wire.contract import Display

FORMAT: Final = find("digits14")
RATE_HZ: Final = 10.0
BYTE_S: Final = 10 / 2400
WARM_UP_S: Final = 4.0
MEASURED_S: Final = 30.0
QUIET_S: Final = 0.02
"""A screen that has not changed for so long is drawn."""

CPU_LIMIT: Final = 0.03
LATENCY_LIMIT_S: Final = 0.030
COMMAND: Final = (sys.executable, "-m", "coilmeter", "check", "--coils", "4")


@contextmanager
def terminal(rows: int = 24, columns: int = 80) -> Iterator[tuple[int, int]]:
    """Open a pseudo-terminal of a size; give both its ends."""
    near, far = pty.openpty()
    try:
        fcntl.ioctl(far, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        yield near, far
    finally:
        os.close(far)
        os.close(near)


def processor_s(pid: int) -> float:
    """Processor time of a process so far, user and system, in seconds (Linux proc(5))."""
    fields = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def drain(screen: int, within_s: float) -> float | None:
    """Read what is drawn until it is quiet; when it changed last, None where it did not."""
    last: float | None = None
    end = time.perf_counter() + within_s
    while True:
        left = (end if last is None else min(end, last + QUIET_S)) - time.perf_counter()
        if left <= 0 or not select.select([screen], [], [], left)[0]:
            return last
        os.read(screen, 1 << 16)
        last = time.perf_counter()


def send(meter: int, frame: bytes) -> float:
    """Send a frame byte by byte; when the last one went out."""
    for byte in frame[:-1]:
        os.write(meter, bytes([byte]))
        time.sleep(BYTE_S)
    sent = time.perf_counter()
    os.write(meter, frame[-1:])
    return sent


def measure(folder: Path) -> tuple[float, list[float]]:
    """Run a check; give the share of a processor it took, and each delay in seconds."""
    delays = []
    with terminal() as (meter, port), terminal() as (screen, console):
        tty.setraw(port)
        words = ["--port", os.ttyname(port), "--format", FORMAT.name, "--lead", "0.2"]
        process = subprocess.Popen(
            [*COMMAND, *words],
            stdin=console,
            stdout=console,
            stderr=console,
            cwd=folder,
            env=os.environ | {"TERM": "xterm-256color"},
        )
        try:
            drain(screen, WARM_UP_S)
            begun, used, number = time.perf_counter(), -1.0, 0
            while time.perf_counter() - begun < WARM_UP_S + MEASURED_S:
                if used < 0 and time.perf_counter() - begun >= WARM_UP_S:
                    since, used = time.perf_counter(), processor_s(process.pid)
                due = begun + number / RATE_HZ
                time.sleep(max(due - time.perf_counter(), 0))
                number += 1
                # It never settles, so that the step does not end: a jump of 5 ohm each time.
                shown = Display(100.0 + number * 50 % 3000 / 10, 0.1, 400.0)
                sent = send(meter, FORMAT.encode(shown))
                changed = drain(screen, 0.9 / RATE_HZ - len(FORMAT.encode(shown)) * BYTE_S)
                if used >= 0 and changed is not None:
                    delays.append(changed - sent)
            share = (processor_s(process.pid) - used) / (time.perf_counter() - since)
        finally:
            process.kill()
            process.wait()
    return share, delays


def main() -> int:
    """Print both figures as ratios to their limits; 1 when one is missed."""
    with tempfile.TemporaryDirectory() as folder:
        share, delays = measure(Path(folder))
    frames = round(MEASURED_S * RATE_HZ)
    median, late = statistics.median(delays), sorted(delays)[len(delays) * 95 // 100]
    print(f"{len(delays)} of {frames} frames changed the screen")
    print(f"processor {100 * share:.2f} %, median delay {1000 * median:.1f} ms")
    kept = report("processor time / 3 % of a core", share / CPU_LIMIT, 1.0)
    kept &= report("last byte to changed screen, median / 30 ms", median / LATENCY_LIMIT_S, 1.0)
    report("the same, 95 of 100 / 30 ms", late / LATENCY_LIMIT_S, 1.0)
    return 0 if kept and len(delays) > 0.9 * frames else 1


if __name__ == "__main__":
    sys.exit(main())
