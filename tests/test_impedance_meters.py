"""AC volts of meters: their tables in reference files, their ranges, and advice."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
from pathlib import Path

import pytest
from helpers import shipped
from impedance_helpers import as_read, table

from coilmeter.catalog import load_catalog
from coilmeter.compute.impedance_advice import (
    DRIVE_VOLT,
    EXPECTED,
    advise,
    drive_caution,
    preferred_above,
)
from coilmeter.compute.impedance_volts import AcTable
from coilmeter.errors import ImpedanceError, MistakesError
from coilmeter.values import Role

LABELS = {"pub", "prac", "rep", "mem", "der"}
DEFAULT = "the tool's own conservative default"


def _range(end: str) -> str:
    return f'{{ full_scale = "{end}", resolution = "1 mV", counts = 1 }}'


def test_every_shipped_table_says_how_it_is_known() -> None:
    """Each has a label, or is the default."""
    bases = {name: meter.ac.basis for name, meter in shipped().meters.items()}

    assert {} == {
        name: basis
        for name, basis in bases.items()
        if basis != DEFAULT and basis.partition(":")[0] not in LABELS
    }
    assert DEFAULT == bases["unstated"]


def test_nobody_is_better_than_a_stated_hand_held() -> None:
    """The default is wider than every hand-held meter that states AC volts."""
    default = table("unstated")
    for name in ("handheld-4000", "handheld-6000"):
        for volt in (0.05, 0.1, 0.3, 1.5):
            wide, stated = (each.range_for(as_read(volt)) for each in (default, table(name)))
            assert wide is not None
            assert stated is not None
            assert (
                wide.fraction * volt + wide.floor_volt
                > stated.fraction * volt + stated.floor_volt
            )


def test_a_table_of_the_users_own(tmp_path: Path) -> None:
    """Limits in per cent, counts and per cent of range come out as one floor."""
    path = tmp_path / "own.toml"
    path.write_text(
        '[meters.mine.ac]\nlowest = "20 Hz"\nhighest = "50 kHz"\ninput_resistance = "1 Mohm"\n'
        'input_capacitance = "50 pF"\ncapacitance_spread = "0 pF"\n'
        'ranges = [{ full_scale = "200 mV", resolution = "0.01 mV", reading = 0.5, '
        "counts = 10, of_range = 0.1 }]\n"
    )
    found = AcTable(load_catalog([path]).meter("mine"))

    assert (20.0, 50e3) == found.band_hz
    assert 10e-5 + 0.001 * 0.2 == pytest.approx(found.ranges[0].floor_volt)
    assert 0.005 == pytest.approx(found.ranges[0].fraction)
    assert () == found.load().capacitance.errors
    assert 50e-12 == pytest.approx(found.load().capacitance.value.m_as("farad"))
    assert found.in_band(30e3)
    assert not found.in_band(60e3)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('lowest = "2 kHz"\nhighest = "1 kHz"', "lowest < highest"),
        ('capacitance_spread = "1 nF"', "capacitance_spread no larger"),
        ('input_resistance = "0 ohm"', "input_resistance above zero"),
        ('input_capacitance = "5 ohm"', "a text such as '0.1 nF'"),
        ("input_capacitance = 5", "a text such as '0.1 nF'"),
        ("reading = 0.0\ncounts = 0", "no meter is without error"),
        ('ranges = [{ full_scale = "2 V", resolution = "1 mV" }]', "at least one of"),
        ('ranges = [{ full_scale = "2 mV", resolution = "1 V", counts = 1 }]', "resolution <"),
        (f"ranges = [{_range('2 V')}, {_range('1 V')}]", "from the lowest"),
        ("colour = 1", "no such key"),
    ],
)
def test_a_bad_table_is_refused(tmp_path: Path, text: str, words: str) -> None:
    """Each mistake with its key path."""
    path = tmp_path / "own.toml"
    path.write_text(f"[meters.mine.ac]\n{text}\n")
    with pytest.raises(MistakesError) as caught:
        load_catalog([path])

    assert "meters.mine.ac" in str(caught.value)
    assert words in str(caught.value)


def test_the_range_of_a_voltage() -> None:
    """The stated one, else the lowest that holds it and has no finer digit."""
    found = table()

    def end(volt: float, step: float = 1e-4, stated: float | None = None) -> float | None:
        entry = found.range_for(as_read(volt, step, range_volt=stated))
        return None if entry is None else entry.full_scale_volt

    assert 0.4 == end(0.1)
    assert 4.0 == end(0.15, 1e-3)
    assert 4.0 == end(0.45)
    assert 40.0 == end(0.1, stated=40.0)
    assert None is end(0.1, stated=3.0)
    assert None is end(600.0)
    assert None is end(0.6, stated=0.4)


def test_a_meter_that_states_none_has_the_digits_that_were_written() -> None:
    """2 % + 10 of the last digit, on ranges of 2000 counts."""
    entry = table("unstated").range_for(as_read(0.15, 1e-4))

    assert entry is not None
    assert (0.02, 0.2) == (entry.fraction, entry.full_scale_volt)
    assert 1e-3 == pytest.approx(entry.floor_volt)
    assert None is table("unstated").range_for(as_read(0.5, 1e-4, range_volt=0.2))


def test_parts_of_a_voltage() -> None:
    """Gain, counts, a digit rounded away, and scatter with its degrees of freedom."""
    read = as_read(0.15, 1e-3, range_volt=0.4, count=5, scatter_volt=2e-4)
    errors = {error.cause: error for error in table().measured(read, 1e4, "v_coil", "a").errors}

    assert 0.015 * 0.15 / math.sqrt(3) == pytest.approx(errors["gain"].u)
    assert 5e-4 / math.sqrt(3) == pytest.approx(errors["counts"].u)
    assert 1e-3 / math.sqrt(12) == pytest.approx(errors["rounding"].u)
    assert 2e-4 / math.sqrt(5) == pytest.approx(errors["scatter"].u)
    assert (4.0, False) == (errors["scatter"].dof, errors["scatter"].rectangular)


def test_a_meter_without_a_low_range_is_refused() -> None:
    """The simplest meters have no range below 200 V: a head's voltage is no reading there."""
    with pytest.raises(ImpedanceError, match="lower range"):
        table("handheld-2000").measured(as_read(0.1, 0.1), 1e4, "v_coil", "a")
    with pytest.raises(ImpedanceError, match="a range of handheld-4000"):
        table().measured(as_read(900.0), 1e4, "v_coil", "a")


