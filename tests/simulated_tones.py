"""`coilmeter impedance` on a bench of the simulator: the real command, bytes, a fast clock."""

from __future__ import annotations

import math
from contextlib import ExitStack, nullcontext
from functools import partial
from pathlib import Path
from unittest import mock

from helpers import Ran, cli

from coilmeter.cli.impedance_live import run_tones
from coilmeter.cli.keys import NoKeys
from coilmeter.sources.port import MeterStream
from coilmeter.sources.servers import serve
from coilmeter.sources.simulated_hands import Hands
from coilmeter.sources.simulated_script import Move
from coilmeter.sources.simulated_station import Station
from coilmeter.values import Function
from coilmeter.walks.impedance_steps import ToneStep
from coilmeter.walks.impedance_told import ToneBegun, ToneEvent
from coilmeter.wire.dialogue import polled

LIFTED_S = 1.0
"""How long the leads are in the air between two places."""


def follow(station: Station, event: ToneEvent) -> None:
    """Have the hands do what a step asks for."""
    if isinstance(event, ToneBegun):
        step = event.step
        station.move(
            Move(0.0, Hands.lift), Move(LIFTED_S, lambda hands: _touch(station, hands, step))
        )


def _touch(station: Station, hands: Hands, step: ToneStep) -> None:
    station.hands.tone.frequency_hz = step.frequency_hz
    if step.connect:
        hands.connect(step.coil)
    hands.probe(step.across)


class _Patience(NoKeys):
    """Nobody presses a key, until so many seconds have passed on the bench."""

    def __init__(self, station: Station, seconds: float) -> None:
        self._clock = station.clock
        self._end = station.clock.now() + seconds

    def pressed(self) -> str:
        """Press q at the end of patience."""
        return "q" if self._clock.now() > self._end else ""


def tones(station: Station, folder: Path, *words: str, patience_s: float = math.inf) -> Ran:
    """Measure what is on the bench with AC volts, kept in ``volts.csv``, as JSON.

    Whoever does it gives up after `patience_s` seconds of the bench.
    """
    asked = polled(station.wire_format)
    keys = _Patience(station, patience_s)
    if (asked is None or asked.ac_volts is None) and station.meter.dial is None:
        station.bench.turn(Function.AC_VOLTAGE)
    tone = station.hands.tone
    with ExitStack() as stack:
        stack.enter_context(station)
        stack.enter_context(serve(station.wire, station.port()))
        for name, thing in (
            ("impedance_job.RealClock", lambda: station.clock),
            ("impedance_job.keyboard", lambda: nullcontext(keys)),
            ("connection.MeterStream", partial(MeterStream, silent_after=math.inf)),
            (
                "impedance_job.run_tones",
                partial(run_tones, listener=partial(follow, station)),
            ),
        ):
            stack.enter_context(mock.patch(f"coilmeter.cli.{name}", thing))
        return cli(
            *("impedance", *words, "--as", "json", "--keep", str(folder / "volts.csv")),
            *("--resistor", f"{tone.resistor_ohm:g} ohm +/- 1 %"),
            *("--port", station.port().where, "--format", station.wire_format.name),
            *("--meter", station.model.name),
        )
