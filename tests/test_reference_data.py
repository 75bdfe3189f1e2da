"""Every shipped figure has an origin, and every worked example a test."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import csv
import re
import tomllib
from pathlib import Path

import pytest
from helpers import meter_table, shipped

from coilmeter.catalog import SHIPPED, reference_folder

PROVENANCE = (reference_folder() / "PROVENANCE.md").read_text("utf-8")
LABELS = {"pub", "prac", "rep", "mem", "der"}
STATUSES = {"PRIMARY", "SECONDARY", "MEMORY", "OWN"}
OWN_DEFAULTS = {"any", "unstated"}
"""Entries that are this project's own choice and say so in words instead of with a label."""


def keys_in(text: str) -> set[str]:
    """Collect the keys of sources in a text: J1, P1, S2."""
    return set(re.findall(r"\b[JPS]\d+b?\b", text))


def test_every_file_has_a_row() -> None:
    """PROVENANCE.md names every file that ships beside it."""
    files = {path.name for path in reference_folder().iterdir()} - {"PROVENANCE.md"}

    assert set() == {name for name in files if f"| `{name}` |" not in PROVENANCE}


def test_every_key_is_resolved() -> None:
    """A key in a reference file has its own row with the title of a document."""
    used = set().union(
        *(keys_in((reference_folder() / name).read_text("utf-8")) for name in SHIPPED)
    )
    resolved = set(re.findall(r"^\| ([JPS]\d+) \|", PROVENANCE, flags=re.MULTILINE))

    assert {"J1", "P1"} <= used
    assert set() == used - resolved


def test_every_frame_has_a_source() -> None:
    """The frames of the wire formats name sources that the head of their file resolves."""
    lines = (reference_folder() / "wire_frames.csv").read_text("utf-8").splitlines()
    comments = [line for line in lines if line.startswith("#")]
    frames = csv.DictReader(line for line in lines if not line.startswith("#"))
    listed = {key for line in comments for key in re.findall(r"^# (S\d+)\b", line)}
    used = {key for frame in frames for key in frame["basis"].split()}

    assert {"S2", "MEM"} <= used
    assert set() == used - listed - {"MEM"}


@pytest.mark.parametrize("table", ["bands", "meters", "kinds"])
def test_every_basis_has_a_label(table: str) -> None:
    """Each shipped entry says how its figures are known; the numbered kinds are the tool's."""
    entries = {
        name: entry.basis
        for name, entry in getattr(shipped(), table).items()
        if name not in OWN_DEFAULTS and not name.startswith("coils-")
    }

    assert {} == {
        name: basis for name, basis in entries.items() if basis.partition(":")[0] not in LABELS
    }


def test_labels_are_explained() -> None:
    """Each label and each status of a case is explained in PROVENANCE.md."""
    missing = {word for word in LABELS | STATUSES if f"**{word}**" not in PROVENANCE}

    assert set() == missing


def test_every_case_is_complete_and_used() -> None:
    """Each worked example carries source and tolerance, and a test runs it."""
    path = reference_folder() / "method_cases.toml"
    cases = tomllib.loads(path.read_text("utf-8"))["case"]
    tests = Path(__file__).parent.glob("test_*.py")
    used = re.findall(
        r'\bcase\("([^"]+)"\)', "\n".join(path.read_text("utf-8") for path in tests)
    )

    assert sorted({entry["id"] for entry in cases}) == sorted({*used})
    assert len(cases) == len({entry["id"] for entry in cases})
    for entry in cases:
        assert entry["source_status"] in STATUSES
        assert entry["source"]
        assert set(entry["tolerance"]) <= set(entry["expected"])


def test_nobody_states_less_than_the_unstated_meter() -> None:
    """A meter nobody described is taken for no better than any shipped hand-held.

    Its basis says "wider than every hand-held line below 4 Mohm".
    """
    unstated = meter_table("unstated")
    better = []
    for name in (name for name in shipped().meters if name.startswith("handheld")):
        table = meter_table(name)
        for ohm in (1.0, 100.0, 199.0, 300.0, 390.0, 500.0, 1500.0, 3000.0, 30e3, 300e3, 3e6):
            wide, stated = unstated.range_for(ohm, None), table.range_for(ohm, None)
            assert wide is not None
            if stated is None:  # past the top range of that meter
                continue
            if wide.fraction * ohm + wide.floor_ohm < stated.fraction * ohm + stated.floor_ohm:
                better.append((name, ohm))

    assert [] == better
