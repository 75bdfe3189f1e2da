"""Every wire format drives a whole check, from the bytes of the simulator to the verdicts."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, Final

import pytest
from helpers import shipped
from simulated_checks import check, needs_pty, station_with

from coilmeter.compute.circumstances import MeterTable
from coilmeter.sources.simulated_made import sound_head
from coilmeter.sources.simulated_station import Station
from coilmeter.values import CASE, Reading
from coilmeter.wire import find, formats
from coilmeter.wire.dialogue import polled

KIND: Final = "four-channel-rp"
COILS_OHM: Final = {"1": 184.0, "2": 186.0, "3": 148.0, "4": 185.0}
LEAK_OHM: Final = 220e3
HEAD: Final = (
    sound_head(shipped().kind(KIND), shipped().bands)
    .with_resistance("1", COILS_OHM["1"])
    .with_resistance("2", COILS_OHM["2"])
    .with_resistance("3", COILS_OHM["3"])
    .with_resistance("4", COILS_OHM["4"])
    .with_open("2")
    .with_leak("7", CASE, LEAK_OHM)
)
"""One coil open, one a fifth below its siblings, one leaking to the case."""

SOCKETS: Final = frozenset({"scpi"})
"""Formats of meters that are mostly on a network."""

METERS: Final = {"scpi": "bench-6-digit", "prompt": "bench-5-digit"}
"""Meters of a bench; for the others the usual one that the format carries."""


def document(text: str) -> dict[str, Any]:
    """Read the one head of a JSON document."""
    (head,) = json.loads(text)["heads"]
    return dict(head)


FOUND: Final = {"1": "intact", "2": "open", "3": "intact", "4": "intact"}
MATCHES: Final = {"1": "matched", "2": "no sibling", "3": "mismatched", "4": "matched"}


def range_of_overload(station: Station) -> float | None:
    """End of the range of an OL, as far as the frames of this meter tell it."""
    station.hands.lift()
    decoder = station.wire_format.decoder()
    frame = station.wire_format.encode(station.bench.display())
    (reading,) = (each for each in decoder.feed(frame) if isinstance(each, Reading))

    assert reading.overload
    return MeterTable(station.model).range_end(reading)


@pytest.mark.parametrize(
    "form",
    [
        name if name in SOCKETS else pytest.param(name, marks=needs_pty)
        for name in sorted(formats())
    ],
)
def test_a_format_drives_a_check_from_start_to_verdict(form: str, tmp_path: Path) -> None:
    """The open, the unlike and the leaking coil are found, and nothing else is faulted.

    Where neither the wire nor the set-up tells on which range an OL was read, the user says it.
    """
    table = ["--temperature", "20", "--as", "json"]
    station = station_with(HEAD, form, meter=METERS.get(form, ""), pty=form not in SOCKETS)
    asked = polled(find(form))
    told = range_of_overload(station) is not None or (asked and asked.dialogue.autorange)
    ran = check(
        station, tmp_path, "--kind", KIND, *table, *([] if told else ["--range", "auto"])
    )
    head = document(ran.out)
    coils = {coil["coil"]: coil for coil in head["coils"]}
    paths = {(path["from"], path["to"]): path for path in head["isolation"]}

    assert 1 == ran.code
    assert "done: 12 taken" in ran.err
    assert find(form).facts.verified is (f"the format {form} is not verified" not in ran.err)
    assert "partial" == head["grade"]
    assert FOUND == {name: coil["verdict"] for name, coil in coils.items()}
    assert MATCHES == {name: coil["match"] for name, coil in coils.items()}
    for name in ("1", "3", "4"):
        assert COILS_OHM[name] == pytest.approx(coils[name]["resistance_20c_ohm"], abs=0.4)
    leaking = paths.pop(("4", CASE))
    assert "leaking" == leaking["verdict"]
    assert LEAK_OHM == pytest.approx(leaking["resistance_ohm"], rel=0.005)
    assert ["isolated"] * 6 == [path["verdict"] for path in paths.values()]


@needs_pty
def test_an_overload_on_a_range_that_nobody_told_decides_nothing(tmp_path: Path) -> None:
    """Nothing is called open or isolated from it, and what would decide is said."""
    table = ["--temperature", "20", "--as", "json"]
    ran = check(station_with(HEAD, "words", pty=True), tmp_path, "--kind", KIND, *table)
    head = document(ran.out)

    assert "undecided" == head["coils"][1]["verdict"]
    assert "on which range it read OL" in head["coils"][1]["next"]
    assert {"undecided", "leaking"} == {path["verdict"] for path in head["isolation"]}


def test_all_promised_formats_are_here() -> None:
    """The nine formats this project promises were found among those that there are."""
    promised = {
        "block11",
        "block14",
        "digits14",
        "plain",
        "prompt",
        "scpi",
        "segments14",
        "stx16",
        "words",
    }

    assert promised <= set(formats())
