"""Killed at random moments, a real `coilmeter log` loses nothing that it had shown.

``COILMETER_KILLS=200 pytest tests/test_rawlog_kill.py`` kills it more often.
"""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import os
import random
import re
import select
import signal
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
from helpers import shipped
from walk_processes import LONGEST_S, command, surroundings

from coilmeter.sources.clock import Clock, RealClock
from coilmeter.sources.rawlog_reader import Damage, LogReader, Stretch
from coilmeter.sources.rawlog_replay import Replay
from coilmeter.sources.servers import serve_socket
from coilmeter.sources.simulated import Hands, SimulatedBench, SimulatedHead, SimulatedMeter
from coilmeter.wire import find

KILLS = int(os.environ.get("COILMETER_KILLS", "40"))
BATCHES = 4
KIND = "two-channel-rp-no-case"
SHOWN = re.compile(rb"(\d+) readings?  [\d.]+/s  (\d+) rejected  (\d+) bytes?  ")

pytestmark = pytest.mark.skipif(
    not hasattr(os, "openpty"), reason="no pseudo-terminals and no kill -9 on this system"
)


class Witness:
    """A simulated bench that remembers every frame it made."""

    def __init__(self, bench: SimulatedBench) -> None:
        self.frames: list[bytes] = []
        self._bench = bench

    @property
    def clock(self) -> Clock:
        """The bench clock."""
        return self._bench.clock

    @property
    def rate_hz(self) -> float:
        """Frames per second."""
        return self._bench.rate_hz

    def frame(self) -> bytes:
        """Make a frame."""
        frame = self._bench.frame()
        self.frames.append(frame)
        return frame


def bench() -> Witness:
    """Put a sound head on a fast meter."""
    head = SimulatedHead.of_kind(
        shipped().kinds[KIND], {"1": 171.0, "2": 173.0}, temperature_degc=20.0
    )
    hands = Hands(head, RealClock())
    hands.clip("1", "2")
    meter = SimulatedMeter(shipped().meters["handheld-4000"], noise_counts=9.0, lead_ohm=0.2)
    return Witness(SimulatedBench(meter, hands, find("digits14"), rate_hz=200.0))


@dataclass
class Screen:
    """What a killed process had shown."""

    shown: bytes = b""

    @property
    def last(self) -> tuple[int, int, int]:
        """Readings, rejected stretches and bytes it last acknowledged."""
        found = SHOWN.findall(self.shown)
        readings, rejected, size = found[-1] if found else (0, 0, 0)
        return int(readings), int(rejected), int(size)


@contextmanager
def terminal() -> Iterator[tuple[int, int]]:
    """Open a pseudo-terminal: the end to read, the end for the process."""
    ours, theirs = os.openpty()
    try:
        yield ours, theirs
    finally:
        os.close(ours)
        os.close(theirs)


def read_until(ours: int, end: float, screen: Screen, *, first: bool) -> None:
    """Take what is shown until a time, or until something is acknowledged."""
    while (left := end - time.monotonic()) > 0:
        if select.select([ours], [], [], left)[0]:
            screen.shown += os.read(ours, 65536)
            if first and SHOWN.search(screen.shown):
                return


def killed(folder: Path, log: Path, url: str, after_s: float | None) -> Screen:
    """Run a log in a terminal and kill it; None for before it has shown anything."""
    screen = Screen()
    words = command("log", "--port", url, "--format", "digits14", "--out", str(log))
    with terminal() as (ours, theirs):
        process = subprocess.Popen(
            words,
            stdin=subprocess.DEVNULL,
            stdout=theirs,
            stderr=theirs,
            cwd=folder,
            env=surroundings(folder) | {"TERM": "xterm"},
            start_new_session=True,
        )
        try:
            if after_s is None:
                read_until(ours, time.monotonic() + 0.5, screen, first=False)
            else:
                read_until(ours, time.monotonic() + LONGEST_S, screen, first=True)
                read_until(ours, time.monotonic() + after_s, screen, first=False)
        finally:
            process.send_signal(signal.SIGKILL)
            process.wait()
        read_until(ours, time.monotonic() + 0.02, screen, first=False)
    return screen


def is_part_of(found: list[bytes], frames: list[bytes]) -> bool:
    """Whether frames were found in the order in which they were sent."""
    left = iter(frames)
    return all(frame in left for frame in found)


@pytest.mark.parametrize("batch", range(BATCHES))
def test_killed_at_random_moments(tmp_path: Path, batch: int) -> None:
    """Every completed record is read back, with all that the screen had acknowledged."""
    chance = random.Random(f"kill {batch}")  # noqa: S311 - moments, not secrets
    acknowledged = 0
    for number in range(KILLS // BATCHES):
        log = tmp_path / f"{number}.rawlog"
        witness = bench()
        with serve_socket(witness) as url:
            screen = killed(tmp_path, log, url, chance.uniform(0.0, 0.35))
        readings, rejected, size = screen.last
        acknowledged += readings
        with LogReader(log) as reader:
            events = list(reader.events())
        stretches = [event for event in events if isinstance(event, Stretch)]
        data = b"".join(stretch.data for stretch in stretches)
        lines = log.read_bytes().split(b"\n")
        replay = Replay([log])
        for _ in replay.events():
            pass

        assert [] == [event for event in events if isinstance(event, Damage)]
        assert len(lines) - 1 - 7 == reader.records
        assert lines[-1] == reader.cut
        assert len(data) >= size > 0
        assert replay.tally.decoded >= readings > 0
        assert replay.tally.rejected >= rejected
        assert "" == replay.tally.ended
        assert is_part_of(
            [data[at : at + 14] for at in range(0, len(data), 14)], witness.frames
        )

    assert acknowledged > 10 * (KILLS // BATCHES)


def test_killed_while_starting(tmp_path: Path) -> None:
    """Killed before anything was shown, there is no log yet, or one that can be read."""
    log = tmp_path / "a.rawlog"
    witness = bench()
    with serve_socket(witness) as url:
        killed(tmp_path, log, url, None)
    if log.exists() and log.stat().st_size:
        replay = Replay([log])
        list(replay.events())

        assert 0 == replay.tally.damages
