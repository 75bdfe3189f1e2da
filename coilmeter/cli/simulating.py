"""The simulator at work: a port that is served, and lines that switch what it serves."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from coilmeter.cli.simulating_input import TypedLines
from coilmeter.cli.simulating_script import Line, Script
from coilmeter.cli.simulating_texts import Order
from coilmeter.cli.simulating_tone import tone_line
from coilmeter.cli.simulating_words import QUIT, understand
from coilmeter.cli.typed import say
from coilmeter.errors import CoilmeterError, InputError
from coilmeter.sources.outlet_pty import PtyOutlet
from coilmeter.sources.outlets import Outlet, SocketOutlet
from coilmeter.sources.servers import serve
from coilmeter.sources.simulated_dial import AcDial
from coilmeter.sources.simulated_station import Station
from coilmeter.units import format_ohm
from coilmeter.values import CASE, HeadKind

TURN_S: Final = 0.05
"""How often it looks for lines, in seconds."""


def choose_outlet(*, pty: bool | None, port: int | None, link: Path | None) -> Outlet:
    """Choose where the meter is plugged in.

    Parameters
    ----------
    pty
        A pseudo-terminal or a loopback socket; None for what else is said, then for a
        pseudo-terminal where the system has them.
    port
        Number of the socket.
    link
        Link to the pseudo-terminal.

    Raises
    ------
    InputError
        When a port is given for a pseudo-terminal, or a link to a socket.

    """
    if port is not None and (pty or link is not None):
        raise InputError("--port is for a socket", hint="leave out --pty and --link, or it.")
    if link is not None and pty is False:
        raise InputError("--link is for a pseudo-terminal", hint="leave out --socket, or it.")
    if pty is None:
        pty = port is None and (link is not None or sys.platform != "win32")
    return PtyOutlet(link) if pty else SocketOutlet(port or 0)


def run_simulation(
    station: Station,
    *,
    first: Sequence[Order] = (),
    script: Sequence[Line] = (),
    walk: bool = False,
    kind: HeadKind | None = None,
) -> None:
    """Serve the bench until the end is asked for, doing what is typed and scripted.

    Parameters
    ----------
    station
        The bench, with its outlet.
    first
        Orders to carry out before anyone can listen.
    script
        Lines of a script.
    walk
        Whether the hands begin to walk over the head each time the port is opened.
    kind
        Kind of the head, for the line that says what to type elsewhere.

    Raises
    ------
    CoilmeterError
        When the port cannot be made.

    """
    outlet = station.port()
    with station:
        for order in first:
            said = order()
            say(said)
        with serve(station.wire, outlet) as server:
            where = _tell_where(outlet, "")
            _introduce(station, kind, walk=walk)
            typed, scripted, openings = TypedLines(), Script(script, station), 0
            while not server.join(0):
                for text in typed.ready():
                    if text.lower() in QUIT:
                        return
                    _obey(text, station)
                for line in scripted.due():
                    if line.quits:
                        return
                    say(f"> {line.text}")
                    _carry_out(line.order)
                where = _tell_where(outlet, where)
                if walk and openings != station.wire.openings:
                    openings = station.wire.openings
                    say("the port was opened: the hands begin the walk")
                    station.perform()
                station.clock.sleep(TURN_S)


def _obey(text: str, station: Station) -> None:
    try:
        order = understand(station, text)
    except InputError as error:
        say(str(error))
        return
    _carry_out(order)


def _carry_out(order: Order | None) -> None:
    try:
        said = "" if order is None else order()
    except CoilmeterError as error:
        said = str(error)
    if said:
        say("\n".join(f"  {line}" for line in said.split("\n")))


def _tell_where(outlet: Outlet, before: str) -> str:
    """Put the address on the output, alone on its line, each time it is another one."""
    if outlet.where != before:
        sys.stdout.write(f"{outlet.where}\n")
        sys.stdout.flush()
    return outlet.where


def _introduce(station: Station, kind: HeadKind | None, *, walk: bool) -> None:
    form, meter, head = station.wire_format, station.model, station.hands.head
    say(f"{meter.description} ({meter.name}), {form.name}, {station.rate_hz:g} readings/s")
    coils = ", ".join(
        f"{name} ({a}-{b}) {format_ohm(ohm)}" for name, (a, b, ohm) in head.coils.items()
    )
    say(f"coils at 20 degC: {coils}; {CASE if head.case else 'no case'}")
    for fault in station.faults():
        say(f"  {fault}")
    named = f"--kind {kind.name}" if kind is not None else f"--coils {len(head.coils)}"
    doing = f"coilmeter check {named} --no-bin"
    if isinstance(station.meter.dial, AcDial):
        say(tone_line(station))
        series = format_ohm(station.hands.tone.resistor_ohm)
        doing = f"coilmeter impedance {named} --resistor '{series} +/- 1 %'"
    say(
        f"in another terminal: {doing} --port {station.port().where} "
        f"--format {form.name} --meter {meter.name}"
    )
    if not form.facts.verified:
        say(f"! the format {form.name} is not verified: a real meter may send something else.")
    if station.wire.asleep:
        say("its data output is off: it is silent until it is switched on")
    if walk:
        say("each time the port is opened the hands walk over the whole head")
    say("type help for what can be switched; quit or Ctrl-C ends")