def test_small_readings_are_doubtful() -> None:
    """Below 5 % of the range, where many meters state nothing (common practice, no source)."""
    assert [] == table().cautions([as_read(0.1)])
    assert "Below 5 %" in table().cautions([as_read(0.015)])[0]


@pytest.mark.parametrize(
    ("ohm", "wanted"), [(6.4e3, 10e3), (10e3, 10e3), (38.0, 47.0), (1.2, 2.2), (4.71, 10.0)]
)
def test_preferred_numbers(ohm: float, wanted: float) -> None:
    """The next of series E3 (IEC 60063) at or above."""
    assert wanted == preferred_above(ohm)


def test_advice_for_a_cassette_head() -> None:
    """About 10 kohm at 10 kHz, 1 kohm at 1 kHz; a drive that gives the coil 50 to 100 mV."""
    high = advise(EXPECTED[Role.RECORD_PLAYBACK])
    low = advise(EXPECTED[Role.RECORD_PLAYBACK], 1e3)
    z = EXPECTED[Role.RECORD_PLAYBACK].impedance_ohm(10e3)

    assert (10e3, 1e3) == (high.resistor_ohm, low.resistor_ohm)
    across = high.total_volt * abs(z / (high.resistor_ohm + z))
    assert DRIVE_VOLT[0] < across < DRIVE_VOLT[1]
    assert "10 kohm" in high.sentence()


def test_a_drive_that_is_too_high_is_told() -> None:
    """Above 100 mV across a head."""
    assert "" == drive_caution(0.1)
    assert "turn the source down" in drive_caution(0.3)
