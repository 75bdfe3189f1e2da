"""How the meter is connected: what the options say, checked together."""

from __future__ import annotations

import math
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from coilmeter.cli.logging_texts import parse_span
from coilmeter.compute.leads import FOUR_WIRE, NULLED
from coilmeter.errors import InputError, ReadingTextError
from coilmeter.sources.clock import Clock
from coilmeter.sources.poll_lines import Lines
from coilmeter.sources.port import MeterStream
from coilmeter.sources.port_errors import check_url, is_socket
from coilmeter.units import parse_range_end
from coilmeter.wire.contract import Format
from coilmeter.wire.dialogue import Dialogue, polled

UNATTENDED_WAIT_S: Final = 600.0
"""Where no keyboard is there to end it, a meter that is unplugged is waited for so long."""

_RESET: Final = "*RST"


@dataclass(frozen=True, slots=True)
class Connection:
    """A meter's port, and how to get on with it.

    Parameters
    ----------
    port, form
        Device name or URL, and the format of what comes.
    baud, lines
        Bits per second, and DTR and RTS; None for the format's usual ones.
    dialogue
        What is said to a meter that must be asked; None for the format's usual.
    wait_s
        Seconds for which a meter that is unplugged is waited for; infinity for ever.

    """

    port: str
    form: Format
    baud: int | None = None
    lines: Lines | None = None
    dialogue: Dialogue | None = None
    wait_s: float = math.inf

    def meter(self, clock: Clock, form: Format | None = None) -> MeterStream:
        """Make the meter's stream, not open yet; `form` in place of the format where given."""
        return MeterStream(
            self.port,
            form or self.form,
            clock,
            baud=self.baud,
            lines=self.lines,
            dialogue=self.dialogue,
        )

    def check(self) -> None:
        """Refuse what cannot be a port, before anything is made.

        Raises
        ------
        InputError
            Saying what was seen.

        """
        check_url(self.port, self.form.settings.baud if self.baud is None else self.baud)


def chosen_connection(
    form: Format | None,
    port: str,
    *,
    baud: int | None,
    dtr: bool | None,
    rts: bool | None,
    wait: str,
    lead: str = "",
    four_wire: bool = False,
) -> Connection | None:
    """Put together what the options say of the connection; None where readings are typed.

    Raises
    ------
    InputError
        When something does not fit, or is said of a port that is not given.

    """
    if form is None:
        need_port({"--baud": baud, "--dtr": dtr, "--rts": rts, "--wait": wait or None})
        return None
    if not port:
        raise InputError(
            f"--format {form.name} without --port",
            hint="say where the meter is, or type without it.",
        )
    connection = Connection(
        port,
        form,
        baud,
        chosen_lines(form, port, dtr=dtr, rts=rts),
        chosen_dialogue(form, lead, four_wire_meter=four_wire),
        chosen_wait(wait),
    )
    connection.check()
    return connection


def overload_range(
    form: Format | None, text: str, lead: str, *, four_wire: bool
) -> float | None:
    """Give the end of the range on which a meter shows OL, where its bytes do not tell it.

    As ``--range`` names it; else infinity, past the highest one, for a meter that was told
    to choose its range itself; else None.

    Raises
    ------
    InputError
        When it is neither the end of a range nor ``auto``.

    """
    if text:
        try:
            return parse_range_end(text)
        except ReadingTextError as error:
            raise InputError(f"--range: {error.message}", hint=error.hint) from error
    if form is None or (asked := polled(form)) is None:
        return None
    chosen = chosen_dialogue(form, lead, four_wire_meter=four_wire) or asked.dialogue
    return math.inf if chosen.autorange else None


def need_port(given: Mapping[str, object]) -> None:
    """Refuse options about a port where there is none; those not given are None.

    Raises
    ------
    InputError
        Naming the first.

    """
    for name, value in given.items():
        if value is not None:
            raise InputError(
                f"{name} without --port",
                hint="say where the meter is, or type without it.",
            )


def chosen_lines(
    form: Format, port: str, *, dtr: bool | None, rts: bool | None
) -> Lines | None:
    """Control lines that the options name; None where they name none.

    Raises
    ------
    InputError
        When the port has none.

    """
    if dtr is None and rts is None:
        return None
    if is_socket(port):
        raise InputError(
            f"--dtr and --rts with {port}: a network connection has no control lines",
            hint="leave them out; the computer that serves the meter sets them.",
        )
    usual = form.settings
    return (usual.dtr if dtr is None else dtr, usual.rts if rts is None else rts)


def chosen_wait(text: str) -> float:
    """Seconds to wait for a meter that is unplugged, as ``--wait`` names them.

    Raises
    ------
    InputError
        When it is neither a span of time nor ``ever``.

    """
    word = text.strip().lower()
    if word == "ever" or (not word and sys.stdin is not None and sys.stdin.isatty()):
        return math.inf
    if word in {"0", "0s"}:
        return 0.0
    return parse_span("--wait", text) if word else UNATTENDED_WAIT_S


def chosen_dialogue(form: Format, lead: str, *, four_wire_meter: bool) -> Dialogue | None:
    """Choose what a meter that is asked must be asked, so that it fits what the leads add.

    Parameters
    ----------
    form
        The format.
    lead
        What the leads add, as text; empty where it is not said.
    four_wire_meter
        Whether the meter reads with four wires where nothing is said.

    Raises
    ------
    InputError
        When the leads are said to be nulled by a meter that is reset first.

    """
    asked, word = polled(form), lead.strip().lower()
    if asked is None:
        return None
    if word in NULLED and _RESET in asked.dialogue.setup:
        raise InputError(
            f"--lead {lead} with --format {form.name}: the meter is reset before it is asked, "
            "and its null is gone then",
            hint="leave --lead out: the leads are measured first, and taken off here.",
        )
    with_four = word in FOUR_WIRE or (not word and four_wire_meter)
    return asked.four_wire if with_four else None


def check_four_wire(form: Format | None, lead: str) -> None:
    """Refuse ``--four-wire`` where nobody can ask for it, or the leads are told otherwise.

    Raises
    ------
    InputError
        Saying what to give in its place.

    """
    asked = None if form is None else polled(form)
    if asked is None or asked.four_wire is None:
        who = "what is typed" if form is None else f"a meter of format {form.name}"
        raise InputError(
            f"--four-wire: {who} cannot be asked for four wires",
            hint="choose four wires at the meter itself, and say --lead four-wire.",
        )
    if lead and lead.strip().lower() not in FOUR_WIRE:
        raise InputError(
            f"both --four-wire and --lead {lead}",
            hint="with four wires nothing of the leads is in the reading: leave --lead out.",
        )
