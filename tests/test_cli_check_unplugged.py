"""A meter that is unplugged, or falls silent, in the middle of a check: it goes on."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import re
from contextlib import ExitStack
from pathlib import Path

import pytest
from helpers import shipped
from test_cli_check_live import HEAD, LIVE, document, words
from unplugging import HAS_TERMINALS, Plug
from walk_processes import LineMeter, Person, Process

from coilmeter.cli.checking import key_of_row
from coilmeter.sources.clock import RealClock
from coilmeter.sources.sheet import read_sheet
from coilmeter.sources.simulated import Hands, SimulatedBench, SimulatedMeter
from coilmeter.wire import find

TERMINAL = pytest.param(
    "digits14",
    True,
    marks=pytest.mark.skipif(not HAS_TERMINALS, reason="no pseudo-terminals here"),
)


@pytest.mark.parametrize(
    ("form", "pty"),
    [TERMINAL, ("plain", False)],
    ids=["digits14 on a pseudo-terminal", "plain on a socket"],
)
def test_unplugged_twice_and_it_goes_on_to_its_end(
    tmp_path: Path, form: str, *, pty: bool
) -> None:
    """Pulled within a frame, while a coil settles and while a path is asked about.

    The table, the rows and the exit code are those of a check without a gap.
    """
    meter = SimulatedMeter(shipped().meters["handheld-4000"], noise_counts=0.3, lead_ohm=0.2)
    hands = Hands(HEAD, RealClock())
    served = SimulatedBench(meter, hands, find(form))
    with ExitStack() as stack:
        plug = stack.enter_context(Plug(served, tmp_path / "meter" if pty else None))
        line = f"{LIVE} --port {plug.url} --format {form}"
        process = Process(tmp_path, *words(line))
        stack.callback(process.kill)
        stack.enter_context(Person(hands, process))
        process.wait_for("contact", times=2)
        plug.pull()
        process.wait_for("nothing is lost (Ctrl-C ends)")
        plug.push_in()
        process.wait_for("bridge ")
        plug.pull()
        process.wait_for("nothing is lost (Ctrl-C ends)", times=2)
        plug.push_in()
        ran = process.end()
    head = document(ran.out)
    rows = {key_of_row(row): row for row in read_sheet(tmp_path / "head.csv").rows}
    gone = "the meter is unplugged: plug it in again" if pty else "the connection to the meter"

    assert 0 == ran.code
    assert "matched" == head["grade"]
    assert ["intact", "intact"] == [coil["verdict"] for coil in head["coils"]]
    assert 171.0 == pytest.approx(head["coils"][0]["resistance_20c_ohm"], abs=0.3)
    assert 173.0 == pytest.approx(head["coils"][1]["resistance_20c_ohm"], abs=0.3)
    assert ["isolated"] == [path["verdict"] for path in head["isolation"]]
    assert {"leads", "coil 1", "coil 2", "1 to 2"} == set(rows)
    assert all(row.raw for row in rows.values())
    assert 2 == ran.err.count(gone)
    assert 2 == ran.err.count("the meter is back\n")
    assert "done: 4 taken" in ran.err
    assert 4 == len(re.findall("taken  ", ran.err))


def test_a_meter_that_falls_asleep_and_wakes(tmp_path: Path) -> None:
    """Silence after a reading is said with what to see to, and ends nothing."""
    with LineMeter("0.2 ohm").serving() as meter:
        process = Process(tmp_path, *words(f"{LIVE} --port {meter.url} --format plain"))
        process.wait_for("taken  leads")
        meter.line = ""
        process.wait_for("nothing comes from the meter: asleep (auto power off)?")
        meter.line = "0.2 ohm"
        process.wait_for("the meter talks again")
        process.interrupt()
        ran = process.end()

    assert 130 == ran.code
    assert 1 == ran.err.count("nothing comes from the meter")
    assert "1 reading is kept in head.csv. Go on with the same command and --resume." in ran.err
    assert 2 == ran.err.count("[2/4] ")


def test_a_meter_whose_bytes_cannot_be_read_any_more(tmp_path: Path) -> None:
    """A format that was changed at the meter is said, and waited out."""
    with LineMeter("0.2 ohm").serving() as meter:
        process = Process(tmp_path, *words(f"{LIVE} --port {meter.url} --format plain"))
        process.wait_for("taken  leads")
        meter.line = "+4.7E+03,OHM,NONE"
        process.wait_for("the meter sends what cannot be read: see its plug and cable")
        meter.line = "0.2 ohm"
        process.wait_for("the meter talks again")
        process.interrupt()
        ran = process.end()

    assert 130 == ran.code
    assert 1 == ran.err.count("the meter sends what cannot be read")
