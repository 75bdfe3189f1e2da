"""Real processes of the tool, and meters and people for them."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from helpers import Ran

from coilmeter.sources.simulated import Hands
from coilmeter.sources.simulated_thread import BenchThread

LONGEST_S = 40.0
"""No process of a test may run longer."""


def command(*words: str) -> list[str]:
    """Words to run the tool as a process of its own."""
    return [sys.executable, "-m", "coilmeter", *words]


def surroundings(folder: Path) -> dict[str, str]:
    """Environment away from this user's own files, with output that is not held back.

    Coverage is not measured in there: a signal that comes while it holds its own lock leaves
    the process waiting for that lock for ever.
    """
    usual = {name: text for name, text in os.environ.items() if not name.startswith("COV")}
    return usual | {
        "XDG_CONFIG_HOME": str(folder / "config"),
        "HOME": str(folder),
        "PYTHONUNBUFFERED": "1",
        "COLUMNS": "100",
    }


def run(folder: Path, *words: str, stdin: bytes = b"") -> Ran:
    """Run the tool as a process in a folder, and wait for its end."""
    done = subprocess.run(
        command(*words),
        input=stdin,
        capture_output=True,
        cwd=folder,
        env=surroundings(folder),
        timeout=LONGEST_S,
        check=False,
    )
    return Ran(done.returncode, done.stdout.decode(), done.stderr.decode())


INTERRUPTIBLE = """
import signal, sys
# A shell that runs the tests in the background has Ctrl-C ignored by all it starts.
signal.signal(signal.SIGINT, signal.default_int_handler)
from coilmeter.cli import main
sys.exit(main(sys.argv[1:]))
"""


class Process:
    """The tool as a process whose talk is read while it runs.

    Standard input is no terminal and, unless it is a pipe, never says anything: no key is
    pressed.
    """

    def __init__(self, folder: Path, *words: str, stdin: int = subprocess.DEVNULL) -> None:
        self._talk, self._out = folder / "talk.txt", folder / "out.txt"
        with self._talk.open("wb") as talk, self._out.open("wb") as out:
            self.process = subprocess.Popen(
                [sys.executable, "-c", INTERRUPTIBLE, *words],
                stdin=stdin,
                stdout=out,
                stderr=talk,
                cwd=folder,
                env=surroundings(folder),
            )

    @property
    def talk(self) -> str:
        """What it has said so far."""
        return self._talk.read_text()

    def wait_for(self, text: str, *, times: int = 1) -> None:
        """Wait until a text has been said so many times."""
        try:
            eventually(
                lambda: self.talk.count(text) >= times or self.process.poll() is not None, text
            )
        finally:
            found = self.talk.count(text) >= times
            if not found:
                self.kill()
        if not found:
            raise TimeoutError(f"{text!r} was not said {times} times in {self.talk}")

    def interrupt(self) -> None:
        """Press Ctrl-C."""
        self.process.send_signal(signal.SIGINT)

    def terminate(self) -> None:
        """Have the system tell it to end."""
        self.process.send_signal(signal.SIGTERM)

    def kill(self) -> None:
        """End it as a power cut would."""
        self.process.kill()
        self.process.wait()

    def end(self) -> Ran:
        """Wait for its end."""
        try:
            code = self.process.wait(LONGEST_S)
        finally:
            self.kill()
        return Ran(code, self._out.read_text(), self.talk)


class Person(BenchThread):
    """Someone with both hands full who reads the talk of the tool and does what it says.

    Parameters
    ----------
    hands
        The hands at the simulated bench.
    process
        The tool.

    """

    def __init__(self, hands: Hands, process: Process) -> None:
        super().__init__("person", hands.clock)
        self._hands = hands
        self._process = process

    def work(self) -> None:
        """Follow each line as it comes."""
        heard = 0
        while self.wait_until(self.clock.now() + 0.05):
            lines = self._process.talk.split("\n")[:-1]
            for line in lines[heard:]:
                self._follow(line)
            heard = len(lines)

    def _follow(self, line: str) -> None:
        """Do what one line asks for."""
        if line.startswith("[") and "(move " in line:
            self._hands.lift()
            self.wait_until(self.clock.now() + 1.3)
            places = re.findall(r"pin (\w+)|(case) \(", line)
            points = [pin or case for pin, case in places]
            if points:
                self._hands.clip(points[0], points[1])
            else:
                self._hands.short_leads()
        elif "bridge" in line:
            self._hands.bridge(on=True)
            self.wait_until(self.clock.now() + 0.5)
            self._hands.bridge(on=False)


class LineMeter:
    """A meter on a loopback socket that sends a line over and over, as it is told to.

    With an empty line it sends nothing.
    """

    def __init__(self, line: str = "OL 40 Mohm auto", rate_hz: float = 20.0) -> None:
        self.line = line
        self.url = ""
        self._period_s = 1 / rate_hz
        self._stop = threading.Event()

    def close(self) -> None:
        """Let the client go, and take no other."""
        self._stop.set()

    @contextmanager
    def serving(self) -> Iterator[LineMeter]:
        """Serve one client after another until the end."""
        with socket.create_server(("127.0.0.1", 0)) as listener:
            listener.settimeout(0.05)
            self.url = f"socket://127.0.0.1:{listener.getsockname()[1]}"
            thread = threading.Thread(target=self._serve, args=(listener,))
            thread.start()
            try:
                yield self
            finally:
                self._stop.set()
                thread.join()

    def _serve(self, listener: socket.socket) -> None:
        """Take clients, one after the other."""
        while not self._stop.is_set():
            with suppress(OSError):
                client, _ = listener.accept()
                with client:
                    self._send(client)

    def _send(self, client: socket.socket) -> None:
        """Send the line until the client goes."""
        while not self._stop.wait(self._period_s):
            client.sendall(f"{self.line}\n".encode() if self.line else b"")


def eventually(found: Callable[[], bool], what: str) -> None:
    """Wait until something is true."""
    end = time.monotonic() + LONGEST_S
    while not found():
        if time.monotonic() > end:
            raise TimeoutError(what)
        time.sleep(0.05)
