"""Words spoken by the system's own speech program, for whoever has no eye to spare."""

from __future__ import annotations

import shutil
import subprocess
import threading
from collections import deque
from collections.abc import Sequence
from contextlib import suppress
from types import TracebackType
from typing import Final, Self

from coilmeter.errors import InputError

_WINDOWS: Final = (
    "Add-Type -AssemblyName System.Speech; $voice = "
    "New-Object System.Speech.Synthesis.SpeechSynthesizer; "
    "$voice.Speak([Console]::In.ReadToEnd())"
)
PROGRAMS: Final = (
    ("espeak-ng", "--stdin"),
    ("espeak", "--stdin"),
    ("spd-say", "--wait", "--pipe-mode"),
    ("say", "-f", "-"),
    (
        "powershell",
        "-NoProfile",
        "-Command",
        _WINDOWS,
    ),
)
"""Programs of the usual systems that speak what they read from standard input."""

SPEECH_FAILED: Final = "! the speech program failed: not all was said aloud."

_LONGEST_S: Final = 20.0
"""Nothing said here takes so long: a program that hangs is ended, and the next one tried."""


def find_program() -> tuple[str, ...]:
    """Find the first speech program of this system.

    Raises
    ------
    InputError
        When there is none.

    """
    for program, *arguments in PROGRAMS:
        found = shutil.which(program)
        if found:
            return (found, *arguments)
    raise InputError(
        "--speak: no speech program was found on this system",
        hint="install one of " + ", ".join(program for program, *_ in PROGRAMS) + ", or leave "
        "--speak out: the sounds and the screen stay.",
    )


class Speaker:
    """Speaks texts one after the other in the background; what is stale is dropped.

    A speech program that fails is no reason to end a measurement: it is passed over, and
    `failed` says so.

    Parameters
    ----------
    program
        The program and its arguments; it speaks what it reads from standard input.

    """

    def __init__(self, program: Sequence[str]) -> None:
        self.failed = False
        self._program = tuple(program)
        self._waiting: deque[str] = deque()
        self._change = threading.Condition()
        self._running: subprocess.Popen[bytes] | None = None
        self._ending = False
        self._thread = threading.Thread(target=self._work, name="coilmeter-speech", daemon=True)

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Finish what was asked for when all went well; be silent at once when it did not."""
        with self._change:
            self._ending = True
            if error is not None:
                self._hush()
            self._change.notify()
        self._thread.join(_LONGEST_S)

    def say(self, text: str) -> None:
        """Speak a text after those that wait already; an empty one is nothing."""
        if text:
            with self._change:
                self._waiting.append(text)
                self._change.notify()

    def hush(self) -> None:
        """Break off and forget what waits: it has been overtaken."""
        with self._change:
            self._hush()

    def _hush(self) -> None:
        self._waiting.clear()
        if self._running is not None:
            with suppress(OSError):
                self._running.terminate()

    def _next(self) -> str:
        """Wait for a text; empty when there is no more to come."""
        with self._change:
            self._change.wait_for(lambda: self._waiting or self._ending)
            return self._waiting.popleft() if self._waiting else ""

    def _work(self) -> None:
        while text := self._next():
            try:
                self._speak(text)
            except (OSError, subprocess.SubprocessError):
                self.failed = True

    def _speak(self, text: str) -> None:
        quiet = subprocess.DEVNULL
        with subprocess.Popen(  # noqa: S603 - one of PROGRAMS; the text is no argument of it
            self._program, stdin=subprocess.PIPE, stdout=quiet, stderr=quiet
        ) as running:
            with self._change:
                self._running = running
            try:
                running.communicate(text.encode(), timeout=_LONGEST_S)
            except subprocess.TimeoutExpired:
                running.kill()
                raise
            finally:
                with self._change:
                    self._running = None
            # Ended by a signal, it was hushed.
            self.failed = self.failed or running.returncode > 0
