"""Lines about a tone that are typed at the simulator, and the file that describes it."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from pathlib import Path

import pytest
from helpers import shipped
from simulated_checks import do, still_station

from coilmeter.catalog.head_file import load_head
from coilmeter.cli.simulating_tone import volts_moves
from coilmeter.cli.simulating_words import understand
from coilmeter.errors import InputError, MistakesError
from coilmeter.sources.simulated_dial import AcDial
from coilmeter.sources.simulated_made import described_head, described_tone
from coilmeter.sources.simulated_station import Station


def settled(station: Station) -> str:
    """Where the leads are, once the hands have moved."""
    while not station.attendant.idle:
        station.clock.sleep(0.05)
    return station.hands.where


def test_source_resistor_coil_and_leads() -> None:
    """Each line changes what it names, and says what is so now."""
    with still_station() as station:
        tone = station.hands.tone
        said = [understand(station, "source 1 kHz 0.2V")()]
        do(station, "series 4.7 kohm", "connect coil 2")
        found = []
        for line in ("probe source", "probe B A", "probe COIL", "probe total", "lift"):
            do(station, line)
            found.append(settled(station))
        do(station, "source off")
        off = tone.on
        do(station, "source 90 mV")

    assert ["tone 1 kHz, 200 mV; resistor 10 kohm; coil 1"] == said
    assert (1e3, 0.09, 4700.0, "2") == (
        tone.frequency_hz,
        tone.drive_volt,
        tone.resistor_ohm,
        tone.coil,
    )
    source, resistor, coil = (f"across the {name}" for name in ("source", "resistor", "coil"))
    assert [source, resistor, coil, source, "in the air"] == found
    assert (False, True) == (off, tone.on)


def test_ranges_and_status() -> None:
    """A range of volts is held on AC volts only; status tells the circuit there."""
    station = still_station()
    with pytest.raises(InputError, match="not on AC volts"):
        do(station, "range 400 mV")
    do(station, "function ac volts", "range 400 mV")
    dial = station.meter.dial
    assert isinstance(dial, AcDial)
    held = dial.held_volt
    status = understand(station, "status")()
    do(station, "range auto")

    assert isinstance(station.meter.dial, AcDial)
    assert (0.4, None) == (held, station.meter.dial.held_volt)
    assert "tone 10 kHz, 150 mV; resistor 10 kohm; coil 1" in status


def test_wear_is_switched_and_mended() -> None:
    """Of one coil or of all; it is told as a fault, and mending takes it away."""
    station = still_station()
    do(station, "worn coil 2 40%", "short coil 1 1%")
    one = station.faults()
    do(station, "mend", "worn 0.5")
    both = station.faults()
    do(station, "mend")

    assert "coil 2: gap worn to 40%" in one
    assert "coil 1 at 0.495 to coil 1 at 0.505: 0 ohm" in one
    assert ["coil 1: gap worn to 50%", "coil 2: gap worn to 50%"] == both
    assert [] == station.faults()


def test_hands_that_go_round_read_three_voltages_of_each_coil() -> None:
    """In the order of the walk, each coil connected before its first."""
    station = still_station()
    found = []
    for move in volts_moves(station):
        move.action(station.hands)
        found.append((station.hands.tone.coil, station.hands.tone.across))

    order = ["total", "resistor", "coil"]
    assert [(coil, across) for coil in "12" for across in order] == found[::2]
    assert all(across is None for _, across in found[1::2])


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("source", "say a frequency, a level"),
        ("source loud", "saw 'loud'"),
        ("source 10 kHz 5 kHz", "saw '10 kHz 5 kHz'"),
        ("source 10 ohm", "saw '10 ohm'"),
        ("source 10 MHz", "saw '10 MHz'"),
        ("source 10 kHz now", "on or off"),
        ("series 0 ohm", "more than 0 ohm"),
        ("series", "such as '220 kohm'"),
        ("connect coil 7", "no coil of this head is called '7'"),
        ("connect 2", "coil and its name"),
        ("probe", "two of the points A, B and C"),
        ("probe A A", "two of the points A, B and C"),
        ("probe head", "source, resistor, coil"),
        ("round coil", "nothing more"),
        ("worn", "share of its gap depth"),
        ("worn coil 1", "share of its gap depth"),
        ("worn 0", "share of its gap depth"),
        ("worn 120%", "share of its gap depth"),
        ("worn 0.5 now", "nothing more"),
    ],
)
def test_what_is_none_is_told(line: str, told: str) -> None:
    """Each with what was seen and what was expected; nothing is changed."""
    station = still_station()
    with pytest.raises(InputError) as caught:
        understand(station, line)

    assert told in str(caught.value)


def test_a_range_that_the_meter_has_not() -> None:
    """The ranges there are, are named."""
    station = still_station()
    do(station, "function ac volts")
    with pytest.raises(InputError, match="no range of 5 V") as caught:
        do(station, "range 5 V")

    assert "400 mV" in str(caught.value)


def test_a_meter_that_is_asked_is_turned_by_no_hand() -> None:
    """The line says which program turns it, and how."""
    with pytest.raises(InputError, match="CONF:VOLT:AC"):
        understand(still_station("scpi"), "function ac volts")


TEXT = """
kind = "two-channel-rp"
[coils.1]
inductance = "98 mH"
core_q = 10
coupling = 0.97
capacitance = "60 pF"
gap_left = 0.6
[tone]
frequency = "1 kHz"
level = "80 mV"
source = "50 ohm"
resistor = "990 ohm"
coil = "2"
leads = "source"
"""


def test_a_file_that_describes_a_tone(tmp_path: Path) -> None:
    """Core, source, resistor and leads come out as they were written; the rest is usual."""
    path = tmp_path / "head.toml"
    path.write_text(TEXT)
    description = load_head(path, shipped())
    head = described_head(description)
    core, other = head.core_of("1"), head.core_of("2")
    tone = described_tone(description.tone, head)

    assert (0.098, 0.1, 0.97, 60e-12, 0.6) == pytest.approx(
        (core.inductance_h, core.loss, core.coupling, core.capacitance_f, core.gap_left)
    )
    assert (0.125, 0.98, 0.0, 1.0) == (
        other.loss,
        other.coupling,
        other.capacitance_f,
        other.gap_left,
    )
    assert (1e3, 0.08, 50.0, 990.0) == pytest.approx(
        (tone.frequency_hz, tone.drive_volt, tone.source_ohm, tone.resistor_ohm)
    )
    assert ("2", "total") == (tone.coil, tone.across)


def test_every_mistake_of_a_tone_at_once(tmp_path: Path) -> None:
    """Each with its key."""
    path = tmp_path / "head.toml"
    path.write_text(
        'kind = "two-channel-rp"\n[coils.1]\ninductance = "0 H"\n[tone]\nfrequency = "0 Hz"\n'
        'resistor = "0 ohm"\ncoil = "9"\n'
    )
    with pytest.raises(MistakesError) as caught:
        load_head(path, shipped())
    path.write_text(
        'kind = "two-channel-rp"\n[coils.1]\ninductance = "98 ohm"\ngap_left = 2.0\n'
        '[tone]\nleads = "amplifier"\n'
    )
    with pytest.raises(MistakesError) as shape:
        load_head(path, shipped())

    assert {"tone.frequency", "tone.resistor", "tone.coil", "coils.1.inductance"} == {
        each.place for each in caught.value.mistakes
    }
    assert {"coils.1.inductance", "coils.1.gap_left", "tone.leads"} == {
        each.place for each in shape.value.mistakes
    }
