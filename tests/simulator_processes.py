"""`coilmeter simulate` as a process with a keyboard, and reading what it sends."""

from __future__ import annotations

import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from walk_processes import Process, eventually

from coilmeter.sources.port import MeterStream, TimedReading
from coilmeter.values import Reading

KIND: Final = "one-channel-rp"


class Simulator(Process):
    """`coilmeter simulate` as a process, with a keyboard."""

    def __init__(self, folder: Path, *words: str) -> None:
        super().__init__(folder, "simulate", *words, stdin=subprocess.PIPE)

    @property
    def addresses(self) -> list[str]:
        """What it said can be opened, oldest first."""
        return self._out.read_text().split()

    def wait_until(self, found: Callable[[], bool], what: str) -> None:
        """Wait until something is so, or it has ended."""
        eventually(lambda: found() or self.process.poll() is not None, what)
        assert found(), self.talk

    def type(self, line: str, answer: str = "") -> None:
        """Type a line, and wait for what it answers, where it answers anything."""
        before = self.talk.count(answer)
        assert self.process.stdin is not None
        self.process.stdin.write(f"{line}\n".encode())
        self.process.stdin.flush()
        if answer:
            self.wait_until(lambda: self.talk.count(answer) > before, answer)


@contextmanager
def simulator(folder: Path, *words: str) -> Iterator[Simulator]:
    """Run one until it serves, and end it afterwards whatever happens."""
    process = Simulator(folder, *words)
    try:
        process.wait_until(lambda: bool(process.addresses), "an address")
        yield process
    finally:
        process.process.kill()
        process.process.wait()
        if process.process.stdin is not None:
            with suppress(BrokenPipeError):
                process.process.stdin.close()


def read_while(stream: MeterStream, wanted: Callable[[Reading], bool]) -> Reading:
    """Read until a reading is as wanted."""
    found: list[Reading] = []

    def look() -> bool:
        items = [item for item in stream.poll() if isinstance(item, TimedReading)]
        found.extend(item.reading for item in items if wanted(item.reading))
        return bool(found)

    eventually(look, "a reading")
    return found[0]
