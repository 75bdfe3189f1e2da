"""The simulated head at a tone: circuit, core, faults, and the meter on AC volts."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math

import pytest
from helpers import shipped
from impedance_helpers import true_volts

from coilmeter.compute.coil_model import CoilModel
from coilmeter.errors import InputError, UnknownNameError
from coilmeter.sources.clock import FastClock
from coilmeter.sources.simulated_core import core_for
from coilmeter.sources.simulated_dial import AcDial
from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.sources.simulated_joint import Board
from coilmeter.sources.simulated_made import sound_head
from coilmeter.sources.simulated_station import Station
from coilmeter.sources.simulated_tone import HUM_VOLT
from coilmeter.sources.simulated_tone_head import coil_siemens, shorted_share
from coilmeter.values import Flag, Function, Reading, Role
from coilmeter.wire import find
from coilmeter.wire.dialogue import on_ac_volts, polled
from coilmeter.wire.responder import SETTINGS_CONFLICT, Responder

HEAD = SimulatedHead({"1": ("1", "2", 300.0), "2": ("3", "4", 302.0)}).with_core(
    "1", inductance_h=0.1
)


def inductance_and_q(head: SimulatedHead, hertz: float = 10e3) -> tuple[float, float]:
    """Give what a perfect bridge reads of coil 1."""
    z = 1 / coil_siemens(head, "1", hertz)
    return z.imag / (2 * math.pi * hertz), z.imag / z.real


@pytest.mark.parametrize(
    ("share", "millihenry", "q"),
    [(0.001, 99.3, 5.2), (0.01, 89.7, 2.6), (0.03, 61.7, 1.25), (0.1, 16.2, 0.48)],
)
def test_shorted_turns_of_the_head_are_those_of_the_table(
    share: float, millihenry: float, q: float
) -> None:
    """The figures of docs/method.md, to their printed digits (derived model)."""
    found = inductance_and_q(HEAD.with_shorted_turns("1", share))

    assert millihenry == pytest.approx(1e3 * found[0], abs=0.06)
    assert q == pytest.approx(found[1], abs=0.06)
    assert (1 - share) * 300.0 == pytest.approx(
        HEAD.with_shorted_turns("1", share).resistance_between("1", "2")
    )


def test_shorted_shares_are_counted_once() -> None:
    """Two spans that overlap are as long as both together; a leak of ohms shorts nothing."""
    head = HEAD.with_leak(("1", 0.2), ("1", 0.5), 0.0).with_leak(("1", 0.4), ("1", 0.6), 0.0)
    head = head.with_leak(("1", 0.8), ("1", 0.9), 10.0).with_leak("1", ("1", 0.1), 0.0)

    assert 0.5 == pytest.approx(shorted_share(head, "1"))
    assert 0.0 == shorted_share(head, "2")


def test_what_lies_across_a_coil() -> None:
    """A leak and a board are in parallel with it; a broken wire leaves only them."""
    alone = 1 / CoilModel(300.0, 0.1).impedance_ohm(10e3)
    leak = HEAD.with_leak("1", "2", 30e3)
    board = Board(1e-3, 1e6)

    assert alone == pytest.approx(coil_siemens(HEAD, "1", 10e3))
    assert alone + 1 / 30e3 == pytest.approx(coil_siemens(leak, "1", 10e3))
    assert 1 / 30e3 == pytest.approx(coil_siemens(leak.with_open("1"), "1", 10e3))
    assert alone + 1e-6 + 2j * math.pi * 10e3 * 1e-9 == pytest.approx(
        coil_siemens(HEAD, "1", 10e3, board)
    )
    assert 1e3 < abs(coil_siemens(HEAD.with_leak("1", "2", 0.0), "1", 10e3))


def test_wear_takes_inductance_and_mending_gives_it_back() -> None:
    """L/L0 = 1/((1 - s) + s d0/d) with s = 0.5; the ohms stay."""
    worn = HEAD.with_core("1", gap_left=0.5)
    found, _ = inductance_and_q(worn, 100.0)

    assert 0.1 / 1.5 == pytest.approx(found, rel=1e-3)
    assert 300.0 == pytest.approx(worn.resistance_between("1", "2"))
    assert HEAD.core_of("1") == worn.mended().core_of("1") == worn.mended("1").core_of("1")
    assert 0.5 == worn.mended("2").core_of("1").gap_left


def test_what_is_expected_of_a_role() -> None:
    """Inductance over resistance as the table of roles has it; few ohms are an erase coil."""
    erase = core_for(5.0)

    assert 0.1 == pytest.approx(core_for(300.0, Role.RECORD_PLAYBACK).inductance_h)
    assert 0.6e-3 == pytest.approx(erase.inductance_h)
    assert core_for(5.0, Role.ERASE) == erase


def station(form: str = "digits14", meter: str = "handheld-4000") -> Station:
    """Put the head on a bench without noise."""
    made = Station(HEAD, shipped().meter(meter), find(form), FastClock(50.0))
    made.meter.noise_counts = 0.0
    return made


@pytest.mark.parametrize(("across", "number"), [("total", 0), ("resistor", 1), ("coil", 2)])
def test_the_meter_shows_the_circuit(across: str, number: int) -> None:
    """Plain complex arithmetic with the input across what is read, and the roll-off."""
    bench = station()
    bench.bench.turn(Function.AC_VOLTAGE)
    bench.hands.probe(across)
    true = true_volts(CoilModel(300.0, 0.1).impedance_ohm(10e3), 10e3, 10e3)[number]
    rolled = true / math.sqrt(1 + (10e3 / 15e3) ** 2)

    assert rolled == pytest.approx(bench.bench.display().value, abs=0.6e-4)


def test_where_the_leads_may_be() -> None:
    """In the air there is hum; together nothing; on the coil's pins its voltage."""
    bench = station()
    hands, clock = bench.hands, bench.clock
    air = hands.volt(clock.now())
    hands.short_leads()
    together = hands.volt(clock.now())
    hands.clip("2", "1")
    clipped = hands.volt(clock.now())
    hands.probe("coil")
    probed, where = hands.volt(clock.now()), hands.where
    hands.clip("3", "4")
    other = hands.volt(clock.now())
    hands.connect("2")
    connected = hands.volt(clock.now())
    hands.probe("total")
    hands.tone.on = False

    assert [HUM_VOLT, 0.0, HUM_VOLT, HUM_VOLT] == [air, together, other, connected]
    assert clipped == probed > 0.05
    assert "across the coil" == where
    assert HUM_VOLT == hands.volt(clock.now())
    with pytest.raises(UnknownNameError):
        hands.probe("amplifier")
    with pytest.raises(UnknownNameError):
        hands.connect("9")


