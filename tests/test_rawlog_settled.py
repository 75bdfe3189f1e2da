"""Settled values of a log: one for each time the readings came to rest."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from rawlog_files import START, recorded, replay

from coilmeter.cli.logging_settled import SettleAgain
from coilmeter.sources.rawlog import Kind, LogHead
from coilmeter.sources.rawlog_writer import RawLog
from coilmeter.values import Flag, Function, Reading


def contact(start: float, ohm: float, count: int) -> list[tuple[float, str]]:
    """Hold the clips on something, ten readings a second."""
    return [
        (start + number / 10, f"{ohm + number % 2 / 10:.1f} ohm auto")
        for number in range(count)
    ]


def opened(start: float, count: int) -> list[tuple[float, str]]:
    """Hold the clips in the air."""
    return [(start + number / 10, "OL 40 Mohm auto") for number in range(count)]


CONTACTS = [
    *contact(0.1, 171.0, 30),
    *opened(3.1, 20),
    *contact(5.1, 171.0, 5),
    *opened(5.6, 10),
    *contact(6.6, 173.0, 20),
    *contact(8.6, 98.0, 20),
]


def test_settled_values(tmp_path: Path) -> None:
    """One for each time the readings came to rest: 171 once, too short once, 173, then 98."""
    path = recorded(tmp_path / "a.rawlog", *CONTACTS)
    ran = replay(path, "--settle", "--as", "json")
    settled = json.loads(ran.out)["settled"]
    table = replay(path, "--settle")
    rows = list(csv.DictReader(io.StringIO(replay(path, "--settle", "--as", "csv").out)))

    assert [171.05, 173.05, 98.05] == [
        pytest.approx(value["value_ohm"], abs=0.011) for value in settled
    ]
    assert [0.9, 7.4, 9.4] == [pytest.approx(value["at_s"], abs=0.051) for value in settled]
    assert all(0.05 < value["scatter_ohm"] < 0.06 for value in settled)
    assert all(9 == value["count"] for value in settled)
    assert "readings" not in json.loads(ran.out)
    assert 3 == table.out.count("2026-11-25T09:10:4")
    assert "settled at                 seconds" in table.out
    assert ["171.04", "173.04", "98.04"] == [
        row["value_ohm"][:6].rstrip("4") + "4" for row in rows
    ]


def test_settling_again_at_the_same_value_is_nothing_new() -> None:
    """A disturbance that ends where it began is not a second value, unless the clips left."""
    again = SettleAgain()

    def reading(ohm: float | None) -> Reading:
        return Reading(Function.RESISTANCE, ohm, "ohm", overload=ohm is None, resolution=0.1)

    times = iter(range(999))
    seen = [
        again.feed(next(times) / 8, reading(ohm))
        for ohm in [171.0] * 20 + [150.0] + [171.0] * 20 + [None] + [171.0] * 20
    ]

    assert [7, 49] == [number for number, value in enumerate(seen) if value is not None]


@pytest.mark.parametrize(
    "between",
    [
        Reading(Function.DC_VOLTAGE, 1.0, "volt"),
        Reading(Function.RESISTANCE, 171.0, "ohm", flags=frozenset({Flag.HOLD})),
        Reading(Function.RESISTANCE, None, "ohm", overload=True),
    ],
)
def test_what_no_walk_would_judge_ends_a_run(between: Reading) -> None:
    """Volts, HOLD and over-range are no part of a settled run."""
    again = SettleAgain()
    ohms = Reading(Function.RESISTANCE, 171.0, "ohm", resolution=0.1)
    readings = [ohms] * 5 + [between] + [ohms] * 6
    seen = [again.feed(number / 10, reading) for number, reading in enumerate(readings)]

    assert [None] * 12 == seen


def test_a_silence_ends_a_run(tmp_path: Path) -> None:
    """Over a silence nothing settles, whether the log has it as a gap or not."""
    again = SettleAgain()
    ohms = Reading(Function.RESISTANCE, 171.0, "ohm", resolution=0.1)
    seen = [again.feed(at, ohms) for at in (0.0, 0.1, 0.2, 3.0, 3.1, 3.2)]
    path = tmp_path / "a.rawlog"
    with RawLog(path, LogHead(START, "/dev/ttyUSB0", "plain")) as log:
        log.record(0.0, Kind.READ, b"171.0 ohm\n" * 4, "")
        log.record(0.5, Kind.UNPLUGGED, text="pulled")
        log.record(0.9, Kind.READ, b"171.0 ohm\n" * 4, "")
        log.record(0.95, Kind.REJECTED, b"junk\n", "")
    ran = replay(str(path), "--settle", "--as", "json")

    assert [None] * 6 == seen
    assert [] == json.loads(ran.out)["settled"]
