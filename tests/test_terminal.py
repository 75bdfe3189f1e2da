"""The big screen and the keys in a real terminal."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import os
import select
import shlex
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from walk_processes import (
    INTERRUPTIBLE,
    LONGEST_S,
    LineMeter,
    command,
    eventually,
    surroundings,
)

from coilmeter.cli.figures import big_words


def has(lines: list[str], figures: str) -> bool:
    """Whether figures stand on the screen."""
    rows = [row.rstrip() for row in figures.split("\n")]
    return any(
        all(row in line for row, line in zip(rows, lines[start:], strict=False))
        for start in range(len(lines) - len(rows) + 1)
    )


class Terminal:
    """A real terminal of 80 by 24 in which the tool runs."""

    def __init__(self, folder: Path, *words: str) -> None:
        self._tmux = ["tmux", "-f", "/dev/null", "-S", str(folder / "tmux")]
        variables = surroundings(folder) | {"LC_ALL": "C.UTF-8"}
        del variables["COLUMNS"]
        inside = " ".join(
            f"{name}={shlex.quote(variables[name])}"
            for name in ("HOME", "XDG_CONFIG_HOME", "PYTHONUNBUFFERED", "PATH")
        )
        line = f"cd {shlex.quote(str(folder))}; {inside} {shlex.join(command(*words))}"
        line += "; echo ended $?; sleep 60"
        size = ("-x", "80", "-y", "24")
        self._run("new-session", "-d", "-s", "bench", *size, line, env=variables)

    def shown(self) -> list[str]:
        """Lines of the terminal now."""
        return self._run("capture-pane", "-p", "-t", "bench").splitlines()

    def press(self, *keys: str) -> None:
        """Press keys."""
        self._run("send-keys", "-t", "bench", *keys)

    def wait_for(self, text: str) -> list[str]:
        """Wait until figures or a text stand on it; give its lines."""
        found: list[list[str]] = []

        def look() -> bool:
            found.append(self.shown())
            return has(found[-1], text)

        try:
            eventually(look, text)
        except TimeoutError as error:
            raise TimeoutError(f"{text}\nis not in\n" + "\n".join(found[-1])) from error
        return found[-1]

    def close(self) -> None:
        """End the terminal and what runs in it."""
        self._run("kill-server")

    def _run(self, *words: str, env: dict[str, str] | None = None) -> str:
        """Ask tmux for something."""
        done = subprocess.run(
            [*self._tmux, *words], capture_output=True, env=env, timeout=20, check=True
        )
        return done.stdout.decode()


@contextmanager
def closing_both(*ends: int) -> Iterator[None]:
    """Close the ends of a pseudo-terminal in the end."""
    try:
        yield
    finally:
        for end in ends:
            os.close(end)


def read_until(terminal: int, text: bytes) -> bytes:
    """Read what a terminal shows until a text stands there."""
    shown = b""
    end = time.monotonic() + LONGEST_S
    while text not in shown:
        if time.monotonic() > end:
            raise TimeoutError(f"{text!r} is not in {shown!r}")
        if select.select([terminal], [], [], 0.1)[0]:
            shown += os.read(terminal, 4096)
    return shown


@contextmanager
def real_terminal(folder: Path, *words: str) -> Iterator[Terminal]:
    """Run the tool in a real terminal."""
    terminal = Terminal(folder, *words)
    try:
        yield terminal
    finally:
        terminal.close()


@pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed here")
def test_in_a_real_terminal(tmp_path: Path) -> None:
    """The big screen, the keys and the end, as a person sees and presses them."""
    words = ["check", "--coils", "2", "--no-isolation", "--format", "plain", "--keep", "k.csv"]
    words += ["--out", "verdicts.txt"]
    with (
        LineMeter().serving() as meter,
        real_terminal(tmp_path, *words, "--port", meter.url) as terminal,
    ):
        begun = terminal.wait_for(big_words("CLIP TOGETHER", 76))
        meter.line = "0.2 ohm auto"
        terminal.wait_for(big_words("LIFT", 76))
        meter.line = "OL 40 Mohm auto"
        clip = terminal.wait_for(big_words("CLIP 1-2", 76))
        terminal.press("o")
        confirmed = terminal.wait_for(big_words("CLIP 3-4", 76))
        terminal.press("Down", "t")
        asked = terminal.wait_for("coil 2, reading>")
        terminal.press("17x", "Enter")
        terminal.wait_for("saw '17x'")
        terminal.press("171.3", "Enter")
        terminal.wait_for("ended 1")

    assert any("[1/3] leads: the two clips together" in line for line in begun)
    assert any("\u2588 40 Mohm" in line for line in clip)
    assert any("taken  coil 1  OL (40 Mohm range): open" in line for line in confirmed)
    assert any("\u2502" in line for line in clip)
    assert not any("\u2502" in line for line in asked)
    assert max(map(len, [*begun, *clip, *confirmed])) <= 80
    assert (tmp_path / "verdicts.txt").read_text().startswith("PARTIAL: head head, coils-2")
    assert 4 == len((tmp_path / "k.csv").read_text().splitlines())


def settings_of(terminal: int) -> tuple[bool, bool]:
    """Tell whether a terminal shows what is typed, and waits for whole lines."""
    import termios  # noqa: PLC0415 - not on every system

    local = termios.tcgetattr(terminal)[3]
    return bool(local & termios.ECHO), bool(local & termios.ICANON)


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="no pseudo-terminals here")
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_told_to_end_it_gives_the_terminal_back(tmp_path: Path, number: int) -> None:
    """The screen goes, cursor and echo are back, and the last words are said."""
    words = ["check", "--coils", "1", "--format", "plain", "--keep", "k.csv", "--port"]
    ours, its = os.openpty()
    with LineMeter("0.2 ohm auto").serving() as meter, closing_both(ours, its):
        before = settings_of(its)
        process = subprocess.Popen(
            [sys.executable, "-c", INTERRUPTIBLE, *words, meter.url],
            stdin=its,
            stdout=its,
            stderr=its,
            cwd=tmp_path,
            env=surroundings(tmp_path) | {"TERM": "xterm"},
        )
        try:
            shown = read_until(ours, b"taken  leads")
            during = settings_of(its)
            process.send_signal(number)
            shown += read_until(ours, b"stopped.")
            code = process.wait(LONGEST_S)
        finally:
            process.kill()
            process.wait()
        after = settings_of(its)

    assert (True, True) == before
    assert (False, False) == during
    assert before == after
    assert 128 + number == code
    assert b"1 reading is kept in k.csv." in shown
    assert b"Traceback" not in shown
    assert shown.rindex(b"\x1b[?25l") < shown.rindex(b"\x1b[?25h")
    assert [tmp_path / "k.csv"] == list(tmp_path.iterdir())


@pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed here")
def test_quit_in_a_real_terminal(tmp_path: Path) -> None:
    """One key ends it: where the readings are is said, and the terminal is as it was."""
    words = ["check", "--coils", "1", "--format", "plain", "--keep", "k.csv"]
    with (
        LineMeter("1.500 V dc").serving() as meter,
        real_terminal(tmp_path, *words, "--port", meter.url) as terminal,
    ):
        wrong = terminal.wait_for(big_words("METER", 76))
        terminal.press("q")
        ended = terminal.wait_for("ended 1")

    assert any("the meter is on DC volts: turn it to ohms" in line for line in wrong)
    assert any("No readings were kept" in line for line in ended)
    assert not any("\u2502" in line for line in ended)