def test_a_loose_joint_takes_the_current_away() -> None:
    """While it is open the coil has all the voltage, and the resistor none."""
    bench = station()
    bench.loosen("1", 0.999, 1000.0)
    bench.hands.probe("resistor")
    joint = bench.hands.joints["1"]
    at = next(t for t in range(10_000) if joint.is_open(float(t)))

    assert bench.hands.volt(float(at)) < 0.01


def test_ranges_of_ac_volts() -> None:
    """Automatic, held by hand, over the end; a range that is not there is refused."""
    dial = AcDial(Function.AC_VOLTAGE, ((0.4, 1e-4), (4.0, 1e-3)))
    held = dial.holding(0.4)

    assert (0.1234, 0.4) == (
        dial.show(0, 0, 0.12341).value,
        dial.show(0, 0, 0.12341).full_scale,
    )
    assert (1.234, 4.0) == (dial.show(0, 0, 1.2341).value, dial.show(0, 0, 1.2341).full_scale)
    assert dial.show(0, 0, 4.1).overload
    assert held.show(0, 0, 0.41).overload
    assert {Flag.MANUAL} == held.show(0, 0, 0.1).flags
    assert dial == held.holding(None)
    with pytest.raises(InputError, match="no range of 1 V"):
        dial.holding(1.0)


def test_a_meter_that_is_asked_is_turned_by_the_program() -> None:
    """CONF:VOLT:AC makes a number a voltage, CONF:RES an ohm again (SCPI-1999 commands)."""
    bench = station("scpi", "bench-6-digit")
    responder = bench.wire.responder
    assert responder is not None
    bench.hands.probe("total")
    responder.receive(b"SYST:REM\n*RST\nCONF:VOLT:AC\n")
    volts = responder.receive(b"READ?\n")
    responder.receive(b"CONF:RES\n")
    form = on_ac_volts(find("scpi"))
    (reading,) = form.decoder().feed(volts)
    (over,) = form.decoder().feed(b"+9.90000000E+37\r\n")

    assert isinstance(reading, Reading)
    assert isinstance(over, Reading)
    assert (Function.AC_VOLTAGE, "volt") == (reading.function, reading.unit)
    assert 0.15 == pytest.approx(reading.value, rel=1e-3)
    assert over.overload
    assert b"+9.90000000E+37\r\n" == responder.receive(b"READ?\n")
    assert b'+0,"No error"\r\n' == responder.receive(b"SYST:ERR?\n")
    with pytest.raises(ValueError, match="ac voltage by the set-up"):
        form.encode(bench.bench.display())


def test_a_meter_that_cannot_be_turned_says_so_in_its_queue() -> None:
    """As a meter without that function would (error numbers of SCPI-1999)."""

    def refuse(_: Function) -> None:
        message = "no AC volts"
        raise InputError(message)

    form = polled(find("scpi"))
    assert form is not None
    meter = Responder(form, station().bench.display, turn=refuse)
    meter.receive(b"CONF:VOLT:AC\n")

    assert [SETTINGS_CONFLICT] == list(meter.errors)


def test_other_formats_tell_ac_volts_themselves() -> None:
    """Where the bytes say what is measured, nothing is set up."""
    volts = on_ac_volts(find("scpi"))

    assert find("prompt") is on_ac_volts(find("prompt"))
    assert find("plain") is on_ac_volts(find("plain"))
    assert volts is on_ac_volts(volts)


def test_sound_heads_of_every_kind_can_be_read() -> None:
    """Each coil of each kind is inductive at 10 kHz."""
    for kind in shipped().kinds.values():
        head = sound_head(kind, shipped().bands)
        z = [1 / coil_siemens(head, coil, 10e3) for coil in head.coils]

        assert all(each.imag > each.real > 0 for each in z)
