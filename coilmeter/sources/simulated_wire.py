"""A simulated bench at its port: who starts a reading, a sleeping meter, a bad cable."""

from __future__ import annotations

from typing import Final

from coilmeter.sources.clock import Clock
from coilmeter.sources.simulated import SimulatedBench
from coilmeter.sources.simulated_damage import Damage
from coilmeter.wire.dialogue import polled
from coilmeter.wire.responder import Responder

_TURNS_HZ: Final = 25.0
"""How often a meter that is asked looks for a question, in hertz."""

_LONGEST_QUESTION: Final = 4096


class SimulatedWire:
    """What a program finds at the port of a simulated meter.

    A meter that talks by itself sends a frame at its own rate; one that must be asked
    answers, with a reading no sooner after the one before than its rate allows.  Not
    simulated: the time that bytes take at their baud rate, and control lines.

    Parameters
    ----------
    bench
        The bench.
    asleep
        Whether its data output is off: then it is silent until the wake byte of its format
        comes, or `asleep` is set to False.
    seed
        Seed of the damage.

    Attributes
    ----------
    damage
        What the cable does to frames.
    responder
        The meter's side of the dialogue; None for a meter that talks by itself.
    openings
        How many times someone has opened the port, as far as that can be told.

    """

    def __init__(self, bench: SimulatedBench, *, asleep: bool = False, seed: int = 0) -> None:
        self.bench = bench
        self.asleep = asleep
        self.damage = Damage(seed)
        self.openings = 0
        form = polled(bench.wire_format)
        self.responder = (
            None
            if form is None
            else Responder(form, bench.display, reset=bench.meter.reset, turn=bench.turn)
        )
        self._query = "" if form is None else form.dialogue.query
        self._heard = b""
        self._ready_s = bench.clock.now()

    @property
    def clock(self) -> Clock:
        """The bench clock."""
        return self.bench.clock

    @property
    def rate_hz(self) -> float:
        """How often it has something to say at most, in hertz of the bench clock."""
        rate_hz = self.bench.rate_hz
        return rate_hz if self.responder is None else max(rate_hz, _TURNS_HZ)

    def opened(self) -> None:
        """Forget what was asked before the port was opened."""
        self.openings += 1
        self._heard = b""

    def hear(self, data: bytes) -> None:
        """Take what was written: a question, or the wake byte."""
        wake = self.bench.wire_format.settings.wake
        if self.asleep and wake and wake in data:
            self.asleep = False
        elif self.responder is not None and not self.asleep:
            self._heard = (self._heard + data)[-_LONGEST_QUESTION:]

    def frame(self) -> bytes:
        """Give what is sent now; nothing of a meter that sleeps, or was not asked."""
        if self.asleep:
            return b""
        if self.responder is None:
            return self.damage.pass_on(self.bench.frame())
        now = self.clock.now()
        if not self._heard or (now < self._ready_s and self._query.encode() in self._heard):
            return b""
        given = self.responder.given
        heard, self._heard = self._heard, b""
        answer = self.responder.receive(heard)
        if self.responder.given > given:
            self._ready_s = now + 1 / self.bench.rate_hz
        return self.damage.pass_on(answer)
