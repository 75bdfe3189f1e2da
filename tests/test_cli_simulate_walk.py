"""Simulated hands that walk over a head by themselves, as a check asks for it."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final

import pytest
from helpers import meter_table, shipped
from simulated_checks import station_with

from coilmeter.cli.simulating_walk import make_routine
from coilmeter.errors import InputError
from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.sources.simulated_made import sound_head
from coilmeter.sources.simulated_station import Station
from coilmeter.units import Form, ReadingText
from coilmeter.values import CASE, Reading, ReadingRow
from coilmeter.walks.events import Event, Taken
from coilmeter.walks.steps import plan
from coilmeter.walks.walk import Walk
from coilmeter.wire import find

KIND: Final = shipped().kind("two-channel-rp")
HEAD: Final = sound_head(KIND, shipped().bands)


@dataclass
class StillClock:
    """A clock that is set by hand: nothing here depends on how busy the machine is."""

    time_s: float = 0.0

    def now(self) -> float:
        """Give the time."""
        return self.time_s

    def sleep(self, seconds: float) -> None:
        """Let time pass."""
        self.time_s += seconds


@dataclass
class Rows:
    """Keeps rows in memory."""

    rows: list[ReadingRow] = field(default_factory=list)

    def keep(self, row: ReadingRow) -> None:
        """Keep one."""
        self.rows.append(row)


def watch(head: SimulatedHead, rate_hz: float) -> tuple[list[Event], list[str]]:
    """Have the hands walk while a walk looks on, reading by reading, at times of no hurry."""
    clock, form = StillClock(), find("digits14")
    station = Station(head, shipped().meter("handheld-4000"), form, clock, rate_hz=rate_hz)
    told: list[str] = []
    moves = list(make_routine(station, KIND, shipped().bands, told.append)())
    bands = {coil.name: shipped().band(coil.band) for coil in KIND.coils}
    template = ReadingRow("", 0, "head", ReadingText(Form.NUMBER, 0.0, None, ""))
    table = meter_table("handheld-4000")
    walk = Walk(plan(KIND, bands), template, Rows(), range_of=table.range_end)
    decoder, events, due_s = form.decoder(), walk.start(), 0.0
    while not walk.finished and clock.time_s < 300.0:
        while moves and due_s + moves[0].wait_s <= clock.time_s:
            move = moves.pop(0)
            due_s += move.wait_s
            move.action(station.hands)
        (reading,) = decoder.feed(station.bench.frame())
        assert isinstance(reading, Reading)
        events += walk.feed(clock.time_s, reading)
        clock.sleep(1 / rate_hz)
    return events, told


@pytest.mark.parametrize("rate_hz", [1.5, 2.0, 3.0, 10.0, 30.0])
def test_the_hands_give_a_check_what_it_needs(rate_hz: float) -> None:
    """Nobody follows the check, and all is taken in its order: open, leaking, sound.

    With meters slow and fast, and with a leak above a megaohm, which takes longer to settle.
    """
    head = HEAD.with_open("2").with_leak("1", CASE, 2.2e6)
    events, told = watch(head, rate_hz)
    taken = {each.step.key: each.row for each in events if isinstance(each, Taken)}
    leak_ohm = head.resistance_between(*(taken["1 to case"].pins or ("", "")))

    assert {"leads", "coil 1", "coil 2", "1 to 2", "1 to case", "2 to case"} == set(taken)
    assert 0.2 == pytest.approx(taken["leads"].reading.ohm or 0.0, abs=0.15)
    assert 224.2 == pytest.approx(taken["coil 1"].reading.ohm or 0.0, abs=0.4)
    assert leak_ohm == pytest.approx(taken["1 to case"].reading.ohm or 0.0, rel=0.01)
    for key in ("coil 2", "1 to 2", "2 to case"):
        assert Form.OVERLOAD is taken[key].reading.form
        assert "bridged" == taken[key].proof
    assert 5 == sum(move.startswith("clip ") for move in told)


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


def test_the_hands_need_a_meter_that_is_quick_enough() -> None:
    """Below, a tip cannot be told from a short: refused before anything is mixed up."""
    with pytest.raises(InputError, match="1 readings a second") as caught:
        watch(HEAD, 1.0)

    assert "--rate 1.5 or more" in str(caught.value)


def test_a_head_without_the_pins_of_the_kind() -> None:
    """It is told before anything begins."""
    other = sound_head(shipped().kind("one-erase"), shipped().bands)

    with pytest.raises(InputError, match="no pin of this head"):
        make_routine(station_with(other, "plain"), KIND, shipped().bands, lambda _: None)
