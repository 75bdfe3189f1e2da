"""The file of a walk over AC volts: on disk before it counts, never written over."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from impedance_bench import TRUE, Bench
from impedance_helpers import table

from coilmeter.errors import StoreError
from coilmeter.sources.impedance_keeper import VoltsFile
from coilmeter.sources.impedance_sheet import read_volts
from coilmeter.units.voltages import VoltageText
from coilmeter.values.impedance_rows import AcVolts, ImpedanceRow
from coilmeter.walks.impedance_steps import plan_tones
from coilmeter.walks.impedance_told import ToneBegun, TonesPlanned
from coilmeter.walks.impedance_walk import ToneWalk


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Give a file that is not there yet."""
    return tmp_path / "A-ac.csv"


def test_it_is_on_disk_before_it_counts(path: Path) -> None:
    """A walk whose file can no longer be written says so and keeps nothing in its head."""
    bench = Bench(path)
    bench.walk.start()
    path.unlink()
    path.mkdir()
    with pytest.raises(StoreError):
        bench.hold(TRUE[0])

    assert {} == bench.walk.taken


def test_the_rounding_of_a_mean_is_no_scatter(path: Path) -> None:
    """Equal readings have a mean that is off in its last bit: the file can be read again."""
    bench = Bench(path)
    bench.walk.start()
    bench.walk.type("150.0 mV")
    (row,) = read_volts(path).rows
    noise = replace(row.volts["total"], count=9, scatter_volt=1.456e-17)
    bench.file.keep(replace(row, number=2, volts={"total": noise}))
    sheet = read_volts(path)

    assert [] == sheet.mistakes
    assert 0.0 == sheet.rows[-1].volts["total"].scatter_volt


def test_a_walk_goes_on_where_it_was_left(path: Path) -> None:
    """What is in the file is not asked for again; a torn line is set aside."""
    bench = Bench(path)
    bench.walk.start()
    bench.walk.type("150.0 mV")
    bench.file.__exit__(None, None, None)
    with path.open("ab") as file:
        file.write(b"A,,1,,10000 Hz,,150")
    with VoltsFile(path, resume=True) as file_again:
        assert "A,,1,,10000 Hz,,150" == file_again.cut
        assert ["total"] == [name for row in file_again.rows for name in row.volts]
        walk = ToneWalk(
            plan_tones(["1"], [10e3]),
            bench.template,
            file_again,
            meter=table(),
            made=lambda _: "",
            done={"coil 1 at 10 kHz, v_total": file_again.rows[0].volts["total"]},
        )
        planned, begun = walk.start()

    assert TonesPlanned(2, 3) == planned
    assert isinstance(begun, ToneBegun)
    assert "resistor" == begun.step.across


def test_a_file_that_is_there_already(path: Path) -> None:
    """Never written over, never by two at once, and never one that a person wrote."""
    with VoltsFile(path) as file:
        file.keep(
            ImpedanceRow(
                "",
                0,
                "A",
                "1",
                10e3,
                volts={"coil": AcVolts(VoltageText(0.1, 1e-4, "100.0 mV"))},
            )
        )
        with pytest.raises(StoreError, match="another run"):
            VoltsFile(path, resume=True)
    with pytest.raises(StoreError, match="something in it already"):
        VoltsFile(path)
    path.write_text("coil,frequency,v_coil\n1,10 kHz,100 mV\n")
    with pytest.raises(StoreError, match="no walk wrote this file"):
        VoltsFile(path, resume=True)


def test_a_damaged_file_is_not_gone_on_with(path: Path) -> None:
    """Its mistakes are told."""
    with VoltsFile(path):
        pass
    with path.open("a") as file:
        file.write(f"A,,1,,10 kHz,,OL{16 * ','}\n")
    with pytest.raises(StoreError, match="v_total"):
        VoltsFile(path, resume=True)


def test_an_empty_file_may_be_used(path: Path) -> None:
    """Nothing in it, or a header only, is nothing that could be lost."""
    path.write_text("")
    with VoltsFile(path):
        pass
    with VoltsFile(path):
        pass

    assert 1 == len(path.read_text().splitlines())


def test_a_refused_voltage_stays_in_the_file(path: Path) -> None:
    """What could not be put together is still there to be looked at."""
    bench = Bench(path)
    bench.walk.start()
    for text in ("390.0 mV", "117.3 mV", "77.2 mV"):
        bench.walk.type(text)

    assert "390.0 mV" in path.read_text()
    assert not bench.walk.finished
