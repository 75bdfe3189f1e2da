"""Proofs on disk: kept whole, found again by meter and port, named where damaged."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import errno
import json
import math
import os
from dataclasses import replace
from pathlib import Path
from typing import Final

import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from proof_typed import METER, proof

from coilmeter.errors import StoreError
from coilmeter.sources.port_identity import UsbIdentity
from coilmeter.sources.proofs import keep_proof, latest_proof, port_key, read_proofs
from coilmeter.values.proofs import Outcome

SOME_JSON: Final = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=9),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=9), inner),
    max_leaves=8,
)


def test_what_is_read_back_is_what_was_kept(proofs_folder: Path) -> None:
    """All of it, and nothing is left beside it."""
    there = proof()
    path = keep_proof(proofs_folder, there)

    assert ([there], []) == read_proofs(proofs_folder)
    assert [path] == list(proofs_folder.iterdir())
    assert "coilmeter-proof/1" == json.loads(path.read_text())["schema"]


def test_no_proof_is_ever_written_over(proofs_folder: Path) -> None:
    """A hundred of one moment are a hundred files."""
    there = proof()
    for _ in range(100):
        keep_proof(proofs_folder, there)

    assert 100 == len(list(proofs_folder.iterdir()))


def test_the_latest_of_a_meter_and_port_counts(proofs_folder: Path) -> None:
    """By when it was made, whatever the zone it was written in."""
    keep_proof(proofs_folder, proof(made="2026-11-25T12:00:00+02:00", outcome=Outcome.REFUSED))
    keep_proof(proofs_folder, proof(made="2026-11-25T11:00:00+00:00"))
    keep_proof(proofs_folder, proof(made="2026-11-26T11:00:00+00:00", meter="other"))
    found = latest_proof(proofs_folder, METER, "typed", "typed")

    assert found is not None
    assert Outcome.ACCEPTED is found.outcome


@given(st.data())
@hypothesis_settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_change_of_a_file_is_read_or_named(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """Whatever stands in the place of a value, nothing worse happens than a line about it."""
    folder = tmp_path_factory.mktemp("proofs")
    path = keep_proof(folder, proof())
    document = json.loads(path.read_text())
    table = data.draw(st.sampled_from([document, document["checks"][0]]))
    table[data.draw(st.sampled_from(sorted(table)))] = data.draw(SOME_JSON)
    path.write_text(json.dumps(document))
    found, strange = read_proofs(folder)

    assert 1 == len(found) + len(strange)
    assert all(math.isfinite(each.null_ohm) for each in found)
    assert all(str(path) in line for line in strange)


@given(cut=st.integers(0, 200), junk=st.binary(max_size=20))
@hypothesis_settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_cut_or_torn_file_is_named(
    tmp_path_factory: pytest.TempPathFactory, cut: int, junk: bytes
) -> None:
    """A file that ends too early, or goes on as something else, is no proof."""
    folder = tmp_path_factory.mktemp("proofs")
    path = keep_proof(folder, proof())
    path.write_bytes(path.read_bytes()[:cut] + junk)

    found, strange = read_proofs(folder)

    assert [] == found
    assert 1 == len(strange)


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"\xff\xfe", "damaged, or no JSON"),
        (b"[" * 100_000, "damaged, or no JSON"),
        (b"{}", "schema is missing"),
        (b'{"schema": "other"}', "no proof"),
        (b'{"schema": "coilmeter-proof/9"}', "of a later version of this program"),
        (b'{"schema": "coilmeter-proof/1", "made": "2026-11-25"}', "without a time zone"),
        (b'{"schema": "coilmeter-proof/1", "made": NaN}', "NaN in the place of a number"),
    ],
)
def test_why_a_file_is_passed_over(proofs_folder: Path, content: bytes, why: str) -> None:
    """In a few words."""
    proofs_folder.mkdir(parents=True)
    (proofs_folder / "odd.json").write_bytes(content)
    _, (line,) = read_proofs(proofs_folder)

    assert why in line


def test_an_overload_past_the_highest_range_is_kept_with_its_end(proofs_folder: Path) -> None:
    """No file may hold an infinity."""
    keep_proof(proofs_folder, proof("0.2 ohm", "0.2 ohm", "OL auto", "220.6 ohm"))
    (found,), _ = read_proofs(proofs_folder)

    assert 40e6 == found.open_range_ohm


def test_a_folder_in_the_place_of_a_file(proofs_folder: Path) -> None:
    """It is named like any other."""
    (proofs_folder / "odd.json").mkdir(parents=True)
    _, (line,) = read_proofs(proofs_folder)

    assert "cannot be read" in line


def test_a_full_disk_leaves_nothing_behind(
    proofs_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Neither half a proof nor the beginning of one."""

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(StoreError, match="No space left"):
        keep_proof(proofs_folder, proof())

    assert [] == list(proofs_folder.iterdir())


CABLE: Final = UsbIdentity(0x1A86, 0x7523, "", "1-2")


@pytest.mark.parametrize(
    ("identity", "key"),
    [
        (None, "/dev/ttyUSB0"),
        (CABLE, "usb 1a86:7523 at 1-2"),
        (replace(CABLE, serial="A7"), "usb 1a86:7523 serial A7"),
        (replace(CABLE, serial="0001", shared=True), "usb 1a86:7523 at 1-2"),
        (replace(CABLE, location=""), "usb 1a86:7523 at /dev/ttyUSB0"),
    ],
)
def test_how_a_port_is_known_again(
    identity: UsbIdentity | None, key: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By a serial number of its own, else by where it is plugged in."""
    monkeypatch.setattr("coilmeter.sources.proofs.identity_of", lambda _: identity)

    assert key == port_key("/dev/ttyUSB0")
    assert "typed" == port_key("")
