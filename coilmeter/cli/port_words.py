"""The words for what becomes of a meter's connection, and for what to know of its format."""

from __future__ import annotations

from typing import Final

from coilmeter.errors import PortBusyError
from coilmeter.report.safe import harmless
from coilmeter.sources.poll_lines import Lines
from coilmeter.sources.port import MeterStream
from coilmeter.sources.port_errors import is_socket
from coilmeter.sources.port_events import (
    FellSilent,
    LinkBack,
    LinkLost,
    LinkRefused,
    TalksAgain,
    Trouble,
    Unreadable,
)
from coilmeter.wire.contract import Format

Q_ENDS: Final = "q ends"
CTRL_C_ENDS: Final = "Ctrl-C ends"


def trouble_words(event: Trouble, port: str, way_out: str) -> tuple[str, str]:
    """Say what happened to the meter, and what to do about it.

    Parameters
    ----------
    event
        What happened.
    port
        The port as the user named it.
    way_out
        How to end it.

    """
    safe = f"nothing is lost ({way_out})"
    match event:
        case LinkLost() if is_socket(port):
            advice = f"it is joined again when it is served again, {safe}"
            return "the connection to the meter is gone", advice
        case LinkLost():
            return "the meter is unplugged", f"plug it in again, {safe}"
        case LinkRefused(error=PortBusyError()):
            what = "the meter is plugged in again, and another program holds its port"
            return what, f"close that program, {safe}"
        case LinkRefused(error=error):
            told = "; ".join(text for text in (error.message, error.hint) if text)
            return "the meter is plugged in again", harmless(" ".join(told.split()))
        case FellSilent():
            return "nothing comes from the meter", (
                "asleep (auto power off)? Switch it on and press its output key (PC, USB, "
                f"RS232), see cable and baud rate; {safe}"
            )
        case Unreadable():
            return "the meter sends what cannot be read", (
                "see its plug and cable, and whether its format or baud rate is another now; "
                f"{safe}"
            )


def back_words(event: LinkBack | TalksAgain, port: str) -> str:
    """Say that the meter is there again."""
    if isinstance(event, TalksAgain):
        return "the meter talks again"
    elsewhere = f", as {harmless(event.url)}" if event.url != port else ""
    return f"the meter is back{elsewhere}"


def lines_text(lines: Lines) -> str:
    """Name control lines as they are set: DTR on and RTS off."""
    dtr, rts = ("on" if line else "off" for line in lines)
    return f"DTR {dtr} and RTS {rts}"


def found_text(lines: Lines) -> str:
    """Say which control lines made a meter talk, and how to give them."""
    dtr, rts = lines
    options = f"{'--dtr' if dtr else '--no-dtr'} {'--rts' if rts else '--no-rts'}"
    return f"the meter talks with {lines_text(lines)}: give {options}, and it does so at once"


def cautions_of(form: Format, *, verified: bool = False) -> list[str]:
    """Say what to know of a format before its readings are used.

    Where a proof of the meter has passed (`verified`), a format from memory is as good as
    any.
    """
    said = []
    if not (verified or form.facts.verified):
        said.append(
            f"! the format {form.name} is not verified: compare its readings with the display."
        )
    if form.facts.lookalikes:
        said.append(
            f"! {form.name} was chosen by you; what looks like it cannot be told from it:\n"
            + "\n".join(f"  - {each}" for each in form.facts.lookalikes)
        )
    return said


def asides_text(count: int) -> str:
    """Say how many readings of other displays were left out; empty for none."""
    if not count:
        return ""
    noun = "reading" if count == 1 else "readings"
    return f"{count} {noun} of other displays than the main one: left out."


SPOILT_WORTH_A_WORD: Final = 5
"""One torn frame at the beginning is usual."""


def afterwards(meter: MeterStream) -> list[str]:
    """Say at the end what a person should know of the connection."""
    found = "" if meter.found_lines is None else f"{found_text(meter.found_lines)}."
    spoilt = ""
    if meter.rejected >= SPOILT_WORTH_A_WORD:
        total = meter.rejected + meter.decoded
        spoilt = f"{meter.rejected} of {total} frames could not be read, and were left out."
    return [text for text in (found, asides_text(meter.asides), spoilt) if text]
