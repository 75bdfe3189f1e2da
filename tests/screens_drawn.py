"""The big screen of a walk on a terminal that is a string, and steps to show on it."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import IO

from rich.console import Console
from walk_helpers import ohms_of, steps_of, template

from coilmeter.cli.screen import Bench
from coilmeter.units import parse_reading
from coilmeter.values import numbered_kind
from coilmeter.walks.events import Event, Taken

LEADS, COIL, PATH, OTHER, *_ = steps_of(numbered_kind(2), lead_null=True, isolation=True)

ROW = replace(template(), reading=parse_reading("171.3 ohm"))

READING = ohms_of(171.3)

BELL = "\a"


def console_on(file: IO[str], width: int = 80, height: int = 24) -> Console:
    """Make a terminal of a file, without colours and whatever the surroundings are."""
    return Console(
        file=file,
        force_terminal=True,
        width=width,
        height=height,
        legacy_windows=False,
        color_system=None,
        _environ={},
    )


class Drawn:
    """A big screen on a terminal that is a string.

    Parameters
    ----------
    width, height
        Size of the terminal in characters.

    """

    def __init__(self, width: int = 80, height: int = 24) -> None:
        self.file = io.StringIO()
        self.console = console_on(self.file, width, height)
        self.bench = Bench(self.console)

    def now(self, *events: Event) -> list[str]:
        """Show events, then give the lines of the screen as drawn last."""
        for event in events:
            self.bench.happened(event, "intact" if isinstance(event, Taken) else "")
        paper = io.StringIO()
        console = Console(file=paper, width=self.console.width, height=self.console.height)
        console.print(self.bench._live.renderable)
        return paper.getvalue().splitlines()


def has(lines: list[str], figures: str) -> bool:
    """Whether figures stand on the screen."""
    rows = [row.rstrip() for row in figures.split("\n")]
    return any(
        all(row in line for row, line in zip(rows, lines[start:], strict=False))
        for start in range(len(lines) - len(rows) + 1)
    )
