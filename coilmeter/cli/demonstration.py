"""An invented head on a simulated bench, measured by the real check."""

from __future__ import annotations

import math
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Final

from coilmeter.catalog import Catalog
from coilmeter.cli.checking import Job
from coilmeter.cli.demonstration_proof import (
    proof_story,
    prove_first,
    resistor_on_the_bench,
)
from coilmeter.cli.keys import NoKeys
from coilmeter.cli.live import run_live
from coilmeter.cli.screen import Lines
from coilmeter.compute.settings import Settings
from coilmeter.sources.clock import FastClock
from coilmeter.sources.keeper import SheetKeeper
from coilmeter.sources.port import MeterStream
from coilmeter.sources.servers import serve_socket
from coilmeter.sources.simulated import (
    Hands,
    Move,
    SimulatedBench,
    SimulatedHead,
    SimulatedMeter,
)
from coilmeter.sources.simulated_person import Attendant
from coilmeter.values import CASE, HeadResult
from coilmeter.walks.events import (
    AskBridge,
    Begun,
    Event,
    LiftLonger,
    NearZeroHeld,
    ReadsLikeACoil,
    SeenTogether,
)
from coilmeter.walks.steps import CLIPS, Step
from coilmeter.wire import find

HEAD: Final = "shelf-3"
KIND: Final = "four-channel-rp"
METER: Final = "handheld-4000"
FORMAT: Final = "digits14"
ROOM_DEGC: Final = 22.0
SPEED: Final = 16.0
"""Seconds of the bench in one real second."""

COILS_OHM: Final = {"1": 184.0, "2": 186.0, "3": 148.0, "4": 185.0}
LEAK_OHM: Final = 220e3
STORY: Final = (
    f"A four-channel head from the shelf, on a simulated bench: coil 2 is broken, coil 3 has "
    f"a fifth fewer ohms than its siblings, coil 4 leaks to the case. The meter is a hand-held "
    f"of 4000 counts; its {FORMAT} bytes arrive over a loopback socket, {SPEED:g} times as "
    "fast as at a real bench."
)


def demo_settings(catalog: Catalog) -> Settings:
    """Say what a person at this bench would say on the command line."""
    return Settings(
        bands=catalog.bands,
        meters=catalog.meters,
        kinds=catalog.kinds,
        meter=METER,
        kind=KIND,
        temperature=f"{ROOM_DEGC:g} +/- 1",
    )


def run_demo(
    settings: Settings,
    *,
    speed: float = SPEED,
    told: Callable[[str], object] = lambda _: None,
) -> list[HeadResult]:
    """Prove the meter, measure the invented head, and judge it from what was kept.

    Parameters
    ----------
    settings
        As `demo_settings` makes them.
    speed
        Seconds of the bench in one real second.
    told
        Is told what the proof of the meter found.

    """
    clock = FastClock(speed)
    hands = Hands(resistor_on_the_bench(), clock)
    meter = SimulatedMeter(
        settings.meters[METER], gain_error=0.003, noise_counts=0.3, lead_ohm=0.2, seed=7
    )
    wire = find(FORMAT)
    bench = SimulatedBench(meter, hands, wire)
    with (
        tempfile.TemporaryDirectory(prefix="coilmeter-") as folder,
        serve_socket(bench) as url,
        Attendant(hands) as attendant,
        MeterStream(url, wire, clock, silent_after=math.inf) as stream,
        Lines() as screen,
        SheetKeeper(Path(folder) / f"{HEAD}.csv") as keeper,
    ):
        settings, proof = prove_first(settings, stream, attendant)
        told(proof_story(proof))
        hands.head = _head(settings)
        job = Job(HEAD, settings.kinds[KIND], settings, keeper)
        keys = _ReadyKeys()

        def listen(event: Event) -> None:
            attendant.order(moves_for(event))
            keys.hear(event)

        run_live(job.walk(), job, stream, screen, keys=keys, listener=listen)
        return job.results()


class _ReadyKeys(NoKeys):
    """The one key that a person at this bench presses: what looks doubtful is what it is."""

    def __init__(self) -> None:
        self._next = ""

    def hear(self, event: Event) -> None:
        if isinstance(event, (NearZeroHeld, ReadsLikeACoil)):
            self._next = "k"

    def pressed(self) -> str:
        pressed, self._next = self._next, ""
        return pressed


def _head(settings: Settings) -> SimulatedHead:
    sound = SimulatedHead.of_kind(settings.kinds[KIND], COILS_OHM, temperature_degc=ROOM_DEGC)
    return sound.with_open("2").with_leak(("4", 0.5), CASE, LEAK_OHM)


def moves_for(event: Event) -> tuple[Move, ...]:
    """List what a person does who hears this event."""
    match event:
        case Begun(step=step, together=True):
            return (Move(0.4, Hands.lift), Move(1.4, Hands.short_leads))
        case Begun(step=step) | LiftLonger(step=step) | SeenTogether(step=step):
            return (Move(0.4, Hands.lift), Move(1.4, lambda hands: _clip(hands, step)))
        case AskBridge():
            return (
                Move(0.5, lambda hands: hands.bridge(on=True)),
                Move(0.6, lambda hands: hands.bridge(on=False)),
            )
        case _:
            return ()


def _clip(hands: Hands, step: Step) -> None:
    if step.points == CLIPS:
        hands.short_leads()
    else:
        hands.clip(*step.points)
