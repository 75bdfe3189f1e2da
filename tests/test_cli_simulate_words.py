"""The plain language of the simulator: each line does what it says, each wrong one is told."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import pytest
from helpers import shipped
from simulated_checks import still_station

from coilmeter.cli import simulating_words
from coilmeter.cli.simulating_walk import make_routine
from coilmeter.cli.simulating_words import help_text, understand
from coilmeter.errors import InputError
from coilmeter.sources.simulated_station import Station
from coilmeter.values import CASE, Flag, Function

KIND: Final = shipped().kind("two-channel-rp")
HEAD: Final = still_station().head


@pytest.fixture
def station() -> Iterator[Station]:
    """Give a bench whose hands obey."""
    with still_station() as bench:
        yield bench


def say(station: Station, *lines: str) -> list[str]:
    """Type lines; give the answers."""
    return [understand(station, line)() for line in lines]


def seen(station: Station) -> float:
    """Give what the clips see, once the hands have moved."""
    while not station.attendant.idle:
        station.clock.sleep(0.05)
    return station.hands.resistance(station.clock.now())


def test_hands(station: Station) -> None:
    """The clips go where they are told."""
    found = []
    for line in ("clip 1 2", "lift", "short", "clip 3 Case", "CLIP 3 4"):
        say(station, line)
        found.append(seen(station))

    assert [184.0, math.inf, 0.0, math.inf, 186.0] == pytest.approx(found)


def test_the_tip(station: Station) -> None:
    """It lies on the pins for as long as is said, and then no longer."""
    said = say(station, "open coil 1", "clip 1 2")
    before = seen(station)
    said += say(station, "bridge 30")
    station.clock.sleep(1.0)
    during = station.hands.resistance(station.clock.now())
    said += say(station, "bridge")
    after = seen(station)

    assert [math.inf, 0.03, math.inf] == pytest.approx([before, during, after])
    assert "a metal tip lies across the clipped pins for 30 s" == said[2]
    assert "a metal tip lies across the clipped pins for 0.6 s" == said[3]


@pytest.mark.parametrize(
    ("line", "pins", "expected"),
    [
        ("open coil 1", ("1", "2"), math.inf),
        ("open coil 1 at 0.9", ("1", "2"), math.inf),
        ("short coil 1", ("1", "2"), 0.0),
        ("short coil 1 0.5", ("1", "2"), 92.0),
        ("coil 1 300 ohm", ("1", "2"), 300.0),
        ("coil 2 4k7", ("3", "4"), 4700.0),
        ("leak 1 case 220 kohm", ("1", CASE), 220e3),
        ("leak coil 1 CASE 220 kohm", ("1", CASE), 220e3 + 92.0),
        ("leak coil 1 at 0.25 3 0 ohm", ("1", "3"), 46.0),
        ("temperature 45 degC", ("1", "2"), 184.0 * (1 + 0.00393 * 25)),
        ("temperature -10", ("1", "2"), 184.0 * (1 - 0.00393 * 30)),
    ],
)
def test_the_head(station: Station, line: str, pins: tuple[str, str], expected: float) -> None:
    """Each fault is found between the pins it is about."""
    (said,) = say(station, line)

    assert expected == pytest.approx(station.hands.head.resistance_between(*pins))
    assert said
    assert 186.0 == pytest.approx(HEAD.resistance_between("3", "4"))


def test_mending(station: Station) -> None:
    """One coil or all of it is whole again."""
    say(station, "open coil 1", "open coil 2", "flaky coil 1 0.5", "creep 3", "mend coil 1")
    one = station.hands.head.resistance_between("1", "2"), dict(station.hands.joints)
    open_still = station.hands.head.resistance_between("3", "4")
    say(station, "mend")

    assert (184.0, {}) == one
    assert math.inf == open_still
    assert HEAD == station.hands.head
    assert None is station.hands.board


def test_joint_and_board(station: Station) -> None:
    """Shares may be percent; times and ends may be left out."""
    say(station, "flaky coil 1 30%", "flaky coil 2 0.1 2s", "creep 5 47 kohm")
    one, two = station.hands.joints["1"], station.hands.joints["2"]
    board = station.hands.board
    say(station, "creep off")

    assert [(0.3, 0.3), (0.1, 2.0)] == [(each.share, each.drop_out_s) for each in (one, two)]
    assert board is not None
    assert (5.0, 47e3) == (board.time_s, board.ohm)
    assert None is station.hands.board


def test_the_meter(station: Station) -> None:
    """Each setting is on the display, and can be taken back."""
    meter = station.meter
    say(station, "leads 0.3 ohm", "gain 3%", "noise 0", "clip 1 2")
    seen(station)
    wrong = station.bench.display().value
    say(station, "gain 0", "leads 0 ohm", "range 4 kohm", "battery low")
    manual = station.bench.display()
    say(station, "range auto", "hold on", "battery good")
    held = station.bench.display()
    say(station, "hold off", "rel on")
    relative = station.bench.display()
    say(station, "rel off", "function dc volts")
    volts = station.bench.display()
    say(station, "function ohms")

    assert (184.0 + 0.3) * 1.03 == pytest.approx(wrong, abs=0.051)
    assert {Flag.MANUAL, Flag.LOW_BATTERY} == manual.flags
    assert 184.0 == held.value
    assert Flag.HOLD in held.flags
    assert 0.0 == relative.value
    assert Flag.RELATIVE in relative.flags
    assert Function.DC_VOLTAGE is volts.function
    assert None is meter.dial
    assert 184.0 == station.bench.display().value


def test_the_wire(station: Station) -> None:
    """Damage, sleep and the plug."""
    outlet = station.port()
    outlet.plug()
    said = say(station, "corrupt 0.05", "sleep", "unplug", "plug")
    states = [station.wire.damage.share, station.wire.asleep, outlet.plugged]
    say(station, "wake", "unplug")

    assert "5.00% of the frames are spoilt on their way" == said[0]
    assert "unplugged" == said[2]
    assert f"plugged in: {outlet.where}" == said[3]
    assert [0.05, True, True] == states
    assert [False, False] == [station.wire.asleep, outlet.plugged]


def test_the_wake_byte_is_named() -> None:
    """Where the format has one, the sleeper says which."""
    assert "the byte H or 'wake'" in say(still_station("block11"), "sleep")[0]
    assert "until 'wake' comes" in say(still_station(), "sleep")[0]


def test_what_a_format_has_no_sign_for_is_told() -> None:
    """A practice that nobody at the other end can see is announced as one."""
    bench = still_station("stx16")
    bench.meter.show(100.0)

    for line in ("hold on", "hold off", "rel on", "battery low", "range 400 ohm"):
        (said,) = say(bench, line)
        assert ("stx16 has no sign for it" in said) is (line != "hold off")


def test_status_tells_all(station: Station) -> None:
    """Port, clips, display and faults, as they are."""
    empty = say(station, "status")[0]
    say(station, "clip 1 2", "open coil 2", "corrupt 0.5")
    seen(station)
    station.wire.frame()
    value = say(station, "status")[0]
    say(station, "rel on", "range 400 ohm", "battery low", "gain 3%", "hold on", "sleep")
    much = say(station, "status")[0]
    say(station, "hold off", "rel off", "function diode")
    station.bench.display()
    volts = say(station, "status")[0]
    say(station, "lift")
    seen(station)
    station.bench.display()

    assert "display: nothing yet" in empty
    assert "(unplugged)" in empty
    assert "clips: 1 and 2\ndisplay: 184 ohm\ncoil 2: broken at 0.5 of its wire" in value
    assert "50.00% of the frames are spoilt" in value
    for word in ("HOLD", "REL", "a range by hand", "battery low", "+3.000% wrong", "asleep"):
        assert f", {word}" in much
    assert "display: 0.19 V, a range by hand, diode" in volts
    assert "display: OL" in say(station, "status")[0]


def test_walking(station: Station) -> None:
    """The hands go through all steps of a check, can be stopped, and need a kind."""
    told: list[str] = []
    with pytest.raises(InputError, match="a head of a known kind"):
        understand(station, "walk")
    station.routine = make_routine(station, KIND, shipped().bands, told.append)
    say(station, "walk")
    while "clip 1 and 2" not in told:
        station.clock.sleep(0.1)
    said = say(station, "walk stop")
    left = len(told)
    station.clock.sleep(20.0)

    assert "the hands stay where they are" == said[0]
    assert ["clips together", "lift", "clip 1 and 2"] == told[:3]
    assert left == len(told)


def test_help_names_every_line() -> None:
    """Each phrase is in the list, and each word of the list is understood."""
    text = help_text()

    for phrase in simulating_words._ALL:
        assert f"  {phrase.usage} " in text
        assert phrase.meaning in text
    assert text == say(still_station(), "help")[0]
    assert [""] * 3 == say(still_station(), "quit", "q", "Exit")
