"""What a person sees and hears while a meter is proved."""

from __future__ import annotations

import sys
from types import TracebackType
from typing import Final, Protocol, Self

from rich.console import Console
from rich.live import Live

from coilmeter.cli.boxed import FRAME, Boxed, Row
from coilmeter.cli.figures import big, big_words
from coilmeter.cli.words import reading_text
from coilmeter.units import format_ohm
from coilmeter.values import Reading
from coilmeter.walks.proving import (
    Part,
    ProofAdvice,
    ProofBegun,
    ProofDone,
    ProofEvent,
    ProofStep,
    ProofTaken,
)

KEYS: Final = "k it is the right one   s skip   q quit"
_ACTIONS: Final = {
    Part.SHORT: "SHORT",
    Part.SWAPPED: "SWAP",
    Part.OPEN: "OPEN",
    Part.RESISTOR: "CLIP R",
}


def proof_sentence(event: ProofEvent) -> str:
    """Say an event in one line."""
    match event:
        case ProofBegun(step=step, number=number, total=total):
            return f"[{number}/{total}] {step.what}"
        case ProofTaken(step=step, taken=None, range_ohm=end):
            return f"taken  {_name(step)}  OL{f' past {format_ohm(end)}' if end else ''}"
        case ProofTaken(step=step, taken=taken) if taken is not None:
            return (
                f"taken  {_name(step)}  {format_ohm(taken.mean_ohm)}, "
                f"{taken.count} readings, scatter {format_ohm(taken.scatter_ohm)}"
            )
        case ProofAdvice(text=text):
            return text
        case _:
            return "done"


def _name(step: ProofStep) -> str:
    if step.resistor is not None:
        return step.resistor.text
    return {
        Part.SHORT: "leads together",
        Part.SWAPPED: "leads together, swapped",
        Part.OPEN: "leads open",
    }[step.part]


class ProofScreen(Protocol):
    """Shows a proof."""

    def __enter__(self) -> Self: ...

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None: ...

    def happened(self, event: ProofEvent) -> None:
        """Show an event, and sound it."""
        ...

    def reading(self, reading: Reading, *, lifting: bool) -> None:
        """Show what the meter shows now."""
        ...


class ProofLines:
    """A line an event, for a log or a pipe."""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None: ...

    def happened(self, event: ProofEvent) -> None:
        """Print an event."""
        indent = "" if isinstance(event, (ProofBegun, ProofDone)) else "    "
        sys.stderr.write(f"{indent}{proof_sentence(event)}\n")
        sys.stderr.flush()

    def reading(self, reading: Reading, *, lifting: bool) -> None:
        """Leave single readings out."""


class ProofBench:
    """The big screen: what to do, the live value, what was taken."""

    def __init__(self, console: Console | None = None) -> None:
        self._console = console or Console(stderr=True)
        self._live = Live(console=self._console, auto_refresh=False, transient=True)
        self._line = self._action = self._advice = self._display = ""
        self._done: list[str] = []
        self._drawn: Boxed | None = None

    def __enter__(self) -> Self:
        self._live.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._live.stop()
        for line in self._done:
            self._console.print(line, markup=False, highlight=False)

    def happened(self, event: ProofEvent) -> None:
        """Show an event, and sound it."""
        text = proof_sentence(event)
        bells = 0
        match event:
            case ProofBegun(step=step):
                self._line, self._action = text, _ACTIONS[step.part]
            case ProofTaken():
                self._done.append(text)
                self._advice, bells = "", 1
            case ProofAdvice():
                self._advice, bells = text, 0 if text == "lift the clips" else 3
            case ProofDone():
                bells = 2
        self._draw()
        self._console.file.write("\a" * bells)
        self._console.file.flush()

    def reading(self, reading: Reading, *, lifting: bool) -> None:
        """Show what the meter shows now."""
        self._display = reading_text(reading)
        self._draw(lifting=lifting)

    def _draw(self, *, lifting: bool = False) -> None:
        action = "LIFT" if lifting else self._action
        rows = (
            Row(f"{self._line}\n", "bold"),
            Row(f"{big_words(action, self._console.width - FRAME)}\n"),
            Row(f"{big(self._display)}\n", "bold"),
            Row(self._advice, "bold", wraps=True),
            *(Row(line) for line in self._done[-4:]),
            Row(KEYS, "dim"),
        )
        boxed = Boxed(rows)
        if boxed != self._drawn:
            self._drawn = boxed
            self._live.update(boxed, refresh=True)


def make_proof_screen() -> ProofScreen:
    """Choose the big screen on a terminal, plain lines elsewhere."""
    return ProofBench() if sys.stderr.isatty() else ProofLines()
