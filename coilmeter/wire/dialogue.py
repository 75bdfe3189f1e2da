"""What the computer says to a meter that must be asked: told by its format, spoken elsewhere.

A format whose meter does not talk by itself has a `Dialogue` beside its decoder.  What is
sent when, and what may be believed of the replies, is `coilmeter.wire.conversation`; the
meter's side of it is `coilmeter.wire.responder`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, Protocol, cast

from coilmeter.wire.contract import Format

_ENTRY: Final = re.compile(rb"\s*([+-]?[0-9]{1,5})\s*,\s*\"([^\"\r\n]*)\"\s*")


@dataclass(frozen=True, slots=True)
class Dialogue:
    """What is sent to a meter, line by line, and what it answers.

    Parameters
    ----------
    query
        Asks for one reading; its reply is one line.
    setup
        Lines sent once before the first query, without replies of their own.
    serial_setup
        Lines sent before those on a serial port, and not on a socket.
    error_query
        Asks for the oldest entry of the meter's error queue; empty where it has none.  It is
        asked after the set-up, and after each reply that is a special number, before that is
        believed.
    line_end
        What ends a line that is sent.
    prompt
        Line that the meter sends when it is ready for the next one; empty where it does not.
    refusals
        Prompts, in the same place, of a meter that did not understand or could not obey.
    autorange
        Whether the set-up leaves the range to the meter: then an overload lies past the
        highest one.
    reply_within_s
        Seconds in which a meter that works has answered.

    """

    query: str
    setup: tuple[str, ...] = ()
    serial_setup: tuple[str, ...] = ()
    error_query: str = ""
    line_end: str = "\n"
    prompt: str = ""
    refusals: tuple[str, ...] = ()
    reply_within_s: float = 4.0
    autorange: bool = False


class PolledFormat(Format, Protocol):
    """A wire format whose meter sends a reading only when it is asked for one."""

    @property
    def dialogue(self) -> Dialogue:
        """What is said to the meter, ohms measured with two wires."""
        ...

    @property
    def four_wire(self) -> Dialogue | None:
        """The same with four wires; None where the meter's own keys choose that."""
        ...

    @property
    def ac_volts(self) -> PolledFormat | None:
        """The format of the same meter set up for AC volts; None where its keys choose that."""
        ...


@dataclass(frozen=True, slots=True)
class ErrorEntry:
    """One entry of a meter's error queue; number 0 says that the queue is empty."""

    number: int
    text: str

    def __str__(self) -> str:
        return f"{self.number} {self.text!r}"


def polled(form: Format) -> PolledFormat | None:
    """Give a format as one that is asked, or None where its meter talks by itself."""
    return cast("PolledFormat", form) if hasattr(form, "dialogue") else None


def on_ac_volts(form: Format) -> Format:
    """Give the format of the same meter for AC volts, which other formats tell themselves."""
    asked = polled(form)
    return form if asked is None or asked.ac_volts is None else asked.ac_volts


def error_entry(line: bytes) -> ErrorEntry | None:
    """Read a line as a number and a quoted text; None where it is something else.

    The form is that of SCPI-1999 for ``SYSTem:ERRor?`` (from memory, not verified).
    """
    found = _ENTRY.fullmatch(line)
    if found is None:
        return None
    return ErrorEntry(int(found[1]), found[2].decode("latin-1"))
