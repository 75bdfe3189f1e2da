"""Simulated heads and meters out of what the catalog knows."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from coilmeter.catalog.head_file import HeadDescription, sound_coils
from coilmeter.catalog.head_tone import CoreDescription, ToneDescription
from coilmeter.compute.impedance_advice import SHORTS_HZ, advise
from coilmeter.errors import InputError
from coilmeter.sources.simulated import carries
from coilmeter.sources.simulated_core import Core, core_for
from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.sources.simulated_meter import SimulatedMeter
from coilmeter.sources.simulated_tone import ToneBench
from coilmeter.values import Band, HeadKind, Meter, Role
from coilmeter.wire.contract import Format

USUAL_METERS: Final = ("handheld-4000", "handheld-22000", "bench-6-digit")
"""Meters to simulate where none is named: the first whose ranges the format carries."""


def described_head(description: HeadDescription) -> SimulatedHead:
    """Put a head that is described in a file on the bench."""
    roles = (
        {}
        if description.kind is None
        else {coil.name: coil.role for coil in description.kind.coils}
    )
    head = SimulatedHead(
        description.coils,
        leaks=description.leaks,
        breaks=description.breaks,
        temperature_degc=description.temperature_degc,
        case=description.case,
        taps=description.taps,
        cores={
            name: _core(description.cores.get(name, CoreDescription()), ohm, roles.get(name))
            for name, (_, _, ohm) in description.coils.items()
            if math.isfinite(ohm)
        },
    )
    for coil, share in description.shorted:
        head = head.with_shorted_turns(coil, share)
    return head


def sound_head(kind: HeadKind, bands: Mapping[str, Band]) -> SimulatedHead:
    """Put an invented sound head of a kind on the bench, at 20 degC."""
    return described_head(HeadDescription(kind, sound_coils(kind, bands), case=kind.case))


def described_tone(description: ToneDescription, head: SimulatedHead) -> ToneBench:
    """Set up source and series resistor for a head.

    What is not described is as `coilmeter impedance --advise` has it for the coil that is
    connected.
    """
    coil = description.coil or next(iter(head.coils))
    _, _, ohm = head.coils[coil]
    hertz = description.frequency_hz or SHORTS_HZ
    advice = advise(head.core_of(coil).coil(ohm if math.isfinite(ohm) else 1.0), hertz)
    level = description.level_volt
    return ToneBench(
        resistor_ohm=description.resistor_ohm or advice.resistor_ohm,
        frequency_hz=hertz,
        drive_volt=float(f"{advice.total_volt:.2g}") if level is None else level,
        source_ohm=description.source_ohm or 0.0,
        coil=coil,
        across=description.across,
    )


def _core(description: CoreDescription, ohm: float, role: Role | None) -> Core:
    """Put together what a role lets expect of a coil and what is said of it."""
    usual = core_for(ohm, role or Role.UNKNOWN)
    said = {
        "inductance_h": description.inductance_h,
        "loss": None if description.core_q is None else 1 / description.core_q,
        "coupling": description.coupling,
        "capacitance_f": description.capacitance_f,
        "gap_left": description.gap_left,
    }
    return replace(usual, **{key: value for key, value in said.items() if value is not None})


def usual_meter(wire_format: Format, meters: Mapping[str, Meter]) -> Meter:
    """Choose the first of the usual meters whose ranges a format can carry.

    Raises
    ------
    InputError
        When it carries none of them.

    """
    for name in USUAL_METERS:
        meter = meters[name]
        try:
            carries(wire_format, SimulatedMeter(meter))
        except InputError:
            continue
        return meter
    raise InputError(
        f"format {wire_format.name!r} carries none of the usual meters",
        hint="name a --meter of a catalog of your own.",
    )
