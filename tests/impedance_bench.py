"""A walk over AC volts with its file, fed with readings as a test wants them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from impedance_helpers import SOUND, table, true_volts

from coilmeter.compute.impedance_sets import impedance_of
from coilmeter.sources.impedance_keeper import VoltsFile
from coilmeter.values import Function, Reading
from coilmeter.values.impedance_rows import ImpedanceRow, Toleranced
from coilmeter.values.impedances import Method
from coilmeter.walks.impedance_steps import plan_tones
from coilmeter.walks.impedance_told import ToneEvent
from coilmeter.walks.impedance_walk import ToneWalk

HUM = 0.0006
TRUE = true_volts(SOUND.impedance_ohm(10e3), 10e3, 10e3)


class Bench:
    """A walk with its file, fed at five readings a second."""

    def __init__(
        self, path: Path, coils: Sequence[str] = ("1",), *, resume: bool = False
    ) -> None:
        self.file = VoltsFile(path, resume=resume)
        self.at = 0.0
        meter = table()
        self.template = ImpedanceRow(
            path=str(path),
            line=0,
            head="A",
            coil="",
            resistor=Toleranced(10e3, 100.0),
            meter="handheld-4000",
        )

        def made(row: ImpedanceRow) -> str:
            found = impedance_of([row], Method.THREE_VOLTMETER, meter, None).impedance
            return f"{1e3 * float(found.inductance.m_as('henry')):.0f} mH"

        self.walk = ToneWalk(
            plan_tones(coils, [10e3]),
            self.template,
            self.file,
            meter=meter,
            made=made,
            done={
                f"coil {row.coil} at 10 kHz, v_{across}": volts
                for row in self.file.rows
                for across, volts in row.volts.items()
            },
        )

    def hold(
        self, volt: float, seconds: float = 2.0, template: Reading | None = None
    ) -> list[ToneEvent]:
        """Hold the probes so for a while."""
        told: list[ToneEvent] = []
        for _ in range(round(5 * seconds)):
            self.at += 0.2
            told += self.walk.feed(self.at, template or shown(volt))
        return told

    def lift(self) -> list[ToneEvent]:
        """Hold the probes in the air."""
        return self.hold(HUM, 1.0)


def shown(volt: float, **more: object) -> Reading:
    """Make a reading as the display shows it."""
    reading = Reading(
        Function.AC_VOLTAGE,
        round(volt, 4),
        "volt",
        resolution=1e-4,
        raw=b"\x01\x02",
        display=f"{1e3 * volt:.1f} mV",
    )
    return replace(reading, **more)  # type: ignore[arg-type]


def kinds(events: Sequence[ToneEvent]) -> list[type]:
    """Kinds of events."""
    return [type(event) for event in events]
