"""A proof that is played to its walk, at ten readings a second."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from helpers import shipped
from walk_helpers import OL, ohms_of

from coilmeter.cli.proving_judged import ProofJob
from coilmeter.values import Reading
from coilmeter.values.proofs import KnownResistor
from coilmeter.walks.proving import ProofWalk
from coilmeter.walks.proving_told import (
    Part,
    ProofAdvice,
    ProofAgain,
    ProofEvent,
    ProofStep,
    ProofTaken,
)

KNOWN: Final = KnownResistor("220 ohm 1%", 220.0, 0.01)
SHORT: Final = ProofStep(Part.SHORT)
SWAPPED: Final = ProofStep(Part.SWAPPED)
OPEN: Final = ProofStep(Part.OPEN)
RESISTOR: Final = ProofStep(Part.RESISTOR, KNOWN, 1)


class Played:
    """A walk fed at ten readings a second.

    Parameters
    ----------
    display
        Whether the display is to be compared.
    weighs
        Whether readings are weighed against what handheld-4000 states.

    """

    def __init__(self, *, display: bool = False, weighs: bool = True) -> None:
        job = ProofJob(shipped().meter("handheld-4000"), (KNOWN,))
        self.walk = ProofWalk(
            (KNOWN,),
            lambda reading: reading.full_scale,
            against=job.against if weighs else lambda _step, _taken, _before: "",
            ask_display=display,
        )
        self.at = 50.0
        self._random = np.random.default_rng(3)
        self.events: list[ProofEvent] = list(self.walk.start())

    def show(self, seconds: float, *readings: Reading) -> list[ProofEvent]:
        """Show readings in turn for a while."""
        said: list[ProofEvent] = []
        for number in range(round(10 * seconds)):
            self.at += 0.1
            said += self.walk.feed(self.at, readings[number % len(readings)])
        self.events += said
        return said

    def ohms(self, ohm: float, seconds: float = 3.0) -> list[ProofEvent]:
        """Show ohms that flicker in their last digit."""
        flicker = [ohms_of(round(ohm + step, 1)) for step in (0.0, 0.1, 0.0, 0.0, 0.1)]
        return self.show(seconds, *flicker)

    def lift(self, seconds: float = 1.0) -> list[ProofEvent]:
        """Lift the clips."""
        return self.show(seconds, OL)

    def to_the_resistor(self) -> None:
        """Go through the leads."""
        self.ohms(0.2)
        self.lift()
        self.ohms(0.2)
        self.lift(5.0)

    def to_the_display_of_the_resistor(self) -> None:
        """Go through the leads and the resistor, saying once that the display agrees."""
        self.ohms(0.2)
        self.walk.answer(agrees=True)
        self.lift()
        self.ohms(0.2)
        self.lift(5.0)
        self.ohms(220.5)

    @property
    def taken(self) -> list[ProofStep]:
        """Steps that were taken, in order."""
        return [event.step for event in self.events if isinstance(event, ProofTaken)]


def texts(events: Sequence[ProofEvent]) -> list[str]:
    """Give what was said besides."""
    return [event.text for event in events if isinstance(event, ProofAdvice)]


def whys(events: Sequence[ProofEvent]) -> list[str]:
    """Give what readings were asked again for."""
    return [event.why for event in events if isinstance(event, ProofAgain)]
