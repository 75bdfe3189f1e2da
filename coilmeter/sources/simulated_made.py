"""Simulated heads and meters out of what the catalog knows."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from coilmeter.catalog.head_file import HeadDescription, sound_coils
from coilmeter.errors import InputError
from coilmeter.sources.simulated import carries
from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.sources.simulated_meter import SimulatedMeter
from coilmeter.values import Band, HeadKind, Meter
from coilmeter.wire.contract import Format

USUAL_METERS: Final = ("handheld-4000", "handheld-22000", "bench-6-digit")
"""Meters to simulate where none is named: the first whose ranges the format carries."""


def described_head(description: HeadDescription) -> SimulatedHead:
    """Put a head that is described in a file on the bench."""
    head = SimulatedHead(
        description.coils,
        leaks=description.leaks,
        breaks=description.breaks,
        temperature_degc=description.temperature_degc,
        case=description.case,
        taps=description.taps,
    )
    for coil, share in description.shorted:
        head = head.with_shorted_turns(coil, share)
    return head


def sound_head(kind: HeadKind, bands: Mapping[str, Band]) -> SimulatedHead:
    """Put an invented sound head of a kind on the bench, at 20 degC."""
    return described_head(HeadDescription(kind, sound_coils(kind, bands), case=kind.case))


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
