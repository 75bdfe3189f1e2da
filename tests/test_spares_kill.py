"""Killed at random moments, a few of them: the many are in tests/benchmarks/spares_kill.py."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from pathlib import Path

import pytest
from spares_kills import heads_to_import, killed_check, killed_import

LINES: list[bytes] = []


@pytest.mark.parametrize("seed", range(10))
def test_a_check_killed_at_a_random_moment(tmp_path: Path, seed: int) -> None:
    """Every reading that was announced is there, the bin is whole, and the check goes on."""
    assert "" == killed_check(tmp_path, seed).wrong


@pytest.mark.parametrize("seed", range(10))
def test_an_import_killed_at_a_random_moment(tmp_path: Path, seed: int) -> None:
    """All of it is there or nothing, the bin is whole, and the import runs again."""
    if not LINES:
        LINES.extend(heads_to_import())

    assert "" == killed_import(tmp_path, seed, LINES).wrong
