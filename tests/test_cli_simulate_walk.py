"""Simulated hands that walk over a head by themselves, as a check asks for it."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path
from typing import Final

import pytest
from helpers import shipped
from simulated_checks import check, needs_pty, station_with

from coilmeter.cli.simulating_walk import make_routine
from coilmeter.errors import InputError
from coilmeter.sources.simulated_made import sound_head
from coilmeter.sources.simulated_station import Station
from coilmeter.values import CASE
from coilmeter.walks.events import Event, Planned

KIND: Final = shipped().kind("two-channel-rp")
HEAD: Final = sound_head(KIND, shipped().bands)


@needs_pty
@pytest.mark.parametrize("rate_hz", [2.0, 10.0])
def test_the_hands_give_a_check_what_it_needs(tmp_path: Path, rate_hz: float) -> None:
    """Nobody follows the check, and all is taken in its order: open, leaking, sound.

    With a meter that is slow, and with a leak above a megaohm, which takes longer to settle.
    """
    head = HEAD.with_open("2").with_leak("1", CASE, 2.2e6)
    station = station_with(head, "digits14", pty=True, rate_hz=rate_hz)
    told: list[str] = []
    station.routine = make_routine(station, KIND, shipped().bands, told.append)

    def begin(event: Event, bench: Station) -> None:
        if isinstance(event, Planned):
            bench.perform()

    words = ["--kind", KIND.name, "--temperature", "20", "--as", "json"]
    ran = check(station, tmp_path, *words, react=begin, follow=False)
    (result,) = json.loads(ran.out)["heads"]

    assert "done: 6 taken" in ran.err
    assert ["intact", "open"] == [coil["verdict"] for coil in result["coils"]]
    assert {("1", "2"): "isolated", ("1", CASE): "undecided", ("2", CASE): "isolated"} == {
        (path["from"], path["to"]): path["verdict"] for path in result["isolation"]
    }
    assert 6 == sum(move.startswith("clip") for move in told)


def test_the_hands_wait_where_a_person_must_press_a_key() -> None:
    """A shorted coil and a path that reads like one are held long, an open one is bridged."""
    station = station_with(HEAD.with_leak("1", "2", 0.1).with_leak("4", CASE, 150.0), "plain")
    routine = make_routine(station, KIND, shipped().bands, lambda _: None)
    moves = routine()
    held = {
        clipped.note: after.wait_s
        for clipped, after in pairwise(moves)
        if clipped.note.startswith("clip ")
    }
    station.hands.head = HEAD

    assert 10.0 == held["clip 1 and 2"]
    assert 10.0 == max(wait_s for note, wait_s in held.items() if note.endswith(CASE))
    assert "bridge the pins" in [move.note for move in moves]
    assert len(moves) < len(routine())  # made anew for the head as it is now


def test_a_head_without_the_pins_of_the_kind() -> None:
    """It is told before anything begins."""
    other = sound_head(shipped().kind("one-erase"), shipped().bands)

    with pytest.raises(InputError, match="no pin of this head"):
        make_routine(station_with(other, "plain"), KIND, shipped().bands, lambda _: None)
