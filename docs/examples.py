"""Runs the examples of a page, so that no page shows an output the tool does not give.

A page is Markdown.  A fenced block with a file name behind its language is a file the
examples may use; a block in the language ``console`` is a session::

    ```csv tray.csv            the file tray.csv, in a temporary folder
    ```console                 commands behind "$ ", each followed by what it prints

What a person types at a prompt stands in the session behind the prompt, and is handed to the
command.  Four commands are known: ``coilmeter ...``, ``python FILE``, ``cat FILE`` and
``echo $?``; ``coilmeter simulate ... &`` goes on beside those that follow it.  A port
called ``/dev/ttyUSB0`` is a simulated meter on a loopback socket, with the head of the
tutorial; on ``/dev/ttyUSB1`` it has an unmarked head of eight pins.
"""  # noqa: INP001 - docs/ is a folder of pages and their scripts, not a package

from __future__ import annotations

import io
import math
import os
import re
import runpy
import shlex
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, redirect_stderr, redirect_stdout
from functools import partial
from pathlib import Path
from typing import Final
from unittest import mock

from coilmeter.catalog import load_catalog
from coilmeter.cli import main
from coilmeter.cli.demonstration import moves_for
from coilmeter.cli.folders import DATA
from coilmeter.cli.live import run_live
from coilmeter.sources.clock import FastClock
from coilmeter.sources.port import MeterStream
from coilmeter.sources.servers import serve_socket
from coilmeter.sources.simulated import (
    Hands,
    SimulatedBench,
    SimulatedHead,
    SimulatedMeter,
)
from coilmeter.sources.simulated_person import Attendant
from coilmeter.wire import find

PORT: Final = "/dev/ttyUSB0"
UNMARKED: Final = "/dev/ttyUSB1"
SPEED: Final = 8.0
"""Seconds of the simulated bench in one real second."""

_BESIDE: Final[list[subprocess.Popen[str]]] = []
"""Simulators that go on beside the commands of a page."""

_BLOCK: Final = re.compile(r"^```(\w+)(?: +(\S+))?\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_PROMPT: Final = re.compile(r"^  (?:[a-z]+>|OL on which range\? \([^)]*\)) (.*)$", re.MULTILINE)
_OF_THIS_RUN: Final = re.compile(
    r"\d{4}-\d\d-\d\d(?:T[\d:.]+\+00:00| \d\d:\d\d)?|\b[0-9A-Z]{4}-[0-9A-Z]{4}\b"
)
"""What no two runs have in common: times, and the codes of heads that are new in a bin."""


def with_real_output(page: str) -> str:
    """Run every session of a page in a new folder, and give the page with what came out.

    An output that differs only in its times and codes is left as it stands.
    """
    if "\n```console\n" not in page:
        return page
    with tempfile.TemporaryDirectory(prefix="coilmeter-") as folder, _inside(Path(folder)):
        try:
            return _BLOCK.sub(_block, page)
        finally:
            while _BESIDE:
                _BESIDE[-1].terminate()
                _BESIDE.pop().communicate()


def _block(block: re.Match[str]) -> str:
    language, name, body = block.groups()
    if language == "console":
        again = "".join(_session(body))
        if _OF_THIS_RUN.sub("", again) != _OF_THIS_RUN.sub("", body):
            return f"```{language}\n{again}```"
    elif name:
        Path(name).parent.mkdir(parents=True, exist_ok=True)
        Path(name).write_text(body, encoding="utf-8")
    return block[0]


def _session(body: str) -> Iterator[str]:
    """Give the session again with the output that each command has now."""
    code = 0
    for part in re.split(r"^\$ ", body, flags=re.MULTILINE)[1:]:
        command, _, shown = part.partition("\n")
        typed = "".join(f"{line}\n" for line in _PROMPT.findall(shown))
        code, output = _run(shlex.split(command), typed, code)
        yield f"$ {command}\n{output}"


