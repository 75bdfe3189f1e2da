"""`coilmeter check` on a simulated bench: the real command, real bytes, a clock that runs fast.

Someone at the bench does what the check asks for, as soon as it asks.
"""

from __future__ import annotations

import math
import os
import time
from collections.abc import Callable
from contextlib import ExitStack, nullcontext
from functools import partial
from pathlib import Path
from typing import Final
from unittest import mock

import pytest
from helpers import Ran, cli, shipped

from coilmeter.cli.demonstration import moves_for
from coilmeter.cli.keys import NoKeys
from coilmeter.cli.live import run_live
from coilmeter.cli.screen import Lines
from coilmeter.cli.simulating_words import understand
from coilmeter.sources.clock import FastClock
from coilmeter.sources.outlet_pty import PtyOutlet
from coilmeter.sources.outlets import Outlet, SocketOutlet
from coilmeter.sources.port import MeterStream
from coilmeter.sources.servers import serve
from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.sources.simulated_made import sound_head, usual_meter
from coilmeter.sources.simulated_station import Station
from coilmeter.values import Reading
from coilmeter.walks.contact import State
from coilmeter.walks.events import Begun, Event
from coilmeter.wire import find

SPEED: Final = 25.0
"""Seconds of the bench in one real second."""

needs_pty = pytest.mark.skipif(not hasattr(os, "openpty"), reason="no pseudo-terminals here")

PATIENCE_S: Final = 25.0
"""Real seconds after which a check is ended: it waits for something that does not come."""

STUBBORN_S: Final = 4.0
"""Seconds of the bench after which a person notices that the check still says LIFT."""

React = Callable[[Event, Station], None]


class _Patience(NoKeys):
    """Nobody presses a key, until it has lasted too long."""

    def __init__(self) -> None:
        self._end = time.monotonic() + PATIENCE_S

    def pressed(self) -> str:
        """Press q at the end of patience."""
        return "q" if time.monotonic() > self._end else ""


class _Follower(Lines):
    """Someone who does what the events ask for, and sees when LIFT stays on the screen."""

    def __init__(self, station: Station) -> None:
        super().__init__()
        self._station = station
        self._begun: Event | None = None
        self._at = math.inf

    def hear(self, event: Event) -> None:
        """Do what an event asks for."""
        if isinstance(event, Begun):
            self._begun = event
        self._do(event)

    def reading(self, reading: Reading, state: State | None) -> None:  # noqa: ARG002 - as Lines
        """Lift again where the check has not noticed."""
        late = self._station.clock.now() - self._at > STUBBORN_S
        if state is State.LIFTING and late and self._begun is not None:
            self._do(self._begun)

    def _do(self, event: Event) -> None:
        moves = moves_for(event)
        if moves:
            self._at = self._station.clock.now()
            self._station.move(*moves)


def do(station: Station, *lines: str) -> None:
    """Do at the bench what could be typed at the simulator."""
    for line in lines:
        understand(station, line)()


def station_with(
    head: SimulatedHead, form: str, *, meter: str = "", pty: bool = False, rate_hz: float = 10.0
) -> Station:
    """Put a head on a bench whose clock runs fast."""
    wire = find(form)
    model = shipped().meter(meter) if meter else usual_meter(wire, shipped().meters)
    outlet: Outlet = PtyOutlet() if pty else SocketOutlet()
    return Station(head, model, wire, FastClock(SPEED), rate_hz=rate_hz, outlet=outlet)


def still_station(form: str = "digits14") -> Station:
    """Put a head of two coils on a bench without bounce, noise and leads."""
    kind = shipped().kind("two-channel-rp")
    head = sound_head(kind, shipped().bands)
    station = Station(
        head.with_resistance("1", 184.0).with_resistance("2", 186.0),
        shipped().meter("handheld-4000"),
        find(form),
        FastClock(200.0),
        outlet=SocketOutlet(),
    )
    station.hands.bounce_s = 0.0
    station.meter.noise_counts = station.meter.lead_ohm = 0.0
    return station


def check(
    station: Station,
    folder: Path,
    *words: str,
    react: React = lambda _event, _station: None,
    follow: bool = True,
    silent_after: float = math.inf,
) -> Ran:
    """Run a check of what is on the bench.

    Parameters
    ----------
    station
        The bench.
    folder
        Where the readings are kept, as ``head.csv``.
    words
        More words of the command line.
    react
        Is told every event, before the person at the bench does what it asks for.
    follow
        Whether the person at the bench follows the check.
    silent_after
        Seconds of the bench after which a silent meter is given up.

    """
    person = _Follower(station)

    def listen(event: Event) -> None:
        react(event, station)
        if follow:
            person.hear(event)

    with ExitStack() as stack:
        stack.enter_context(station)
        stack.enter_context(serve(station.wire, station.port()))
        stream = partial(MeterStream, silent_after=silent_after)
        for name, thing in (
            ("measuring.RealClock", lambda: station.clock),
            ("connection.MeterStream", stream),
            ("measuring.make_screen", lambda: person),
            ("measuring.keyboard", lambda: nullcontext(_Patience())),
            ("measuring.run_live", partial(run_live, listener=listen)),
        ):
            stack.enter_context(mock.patch(f"coilmeter.cli.{name}", thing))
        return cli(
            "check",
            *words,
            *("--port", station.port().where, "--format", station.wire_format.name),
            *("--meter", station.model.name, "--no-bin", "--keep", str(folder / "head.csv")),
        )
