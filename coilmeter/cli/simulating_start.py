"""From options to a bench that is ready to be served."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from coilmeter.catalog import Catalog
from coilmeter.catalog.head_file import load_head
from coilmeter.catalog.head_tone import ToneDescription
from coilmeter.cli.simulating_texts import Order
from coilmeter.cli.simulating_walk import make_routine
from coilmeter.cli.simulating_words import QUIT, understand
from coilmeter.errors import InputError
from coilmeter.sources.clock import RealClock
from coilmeter.sources.outlets import Outlet
from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.sources.simulated_made import (
    described_head,
    described_tone,
    sound_head,
    usual_meter,
)
from coilmeter.sources.simulated_station import Station
from coilmeter.values import HeadKind, shown_kinds
from coilmeter.wire.contract import Format


def make_station(
    catalog: Catalog,
    wire: Format,
    *,
    meter: str,
    kind: str,
    head: Path | None,
    outlet: Outlet,
    rate_hz: float,
    asleep: bool,
    seed: int,
    tell: Callable[[str], None],
) -> tuple[Station, HeadKind | None]:
    """Put head, meter and hands together; the kind of the head comes with them.

    Parameters
    ----------
    catalog
        Where names are looked up.
    wire
        Format of the bytes.
    meter
        Name of the meter, empty for one that the format carries.
    kind, head
        Kind of the head, or the file that describes it.
    outlet
        The port.
    rate_hz, asleep, seed
        As `Station` has them.
    tell
        Is told the moves of a walk.

    Raises
    ------
    InputError
        When names, file or numbers do not fit.

    """
    if kind and head is not None:
        raise InputError("both --kind and --head", hint="name the kind in the head file.")
    if head is not None:
        description = load_head(head, catalog)
        its_kind, on_bench = description.kind, described_head(description)
        tone = described_tone(description.tone, on_bench)
    elif kind:
        its_kind = catalog.kind(kind)
        on_bench = sound_head(its_kind, catalog.bands)
        tone = described_tone(ToneDescription(), on_bench)
    else:
        raise InputError(
            "which head is on the bench?",
            hint="give --head FILE.toml, or --kind with one of: "
            f"{', '.join(shown_kinds(catalog.kinds))}.",
        )
    model = catalog.meter(meter) if meter else usual_meter(wire, catalog.meters)
    station = Station(
        on_bench,
        model,
        wire,
        RealClock(),
        rate_hz=rate_hz,
        asleep=asleep,
        seed=seed,
        outlet=outlet,
        tone=tone,
    )
    if its_kind is not None and _has_pins(on_bench, its_kind):
        station.routine = make_routine(station, its_kind, catalog.bands, tell)
    return station, its_kind


def orders(station: Station, faults: Sequence[str], *, walk: bool) -> Sequence[Order]:
    """Understand the lines to be done at the start, and see whether there can be a walk.

    Raises
    ------
    InputError
        When one is none, or the head or the meter is none that could be walked with.

    """
    if walk and station.routine is None:
        raise InputError(
            "--walk needs a head of a known kind, with its pins",
            hint="give --kind, or name the kind in the head file.",
        )
    if walk and station.routine is not None:
        station.routine()
    found = []
    for text in faults:
        if not text.strip() or text.strip().lower() in QUIT:
            raise InputError(f"--fault: saw {text!r}", hint="a line such as 'open coil 2'.")
        try:
            found.append(understand(station, text))
        except InputError as error:
            raise InputError(f"--fault {text!r}: {error.message}", hint=error.hint) from error
    return found


def _has_pins(head: SimulatedHead, kind: HeadKind) -> bool:
    """Whether the head has all the pins of the kind, and its case."""
    pins = {pin for coil in kind.coils for pin in coil.pins}
    return pins <= {*head.pins} and (head.case or not kind.case)