def _run(words: list[str], typed: str, last_code: int) -> tuple[int, str]:
    match words:
        case ["coilmeter", "simulate", *arguments, "&"]:
            return 0, _served(arguments)
        case ["coilmeter", *arguments]:
            return _captured(arguments, typed)
        case ["python", file]:
            out = io.StringIO()
            with redirect_stdout(out):
                runpy.run_path(file, run_name="__main__")
            return 0, out.getvalue()
        case ["cat", file]:
            return 0, Path(file).read_text(encoding="utf-8")
        case ["echo", "$?"]:
            return 0, f"{last_code}\n"
    raise SystemExit(f"an example runs {words[0]!r}, which is not known here")


def _served(arguments: list[str]) -> str:
    """Run the simulator beside what follows; give what it says until it serves."""
    simulator = subprocess.Popen(  # noqa: S603 - the tool itself
        [sys.executable, "-m", "coilmeter", "simulate", *arguments],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    _BESIDE.append(simulator)
    said = ""
    for line in simulator.stdout or ():
        said += line
        if line.startswith("type help"):
            break
    return said


def _captured(arguments: list[str], typed: str) -> tuple[int, str]:
    """Run the command line in this process; output and talk come together."""
    out = io.StringIO()
    with ExitStack() as stack:
        for port in {PORT, UNMARKED} & {*arguments}:
            address = stack.enter_context(_simulated_bench(_HEADS[port]()))
            arguments = [address if word == port else word for word in arguments]
        typist = io.TextIOWrapper(io.BytesIO(typed.encode()), encoding="utf-8")
        stack.enter_context(mock.patch.object(sys, "stdin", typist))
        stack.enter_context(redirect_stdout(out))
        stack.enter_context(redirect_stderr(out))
        code = main(arguments)
    return code, out.getvalue()


@contextmanager
def _inside(folder: Path) -> Iterator[None]:
    """Work in a folder, out of reach of this user's own reference file, bin and proofs."""
    before = Path.cwd()
    os.chdir(folder)
    try:
        with (
            mock.patch.dict(os.environ),
            mock.patch("platformdirs.user_config_path", return_value=folder / "nowhere"),
        ):
            os.environ.pop("COILMETER_CATALOG", None)
            os.environ.pop("COILMETER_STORE", None)
            os.environ[DATA] = str(folder / "data")
            yield
    finally:
        os.chdir(before)


def _of_the_tutorial() -> SimulatedHead:
    """Make the head of the tutorial: coil 1 sound, coil 2 broken."""
    kind = load_catalog().kind("two-channel-rp")
    head = SimulatedHead.of_kind(kind, {"1": 174.0, "2": 176.0}, temperature_degc=22.0)
    return head.with_open("2")


def _unmarked() -> SimulatedHead:
    """Make a sound head whose eight pins belong together in no order that can be seen."""
    coils = {"1": ("1", "4", 184.0), "2": ("2", "8", 187.0), "3": ("3", "5", 181.0)}
    return SimulatedHead(coils | {"4": ("6", "7", 186.0)}, temperature_degc=22.0)


_HEADS: Final = {PORT: _of_the_tutorial, UNMARKED: _unmarked}


@contextmanager
def _simulated_bench(head: SimulatedHead) -> Iterator[str]:
    """Serve a head in someone's hands.

    The hands do what the check asks for, and bench and check share one fast clock.  Without
    bounce and noise every run reads the same.
    """
    catalog, clock, wire = load_catalog(), FastClock(SPEED), find("digits14")
    hands = Hands(head, clock, bounce_s=0.0)
    meter = SimulatedMeter(catalog.meter("handheld-4000"), gain_error=0.002, lead_ohm=0.2)
    with (
        serve_socket(SimulatedBench(meter, hands, wire)) as url,
        Attendant(hands) as attendant,
        mock.patch("coilmeter.cli.measuring.RealClock", return_value=clock),
        mock.patch(
            "coilmeter.cli.connection.MeterStream", partial(MeterStream, silent_after=math.inf)
        ),
        mock.patch(
            "coilmeter.cli.measuring.run_live",
            partial(run_live, listener=lambda event: attendant.order(moves_for(event))),
        ),
    ):
        yield url
