"""The bench to practise on: settings of the meter, other functions, faults of the head."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
from contextlib import suppress
from dataclasses import replace

import pytest
from helpers import shipped

from coilmeter.errors import InputError
from coilmeter.sources.clock import FastClock
from coilmeter.sources.simulated import SimulatedBench, SimulatedHead, SimulatedMeter
from coilmeter.sources.simulated_dial import DIODE_AMPERE, Dial
from coilmeter.sources.simulated_joint import Board
from coilmeter.sources.simulated_station import Station
from coilmeter.units import ohms
from coilmeter.values import CASE, Flag, Function
from coilmeter.wire import find, formats
from coilmeter.wire.contract import Display

METER = shipped().meter("handheld-4000")
HEAD = SimulatedHead({"1": ("1", "2", 184.0), "2": ("3", "4", 186.0)})
AUTO = frozenset({Flag.AUTO})


def station(form: str = "digits14") -> Station:
    """Put a head on a bench."""
    model = shipped().meter({"block14": "handheld-22000"}.get(form, "handheld-4000"))
    return Station(HEAD, model, find(form), FastClock(20.0))


def test_a_frozen_display() -> None:
    """It stays at what it showed, with its sign, until it is let go."""
    meter = SimulatedMeter(METER)
    before = meter.show(184.0)
    meter.hold(on=True)
    held = [meter.show(math.inf), meter.show(20.0)]
    was = meter.held
    meter.hold(on=False)

    assert [replace(before, flags=AUTO | {Flag.HOLD})] * 2 == held
    assert was
    assert 20.0 == meter.show(20.0).value


def test_a_display_frozen_before_it_showed_anything() -> None:
    """It shows over-range, as with the clips in the air."""
    meter = SimulatedMeter(METER)
    meter.hold(on=True)

    assert meter.show(100.0).overload


def test_relative_readings() -> None:
    """What was shown is taken off, on every range, and the sign is lit; OL stays OL."""
    meter = SimulatedMeter(METER, lead_ohm=0.24)
    first = meter.show(0.0).value
    meter.relative(on=True)
    shown = [meter.show(ohm) for ohm in (0.0, 184.0, 2048.0, math.inf)]
    meter.relative(on=False)

    assert 0.2 == first
    assert [0.0, 184.0, 2048.0] == pytest.approx([each.value for each in shown[:3]], abs=0.51)
    assert shown[3].overload
    assert [AUTO | {Flag.RELATIVE}] * 4 == [each.flags for each in shown]
    assert 184.2 == meter.show(184.0).value


def test_relative_twice_counts_from_the_same_zero() -> None:
    """Taken again, what is shown then becomes the new zero."""
    meter = SimulatedMeter(METER)
    meter.show(10.0)
    meter.relative(on=True)
    meter.show(30.0)
    meter.relative(on=True)

    assert 0.0 == meter.show(30.0).value
    assert 30.0 == meter.taken_off_ohm


def test_nothing_to_take_off() -> None:
    """Over-range, volts and an empty display are no zero."""
    meter = SimulatedMeter(METER)
    with pytest.raises(InputError, match="no ohms"):
        meter.relative(on=True)
    meter.show(math.inf)
    with pytest.raises(InputError, match="no ohms"):
        meter.relative(on=True)
    meter.dial = Dial(Function.DC_VOLTAGE, 1e-3, 4.0)
    meter.show(1.0)
    with pytest.raises(InputError, match="no ohms"):
        meter.relative(on=True)


def test_a_low_battery() -> None:
    """It is said with every display, with a frozen one too."""
    meter = SimulatedMeter(METER)
    meter.show(1.0)
    meter.battery_low = True
    free = meter.show(1.0)
    meter.hold(on=True)

    assert AUTO | {Flag.LOW_BATTERY} == free.flags
    assert AUTO | {Flag.LOW_BATTERY, Flag.HOLD} == meter.show(1.0).flags
    meter.battery_low = False
    assert AUTO | {Flag.HOLD} == meter.show(1.0).flags


def test_a_range_chosen_while_it_runs() -> None:
    """It is kept until autorange is chosen, and one the meter has not changes nothing."""
    meter = SimulatedMeter(METER)
    meter.choose_range(ohms(4e3))
    manual = meter.show(184.0)
    with pytest.raises(InputError, match="no range"):
        meter.choose_range(ohms(5e3))
    still = meter.show(184.0)
    meter.choose_range(None)

    assert Display(184.0, 1.0, 4e3, flags=frozenset({Flag.MANUAL})) == manual == still
    assert Display(184.0, 0.1, 400.0, flags=AUTO) == meter.show(184.0)


def test_other_functions_of_the_meter() -> None:
    """A coil gives no volts; the diode test shows its drop; the beeper sounds below its end."""
    bench = station().bench
    shown = {}
    for function in (Function.DC_VOLTAGE, Function.AC_VOLTAGE, Function.DIODE):
        dial = bench.dial_for(function)
        assert dial is not None
        shown[function] = dial.show(184.2, 0.0)
    beeper = bench.dial_for(Function.CONTINUITY)

    assert beeper is not None
    assert [0.0, 0.0] == [
        shown[each].value for each in (Function.DC_VOLTAGE, Function.AC_VOLTAGE)
    ]
    assert 184.2 * DIODE_AMPERE == pytest.approx(shown[Function.DIODE].value, abs=5e-4)
    assert [each.function for each in shown.values()] == list(shown)
    assert AUTO | {Flag.BEEP} == beeper.show(10.0, 0.0).flags
    assert AUTO == beeper.show(60.0, 0.0).flags
    assert beeper.show(math.inf, 0.0).overload
    assert None is bench.dial_for(Function.RESISTANCE)


@pytest.mark.parametrize("form", sorted(formats()))
def test_functions_a_format_carries_come_back_as_themselves(form: str) -> None:
    """What can be dialled can be decoded, and never as a resistance; else it is refused."""
    bench = station(form).bench
    decoder = bench.wire_format.decoder()
    for function in (Function.DC_VOLTAGE, Function.AC_VOLTAGE, Function.DIODE):
        dial = None
        with suppress(InputError):
            dial = bench.dial_for(function)
        if dial is None:
            with pytest.raises(InputError, match=f"format '{form}' cannot carry"):
                bench.dial_for(function)
            continue
        bench.meter.dial = dial
        decoded = [*decoder.feed(bench.frame()), *decoder.feed(bench.frame())]
        assert [False] * len(decoded) == [getattr(each, "is_ohms", False) for each in decoded]
        assert decoded


def test_faults_of_the_head_come_and_go() -> None:
    """Each is seen at the clips, listed in words, and gone when it is mended."""
    bench = station()
    bench.break_coil("1", 0.25)
    bench.leak(("2", 0.5), CASE, 220e3)
    bench.short_turns("2", 0.5)
    bench.loosen("2", 0.3)
    bench.connect_board(Board(3.0))
    told = bench.faults()
    bench.mend("2")
    half = bench.faults()
    bench.mend()

    assert [
        "coil 1: broken at 0.25 of its wire",
        "coil 2 at 0.5 to case: 220 kohm",
        "coil 2 at 0.25 to coil 2 at 0.75: 0 ohm",
        "coil 2: a joint that is open 30% of the time, 0.3 s on average",
        "a board of 1 Mohm: readings creep with 3 s",
    ] == told
    assert [told[0], told[4]] == half
    assert [] == list(bench.faults())
    assert HEAD == bench.hands.head


def test_mending_keeps_what_a_coil_is_wound_with() -> None:
    """Resistance and temperature are no faults; an unknown coil is refused."""
    bench = station()
    bench.rewind("1", 300.0)
    bench.warm(45.0)
    bench.mend()

    assert 300.0 * (1 + 0.00393 * 25) == pytest.approx(
        bench.hands.head.resistance_between("1", "2")
    )
    with pytest.raises(InputError, match="'9'"):
        bench.mend("9")


def test_loose_joints_of_one_head_do_not_open_together() -> None:
    """Two coils drop out at times of their own; the same seed drops out alike."""
    first, second = station(), station()
    for bench in (first, second):
        bench.loosen("1", 0.5)
        bench.loosen("2", 0.5)
    begin = first.clock.now()
    one, two = (
        [first.hands.joints[coil].is_open(begin + step / 10) for step in range(300)]
        for coil in ("1", "2")
    )

    assert one != two


def test_a_bench_without_a_port() -> None:
    """It can be used, and cannot be unplugged."""
    with pytest.raises(InputError, match="no port"):
        station().port()
    station().perform()


@pytest.mark.parametrize("at", [("1", "2"), ("9", "8")])
def test_a_tap_has_a_pin_of_its_own(at: tuple[str, str]) -> None:
    """A tap on the pin of a coil, or on the case, is refused."""
    coils = {"1": (*at, 10.0)}
    for pin in (at[0], CASE):
        with pytest.raises(InputError, match="cannot be a tap"):
            SimulatedHead(coils, taps={pin: ("1", 0.5)})
    with pytest.raises(InputError, match="'7'"):
        SimulatedHead(coils, taps={"T": ("7", 0.5)})


def test_a_break_beyond_the_tap() -> None:
    """The half before the break still reads, the whole does not."""
    head = SimulatedHead({"1": ("1", "2", 100.0)}, taps={"T": ("1", 0.4)}).with_open("1", 0.7)

    assert 40.0 == pytest.approx(head.resistance_between("1", "T"))
    assert math.inf == head.resistance_between("1", "2")
    assert math.inf == head.resistance_between("T", "2")


def test_a_bench_refuses_what_it_cannot_show() -> None:
    """A meter whose ranges the format has no place for."""
    with pytest.raises(InputError, match="cannot carry the"):
        SimulatedBench(SimulatedMeter(METER), station().hands, find("block14"))
