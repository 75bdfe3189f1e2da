"""A simulated bench for flexing: someone who clips the coil, and moves its joint."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from helpers import shipped
from walk_processes import Process

from coilmeter.cli.connection import Connection
from coilmeter.cli.flexing import FlexJob
from coilmeter.cli.flexing_live import run_live
from coilmeter.cli.flexing_result import Outputs, Shelf, Subject, spec_of
from coilmeter.cli.options import Shape
from coilmeter.compute.circumstances import MeterTable
from coilmeter.sources.clock import Clock, FastClock, RealClock
from coilmeter.sources.servers import serve_pty, serve_socket
from coilmeter.sources.simulated import (
    Hands,
    SimulatedBench,
    SimulatedHead,
    SimulatedMeter,
)
from coilmeter.sources.simulated_thread import BenchThread
from coilmeter.walks.flexing_told import AskLifted, ClipOn, FlexEvent, MoveNow
from coilmeter.wire import find

KIND = "two-channel-rp"
SOUND = SimulatedHead.of_kind(
    shipped().kinds[KIND], {"1": 171.0, "2": 173.0}, temperature_degc=20.0
)
BROKEN = SOUND.with_open("2")
CORRODED = SOUND.with_resistance("2", 181.0)

Moving = Callable[["Person"], None]


class Person(BenchThread):
    """Someone who clips coil 2 when asked, and then moves its joint.

    Parameters
    ----------
    hands
        The hands at the bench.
    moving
        What happens while the joint is moved.
    told
        Answers what was said last; empty for nothing.

    """

    def __init__(self, hands: Hands, moving: Moving, told: Callable[[], str]) -> None:
        super().__init__("person", hands.clock)
        self.hands = hands
        self._moving = moving
        self._told = told

    def work(self) -> None:
        """Clip when asked, move when asked."""
        if self._heard("put the clips on"):
            self.hands.clip("3", "4")
        if self._heard("now move"):
            self._moving(self)

    def heard(self, text: str) -> bool:
        """Wait until something was said; False when it is over before."""
        return self._heard(text)

    def pause(self, seconds: float) -> bool:
        """Wait; False when it is over."""
        return self.wait_until(self.clock.now() + seconds)

    def _heard(self, text: str) -> bool:
        while text not in self._told():
            if not self.pause(0.05):
                return False
        return True


def still(_: Person) -> None:
    """Move a joint that is sound."""


def loose(person: Person) -> None:
    """Open the joint for 0.3 s every 1.5 s."""
    while person.pause(1.2):
        person.hands.head = BROKEN
        person.pause(0.3)
        person.hands.head = SOUND


def crackling(person: Person) -> None:
    """Have a contact of 8 ohm in the joint now and then."""
    while person.pause(1.0):
        person.hands.head = CORRODED
        person.pause(0.5)
        person.hands.head = SOUND


def lifting(person: Person) -> None:
    """Lift the clips in the end, and touch them together when asked."""
    person.pause(9.0)
    person.hands.lift()
    if person.heard("OL for"):
        person.hands.short_leads()


def breaking(person: Person) -> None:
    """Break the joint for good, and walk away."""
    person.pause(9.0)
    person.hands.head = BROKEN


def bench_of(clock: Clock, form: str, rate_hz: float) -> SimulatedBench:
    """Make a bench with a meter that flickers as they do."""
    meter = SimulatedMeter(shipped().meters["handheld-4000"], noise_counts=0.3, lead_ohm=0.2)
    return SimulatedBench(meter, Hands(SOUND, clock), find(form), rate_hz=rate_hz)


@contextmanager
def process(
    folder: Path, moving: Moving, *words: str, form: str = "digits14", pty: bool = False
) -> Iterator[Process]:
    """Run the command as a process on a bench, with someone who follows its words."""
    bench = bench_of(RealClock(), form, 10.0)
    with ExitStack() as stack:
        url = stack.enter_context(serve_pty(bench) if pty else serve_socket(bench))
        made = Process(folder, "flex", "--port", url, "--format", form, *words)
        stack.callback(made.kill)
        stack.enter_context(Person(bench.hands, moving, lambda: made.talk))
        yield made


@dataclass
class Quick:
    """One flexing in this process, on a clock that runs fast.

    Parameters
    ----------
    folder
        Where its files go.
    moving
        What happens while the joint is moved.
    how
        Fields of the job that differ.
    also
        Is told every event.

    """

    folder: Path
    moving: Moving = still
    form: str = "digits14"
    rate_hz: float = 10.0
    how: dict[str, Any] = field(default_factory=dict)
    events: list[FlexEvent] = field(default_factory=list)
    also: Callable[[FlexEvent], None] = lambda _: None

    @property
    def log(self) -> Path:
        """The raw log."""
        return self.folder / "flex.rawlog"

    @property
    def sheet(self) -> Path:
        """The readings file."""
        return self.folder / "K-07.csv"

    @property
    def out(self) -> Path:
        """The result."""
        return self.folder / "result.json"

    def run(self, speed: float = 8.0) -> int:
        """Run it; the exit code comes back."""
        clock = FastClock(speed)
        bench = bench_of(clock, self.form, self.rate_hz)
        lock = threading.Lock()
        said = [""]

        def listen(event: FlexEvent) -> None:
            words = {ClipOn: "put the clips on", MoveNow: "now move", AskLifted: "OL for"}
            with lock:
                self.events.append(event)
                said[0] += words.get(type(event), "")
            self.also(event)

        job = FlexJob(
            subject(),
            Outputs(Shape.JSON, self.out),
            Shelf(self.sheet, "K-07"),
            **{"for_s": 12.0, "clock": clock, "listener": listen, **self.how},
        )
        with (
            serve_socket(bench) as url,
            Person(bench.hands, self.moving, lambda: said[0]),
        ):
            return run_live(job, Connection(url, find(self.form)), self.log)


def subject() -> Subject:
    """Coil 2 of the head on the bench."""
    kind = shipped().kinds[KIND]
    spec = spec_of(kind, "2")
    band = None if spec is None else shipped().bands[spec.band]
    return Subject("K-07", "2", kind, spec, band, MeterTable(shipped().meter("handheld-4000")))


def flexing(text: str) -> dict[str, Any]:
    """Read the one flexing of a JSON document."""
    document = json.loads(text)
    assert document["schema"] == "coilmeter/1"
    (found,) = document["flexings"]
    return dict(found)
