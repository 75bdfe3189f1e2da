"""What a person sees and hears while a meter is proved."""

from __future__ import annotations

import math
import sys
from collections.abc import Iterable
from types import TracebackType
from typing import Final, Protocol, Self

from rich.console import Console

from coilmeter.cli.boxed import FRAME, Boxed, Row
from coilmeter.cli.figures import big, big_words
from coilmeter.cli.live_screen import LiveScreen, PlainLines
from coilmeter.cli.words import reading_text
from coilmeter.units import format_ohm
from coilmeter.values import Reading
from coilmeter.walks.proving_told import (
    AskDisplay,
    Part,
    ProofAdvice,
    ProofAgain,
    ProofBack,
    ProofBegun,
    ProofDone,
    ProofEvent,
    ProofLift,
    ProofStep,
    ProofTaken,
    ended,
)

KEYS: Final = "k it is the right one   s skip   r the one before again   q quit"
KEYS_ASKED: Final = "y it shows the same   n it does not   s skip   q quit"
_ACTIONS: Final = {
    Part.SHORT: "SHORT",
    Part.SWAPPED: "SWAP",
    Part.OPEN: "OPEN",
}


def _action(step: ProofStep) -> str:
    """Say what to do in a word or two, to be read from afar."""
    if step.resistor is not None:
        return f"CLIP {format_ohm(step.resistor.ohm)}"
    return _ACTIONS[step.part]


def proof_sentence(event: ProofEvent) -> str:  # noqa: PLR0911 - a line each
    """Say an event in one line."""
    match event:
        case ProofBegun(step=step, number=number, total=total):
            return f"[{number}/{total}] {step.what}"
        case ProofTaken(step=step, taken=None, range_ohm=end):
            return f"taken  {step.name}  OL{_past(end)}"
        case ProofTaken(step=step, taken=taken) if taken is not None:
            return (
                f"taken  {step.name}  {format_ohm(taken.mean_ohm)}, "
                f"{taken.count} readings, scatter {taken.scatter_ohm:.2g} ohm"
            )
        case ProofBack(was=was):
            return f"taken back  {was.step.name}"
        case ProofAdvice(text=text):
            return text
        case ProofLift():
            return "lift the clips"
        case ProofAgain(why=why):
            return f"{ended(why)} Lift, clean the clips, and clip it again"
        case AskDisplay(taken=taken):
            return (
                f"the program reads {format_ohm(taken.mean_ohm)}: does the meter's own "
                "display show the same now? Press y or n"
            )
        case _:
            return "done"


def _past(end_ohm: float | None) -> str:
    """Words for the range of an OL; infinity stands for one the meter chose by itself."""
    if end_ohm is None:
        return ""
    if math.isinf(end_ohm):
        return " past its highest range"
    return f" past {format_ohm(end_ohm)}"


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


class ProofLines(PlainLines):
    """A line an event, for a log or a pipe."""

    def happened(self, event: ProofEvent) -> None:
        """Print an event."""
        indent = "" if isinstance(event, (ProofBegun, ProofDone)) else "    "
        self.write(proof_sentence(event), indent)

    def reading(self, reading: Reading, *, lifting: bool) -> None:
        """Leave single readings out."""


class ProofBench(LiveScreen):
    """The big screen: what to do, the live value, what was taken."""

    def __init__(self, console: Console | None = None) -> None:
        super().__init__(console)
        self._line = self._action = self._advice = self._display = ""
        self._done: list[str] = []
        self._asked = self._lifting = False
        self._drawn: Boxed | None = None

    def happened(self, event: ProofEvent) -> None:
        """Show an event, and sound it."""
        text = proof_sentence(event)
        bells = 0
        match event:
            case ProofBegun(step=step):
                self._line, self._action = text, _action(step)
                self._asked = False
            case ProofTaken():
                self._done.append(text)
                self._advice, self._asked, bells = "", False, 1
            case ProofBack(was=was):
                # What is shown as taken counts: this does no more.
                gone = self._done.index(proof_sentence(was))
                self._done[gone] = text
            case ProofLift():
                self._advice, self._asked, self._lifting = text, False, True
            case ProofAdvice():
                self._advice, bells = text, 3
            case ProofAgain():
                self._advice, self._lifting, bells = text, True, 3
            case AskDisplay():
                self._advice, self._asked, bells = text, True, 3
            case ProofDone():
                bells = 2
        self._draw()
        self._ring(bells)

    def reading(self, reading: Reading, *, lifting: bool) -> None:
        """Show what the meter shows now."""
        self._display = reading_text(reading)
        if self._lifting and not lifting:
            self._advice = ""
        self._lifting = lifting
        self._draw()

    def _left(self) -> Iterable[str]:
        return self._done

    def _draw(self) -> None:
        action = "COMPARE" if self._asked else "LIFT" if self._lifting else self._action
        rows = (
            Row(f"{self._line}\n", "bold"),
            Row(f"{big_words(action, self._console.width - FRAME)}\n"),
            Row(f"{big(self._display)}\n", "bold"),
            Row(self._advice, "bold", wraps=True),
            *(Row(line) for line in self._done[-4:]),
            Row(KEYS_ASKED if self._asked else KEYS, "dim"),
        )
        boxed = Boxed(rows)
        if boxed != self._drawn:
            self._drawn = boxed
            self._live.update(boxed, refresh=True)


def make_proof_screen() -> ProofScreen:
    """Choose the big screen on a terminal, plain lines elsewhere."""
    return ProofBench() if sys.stderr.isatty() else ProofLines()
